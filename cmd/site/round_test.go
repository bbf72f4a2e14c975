package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// added is a copy of a logbook's dives.csv after rows are added to it, as the
// command line adds them.
func added(t *testing.T, folder string, rows ...session.Row) string {
	t.Helper()
	to := t.TempDir()
	require.NoError(t, os.CopyFS(to, os.DirFS(folder)))
	require.NoError(t, session.Edit(to, func(f *session.File) error { return f.Append(rows...) }))
	text, err := os.ReadFile(filepath.Join(to, session.FileName))
	require.NoError(t, err)
	return string(text)
}

func today() string { return time.Now().Format(time.DateOnly) }

// The whole round with the network gone after the first visit: take a logbook in,
// type lines, be asked about a slip, keep them, hear what the dive says, give out
// the file that the command line would have written.
func TestRoundWithoutANetwork(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	w := started(t)
	b := w.open(t, h.URL)
	b.untilSays("reports now work without a network")
	h.Close()
	b.do(chromedp.Reload())
	b.until(`document.getElementById('loading').hidden`)
	folder := upTo(t, "joint", 13) // its alarm is open
	b.take(folder)
	b.fill("minute", "1")
	b.fill("battery_v", "128")
	b.press("Keep this line")
	b.untilSays("Not kept yet")
	b.press("It is 12.8")
	b.answered()
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	b.choose("thrusters", "port + starboard")
	b.fill("minute", "3,5")
	b.fill("battery_v", "12.2 V")
	b.fill("current_a", "9.9")
	b.keep()
	b.untilSays("Line 2 is kept")
	b.press("The dive is complete: what does it say?")
	b.untilSays("Before the next dive:")
	want := added(t, folder, session.Row{"dive": "14", "date": today(), "minute": "1", "thrusters": "off", "battery_v": "12.8"},
		session.Row{"dive": "14", "minute": "3.5", "thrusters": "port + starboard", "battery_v": "12.2", "current_a": "9.9"})
	assert.Equal(t, want, b.dives())
	b.press("Report: pictures and tables")
	b.framed("From sound to its limit")
	page := b.frame()
	assert.Equal(t, "1120px", ask[string](page, `getComputedStyle(document.querySelector('main')).maxWidth`), "its style holds")
	assert.False(t, ask[bool](page, `document.querySelector('.pick').hidden`), "its script runs")
	assert.Equal(t, "null", ask[string](page, `origin`), "it can reach nothing of the store")
	ask[bool](b, `(history.back(), true)`)
	b.press("Card for the next dive")
	b.framed("Before the dive")
	assert.Equal(t, "collapse", ask[string](b.frame(), `getComputedStyle(document.querySelector('table')).borderCollapse`))
	b.press("Depth and water of the next dive")
	ask[bool](b, `(document.getElementById('card-depth_m').value = '7,5', true)`)
	b.press("Make the card")
	b.framed("7.5 m deep")
	b.press("Back to the dive")
	b.untilSays("Dive 14")
	assert.Empty(t, b.said)
}

// keep keeps a line as it is typed, whatever is in doubt.
func (b *tab) keep() {
	b.t.Helper()
	for b.press("Keep this line"); b.doubts() > 0; b.press("Keep this line") {
		b.press("It stands as typed")
	}
}

// choose chooses a word of a column.
func (b *tab) choose(column, word string) {
	b.t.Helper()
	b.until(`!!document.getElementById('f-` + column + `')`)
	b.answered()
	ask[bool](b, `(e => { e.value = '`+word+`'; e.dispatchEvent(new Event('change')); return true })(document.getElementById('f-`+column+`'))`)
	b.answered()
}

// doubts is how many readings are asked about, once the page has answered.
func (b *tab) doubts() int {
	b.t.Helper()
	b.until(`!running && !document.getElementById('keep').disabled && document.getElementById('foot').innerText !== ''`)
	return ask[int](b, `document.querySelectorAll('#doubts:not([hidden]) .bar').length`)
}

// A vehicle is described on the phone; its first dive has ranges, and its files
// are those of the command line.
func TestNewVehicle(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	b := started(t).open(t, h.URL)
	b.press("Describe a new vehicle")
	b.until(`!!document.getElementById('q-name')`)
	b.press("Make the logbook")
	b.untilSays("Not made yet")
	ask[bool](b, `(document.getElementById('q-name').value = 'Pond', document.getElementById('questions').dispatchEvent(new Event('input')), true)`)
	b.do(chromedp.Reload())
	b.press("Describe a new vehicle")
	b.until(`document.getElementById('q-name')?.value === 'Pond'`)
	for id, text := range map[string]string{"name": "Pond Otter", "battery.nominal_v": "12", "tether.length_m": "20", "size": "14 AWG"} {
		ask[bool](b, `(document.getElementById('q-`+id+`').value = '`+text+`', true)`)
	}
	b.press("Make the logbook")
	b.until(`!document.getElementById('dive').hidden && state.expects`)
	b.answered()
	assert.Equal(t, "dive,date,minute,thrusters,held,battery_v,current_a,run_m,run_s,run_back_s,serviced,note\n", b.dives())
	b.fill("battery_v", "12.7")
	assert.Contains(t, ask[string](b, `document.getElementById('f-battery_v-should').textContent`), "should be")
	b.answered()
	assert.Equal(t, "should be −70 ± 5", ask[string](b, `(line.form.fields.forEach(f => { f.should = '-70 ± 5' }), draw(line.form), document.getElementById('f-battery_v-should').textContent.replaceAll('\u00a0', ' '))`))
	assert.Equal(t, "2026-05-31: −70, -70", ask[string](b, `el('p', {}, '2026-05-31: -70, ', el('code', {}, '-70')).textContent`), "what is typed has a hyphen")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	assert.Equal(t, "1,"+today()+",,off,,12.7,,,,,,", strings.Split(b.dives(), "\n")[1])
	assert.Empty(t, b.said)
}

// A line that is shown as kept is there after the browser is killed.
func TestKilled(t *testing.T) {
	t.Parallel()
	h, profile := hosted(t), t.TempDir()
	w := launched(t, profile)
	b := w.open(t, h.URL)
	b.untilSays("works without a network")
	b.take(few(t))
	b.fill("battery_v", "12.75")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	want := b.dives()
	b.answered()
	b.choose("thrusters", "port")
	b.press("Change line 1")
	b.untilSays("Line 1 again")
	ask[bool](b, `(document.getElementById('f-minute').focus(), true)`)
	b.do(chromedp.KeyEvent("7"))
	require.Equal(t, "7", ask[string](b, `mine(...place().slice(0, 3)).then(d => d[0].row.minute)`))
	h.Close()
	require.NoError(t, chromedp.FromContext(w).Browser.Process().Signal(syscall.SIGKILL))
	w.stop()
	w = launched(t, profile)
	t.Cleanup(w.stop)
	again := w.open(t, h.URL)
	again.reopen()
	assert.Equal(t, want, again.dives())
	again.untilSays("1 kept: off, battery_v 12.75")
	assert.Equal(t, "7", again.value("minute"), "what was typed and not kept is there too, on the line that it was typed on")
	again.press("Leave it as it is")
	again.until(`document.getElementById('f-thrusters').value === 'port'`) // and on a new line
	again.answered()
	again.fill("current_a", "8.4")
	again.do(chromedp.Reload())
	again.reopen()
	assert.Equal(t, "8.4", again.value("current_a"))
	again.keep()
	again.untilSays("Line 2 is kept")
	again.do(chromedp.Reload())
	again.reopen()
	assert.Empty(t, again.value("battery_v"), "what is kept is no longer being typed")
	assert.Equal(t, 2, ask[int](again, `state.lines.length`))
}

// value is what a column's field shows.
func (b *tab) value(column string) string {
	b.t.Helper()
	return ask[string](b, `document.getElementById('f-`+column+`').value`)
}

// Nothing is asked of the host once the page is here.
func TestNoRequestAfterTheFirstVisit(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	b := started(t).open(t, h.URL)
	b.untilSays("reports now work without a network")
	h.mu.Lock()
	h.sent = nil
	h.mu.Unlock()
	b.do(chromedp.Reload())
	b.until(`document.getElementById('loading').hidden`)
	b.take(few(t))
	b.fill("battery_v", "12.7")
	b.press("Report: pictures and tables")
	b.framed("The dives")
	h.mu.Lock()
	defer h.mu.Unlock()
	// A browser looks by itself for a newer service worker.
	asked := slices.DeleteFunc(h.sent, func(path string) bool { return path == "/service.js" })
	assert.Empty(t, asked)
}
