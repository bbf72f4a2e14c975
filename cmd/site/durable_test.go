package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// quota gives the page's host so much storage and no more; nil: as much as any.
func (b *tab) quota(origin string, bytes *float64) {
	b.t.Helper()
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: origin, QuotaSize: bytes})
		return err
	}))
}

// A line for which there is no room is not shown as kept; it stays as typed, and
// is kept once there is room.
func TestFullStorage(t *testing.T) {
	t.Parallel()
	h, w := hosted(t), launched(t, t.TempDir()) // quotas do not hold in a profile of a running one
	t.Cleanup(w.stop)
	b := w.open(t, h.URL)
	b.untilSays("works without a network")
	most := ask[float64](b, `navigator.storage.estimate().then(e => e.usage)`) + 80_000
	b.quota(h.URL, &most)
	b.take(few(t))
	ask[bool](b, `document.getElementById('every').click() || true`)
	kept, before := 0, ""
	for ; ; kept++ {
		require.Less(t, kept, 30, "the storage is not full")
		before = b.dives()
		b.fill("note", "all fine")
		b.press("Keep this line")
		b.until(`!running && !document.getElementById('keep').disabled && document.getElementById('foot').innerText !== ''`)
		if text := ask[string](b, `document.getElementById('stop').innerText`); text != "" {
			assert.Contains(t, text, "storage of this phone is full: NOT kept")
			break
		}
	}
	require.NotZero(t, kept)
	assert.Len(t, ask[[]string](b, `[...document.querySelectorAll('#lines li')].map(e => e.innerText)`), kept)
	assert.Equal(t, before, b.dives())
	assert.Equal(t, "all fine", ask[string](b, `document.getElementById('f-note').value`))
	b.quota(h.URL, nil)
	b.press("Keep this line")
	b.untilSays(fmt.Sprintf("Line %d is kept", kept+1))
	assert.Equal(t, kept+1, strings.Count(b.dives(), "all fine"))
}

// Without the part that makes reports lines are kept all the same; it is fetched
// when there is a network.
func TestReportLater(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	list, err := filepath.Glob(filepath.Join(h.folder, "*", later))
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.NoError(t, os.Rename(list[0], list[0]+".away"))
	b := started(t).open(t, h.URL)
	b.untilSays("works without a network")
	b.take(few(t))
	b.press("Report: pictures and tables")
	b.untilSays("A part of this page, pages.bin, is not on this phone yet")
	b.fill("battery_v", "12.71")
	b.keep()
	b.untilSays("Line 1 is kept")
	require.NoError(t, os.Rename(list[0]+".away", list[0]))
	b.press("Report: pictures and tables")
	b.framed("The dives")
}

// While the dives are being judged, for as long as that takes, lines are kept; the
// ranges come to the logbook that they were asked for.
func TestKeptWhileJudging(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	list, err := filepath.Glob(filepath.Join(h.folder, "*", "judge.js"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	judge, err := os.ReadFile(list[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(list[0], append([]byte(`const held = []
const hold = new BroadcastChannel('hold')
hold.onmessage = () => { while (held.length) judge(held.shift()) }
`), bytes.Replace(judge, []byte("onmessage ="), []byte("onmessage = event => { held.push(event) }\nconst judge ="), 1)...), 0o600))
	b := started(t).open(t, h.URL)
	folder := few(t)
	b.do(chromedp.SetUploadFiles("#files", []string{filepath.Join(folder, "vehicle.toml"), filepath.Join(folder, "dives.csv")}))
	b.fill("battery_v", "128")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	b.press("All logbooks")
	b.press("Open Puddle Otter")
	b.until(`!document.getElementById('dive').hidden`)
	b.fill("battery_v", "127")
	b.press("Keep this line")
	b.untilSays("Line 2 is kept")
	assert.Contains(t, b.dives(), ",off,,128,")
	assert.False(t, ask[bool](b, `state.expects`))
	b.until(`((window.hold ??= new BroadcastChannel('hold')).postMessage(''), state.expects)`) // again and again: the worker may still be starting
	b.answered()
	assert.Contains(t, b.shows(), "line 1 was kept before its ranges were known", "closed before")
	assert.Contains(t, b.shows(), "line 2 was kept before its ranges were known")
	assert.Empty(t, b.said)
}

// While the model is on its way a line is typed all the same. It stays through a
// reload, is checked once the model is there, and is the next line of the first
// logbook that is shown, which asks about it.
func TestTypedBeforeTheModel(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	list, err := filepath.Glob(filepath.Join(h.folder, "*", "model.bin"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.NoError(t, os.Rename(list[0], list[0]+".away"))
	w := started(t)
	b := w.visit(t, h.URL)
	b.press("Write a line now")
	typed := func(column, text string) {
		b.until(`!document.getElementById('fields').inert && !!document.getElementById('f-` + column + `')`)
		ask[bool](b, `(document.getElementById('f-`+column+`').focus(), true)`)
		b.do(chromedp.KeyEvent(text))
	}
	typed("minute", "2")
	typed("battery_v", "12x")
	b.press("Keep this line")
	b.untilSays("Readings cannot be checked yet")
	b.do(chromedp.Reload())
	b.untilSays("Typed, and in no logbook yet: thrusters off, minute 2, battery_v 12x.")
	require.NoError(t, os.Rename(list[0]+".away", list[0]))
	b.said = nil
	b.do(chromedp.Reload())
	b.press("Go on with it")
	b.press("Keep this line")
	b.untilSays(`Not kept: battery_v: found "12x", want a number in V`)
	b.fill("battery_v", "128")
	b.press("Keep this line")
	b.untilSays("Not in a logbook yet")
	b.take(few(t))
	assert.Equal(t, "2", b.value("minute"))
	b.untilSays("The line that you typed before is here")
	b.press("Keep this line")
	b.untilSays("Not kept yet")
	b.press("It is 12.8")
	b.answered()
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	b.untilSays("1 kept: minute 2, off, battery_v 12.8")
	b.press("All logbooks")
	b.untilSays("Logbooks on this phone")
	assert.False(t, ask[bool](b, `document.getElementById('early').checkVisibility()`))
	assert.Empty(t, b.said)
}

// Nor does a first line wait for the store to be made: what is typed meanwhile is
// stored once it is.
func TestTypedBeforeTheStore(t *testing.T) {
	t.Parallel()
	h, w := hosted(t), started(t)
	first := w.visit(t, h.URL+"/service.js")
	ask[bool](first, `new Promise(go => {
	const ask = indexedDB.open('sagline', 1) // a version before, which nobody closes
	ask.onupgradeneeded = () => ask.result.createObjectStore('logbooks', { keyPath: 'id', autoIncrement: true })
	ask.onsuccess = () => { self.held = ask.result; go(true) }
})`)
	b := w.open(t, h.URL)
	b.press("Write a line now")
	b.fill("battery_v", "12.7")
	assert.False(t, ask[bool](b, `!!localStorage.visited`))
	ask[bool](first, `(held.close(), true)`)
	b.until(`!!localStorage.visited`)
	assert.Equal(t, "12.7", b.value("battery_v"), "the list of logbooks does not come in between")
	b.do(chromedp.Reload())
	b.untilSays("Typed, and in no logbook yet: thrusters off, battery_v 12.7.")
	assert.Empty(t, b.said)
}

// A logbook that is on the phone can be typed into while the model is on its way;
// what is typed then stays where it is when the model is there, and so does the
// focus. What was left is there the next time.
func TestTypedBeforeItsLogbook(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	list, err := filepath.Glob(filepath.Join(h.folder, "*", "model.js"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	model, err := os.ReadFile(list[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(list[0], append(bytes.Replace(model, []byte("const got = await"), []byte("if (file === 'model.bin') await held\n  const got = await"), 1),
		"const held = new Promise(go => { new BroadcastChannel('hold').onmessage = go })\n"...), 0o600))
	const go_ = `(new BroadcastChannel('hold').postMessage(''), document.getElementById('loading').hidden)`
	b := started(t).visit(t, h.URL)
	b.until(go_)
	b.take(few(t))
	b.fill("battery_v", "12.71")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	type_ := func(column, text string) {
		b.until(`!document.getElementById('fields').inert && !!document.getElementById('f-` + column + `')`)
		ask[bool](b, `(document.getElementById('f-`+column+`').focus(), true)`)
		b.do(chromedp.KeyEvent(text))
	}
	reopened := func() {
		b.do(chromedp.Reload())
		b.press("Open Puddle Otter")
		b.untilSays("The next line of Puddle Otter")
		b.until(`!!document.getElementById('f-battery_v') && !document.getElementById('fields').inert`)
	}
	reopened()
	type_("battery_v", "12")
	b.press("Keep this line")
	b.untilSays("In a moment")
	b.press("All logbooks")
	b.untilSays("Logbooks on this phone")
	reopened()
	assert.Equal(t, "12", b.value("battery_v"))
	assert.Empty(t, b.value("thrusters"))
	type_("battery_v", kb.End+".")
	b.until(go_)
	b.untilSays("Line 2")
	b.do(chromedp.KeyEvent("83"))
	b.until(`state.expects`)
	b.answered()
	assert.Equal(t, "12.83", b.value("battery_v"))
	assert.Equal(t, "f-battery_v", ask[string](b, `document.activeElement.id`))
	assert.Equal(t, "off", b.value("thrusters"), "as on this line of the dive before")
	reopened()
	assert.Equal(t, "12.83", b.value("battery_v"), "a draft of the dive is gone on with")
	b.until(go_)
	b.untilSays("Line 2")
	b.until(`state.expects`)
	b.answered()
	b.press("Keep this line")
	b.untilSays("Line 2 is kept")
	b.untilSays("2 kept: off, battery_v 12.83")
	assert.Empty(t, ask[[]any](b, `mine(opened)`), "nothing is left of it")
	assert.Empty(t, b.said)
}

// A newer version of the page is taken once no tab shows the one before, with all
// that was typed, and nothing stays of that.
func TestNewVersion(t *testing.T) {
	t.Parallel()
	h, w := hosted(t), started(t)
	b := w.open(t, h.URL)
	b.untilSays("reports now work without a network")
	b.take(few(t))
	b.fill("battery_v", "12.71")
	s, err := built()
	require.NoError(t, err)
	version := ask[string](b, `script.version`)
	next, newer := strings.Repeat("0", len(version)), site{}
	for name, text := range s {
		newer[strings.Replace(name, version, next, 1)] = bytes.ReplaceAll(text, []byte(version), []byte(next))
	}
	require.NoError(t, newer.save(h.folder))
	ask[bool](b, `navigator.serviceWorker.getRegistration().then(r => r.update()).then(r => true)`)
	b.until(`state && (navigator.serviceWorker.getRegistration().then(r => { window.waits = !!r.waiting }), window.waits === true)`)
	assert.Equal(t, []string{next, version}, ask[[]string](b, `caches.keys().then(k => k.sort())`))
	b.do(chromedp.Navigate("about:blank"))
	h.Close()
	b = w.open(t, h.URL)
	assert.Equal(t, next, ask[string](b, `script.version`))
	b.until(`(caches.keys().then(k => { window.only = k.length === 1 }), window.only === true)`)
	b.reopen()
	assert.Equal(t, "12.71", b.value("battery_v"))
	b.press("Report: pictures and tables")
	b.framed("The dives")
}

// Two tabs keep lines of one logbook: both are in the file, and both say so.
func TestTwoTabs(t *testing.T) {
	t.Parallel()
	h, w := hosted(t), started(t)
	one := w.open(t, h.URL)
	one.take(few(t))
	two := w.open(t, h.URL)
	two.reopen()
	one.untilSays("also open in another tab")
	two.untilSays("also open in another tab")
	one.fill("battery_v", "12.71")
	two.fill("battery_v", "12.72")
	one.press("Keep this line")
	one.untilSays("Line 1 is kept")
	two.untilSays("Another tab has kept a line")
	two.untilSays("1 kept: off, battery_v 12.71")
	assert.Equal(t, "12.72", ask[string](two, `document.getElementById('f-battery_v').value`), "what is being typed stays")
	one.fill("minute", "7")
	one.do(chromedp.Reload())
	one.reopen()
	assert.Equal(t, "7", one.value("minute"), "each tab has its own")
	assert.Empty(t, one.value("battery_v"))
	two.press("Keep this line")
	two.untilSays("Line 2 is kept")
	one.untilSays("2 kept: off, battery_v 12.72")
	assert.Equal(t, one.dives(), two.dives())
	assert.Contains(t, one.dives(), "12.71")
	assert.Contains(t, one.dives(), "12.72")
}

// Files from who knows where are taken in or refused in words, and what they say
// shows as text.
func TestHostileFiles(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	b := started(t).open(t, h.URL)
	read := func(path string) string {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		return string(text)
	}
	const hostile = "../sagline/testdata/hostile/"
	folder := few(t)
	vehicle, dives := read(folder+"/vehicle.toml"), read(folder+"/dives.csv")
	nasty := `<img src=x onerror=alert(1)>`
	for name, c := range map[string]struct{ vehicle, dives, says string }{
		"markup in the name": {strings.Replace(vehicle, `name = "`, `name = "`+nasty, 1), dives, nasty},
		"a column's name":    {vehicle, strings.Replace(strings.Replace(dives, "serviced,note\n", "serviced,note,constructor,w<b>\n", 1), ",0,,\n", ",0,,,x,<b>y\n", 1), "w<b>"},
		"markup in a label":  {vehicle, dives + strings.Repeat(nasty+",2026-10-30\n", 1), nasty},
		"no text":            {vehicle, "\xff\xfe\x00", "want"},
		"empty":              {vehicle, "", "want"},
		"escapes":            {vehicle, read(hostile + "dives/escape_in_cell.csv"), ""},
		"right to left":      {vehicle, read(hostile + "dives/right_to_left.csv"), ""},
		"no vehicle":         {read(hostile + "vehicle/json.toml"), dives, "vehicle.toml"},
		"deep keys":          {read(hostile + "vehicle/deep_keys.toml"), dives, "vehicle.toml"},
	} {
		t.Run(name, func(t *testing.T) {
			b.t = t
			folder := t.TempDir()
			for name, text := range map[string]string{"vehicle.toml": c.vehicle, "dives.csv": c.dives} {
				require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600))
			}
			ask[bool](b, `(leave(), true)`)
			b.until(`!document.getElementById('logbooks').hidden`)
			b.do(chromedp.SetUploadFiles("#files", []string{filepath.Join(folder, "vehicle.toml"), filepath.Join(folder, "dives.csv")}))
			b.until(`document.getElementById('stop').innerText !== '' || !document.getElementById('dive').hidden`)
			b.answered()
			b.untilSays(c.says)
			assert.Zero(t, ask[int](b, `document.querySelectorAll('main img').length`))
			if c.says == nasty {
				b.press("Report: pictures and tables")
				b.framed("&lt;img src=x")
				assert.Zero(t, ask[int](b.frame(), `document.querySelectorAll('img').length`))
			}
			if name == "a column's name" {
				assert.Empty(t, ask[string](b, `document.getElementById('f-constructor').value`))
			}
			assert.Empty(t, b.said)
			for _, c := range b.shows() {
				assert.False(t, c == '\u202e' || c == '\x1b', "what steers the text")
			}
		})
	}
}

// Readings of a search come and go as they are, are never replaced by fewer, and
// a logbook that is removed is gone.
func TestLocateGoesAlong(t *testing.T) {
	t.Parallel()
	b := started(t).open(t, hosted(t).URL)
	folder := few(t)
	path := func(name string) string { return filepath.Join(folder, name) }
	one := "search,after_dive,date,test,reading\r\n# as I read it\r\npower_loop,3,2026-05-01,\"loop, box\",0.4 Ω\r\n"
	bring := func(input, locate string, names ...string) {
		require.NoError(t, os.WriteFile(path("locate.csv"), []byte(locate), 0o600))
		for i := range names {
			names[i] = path(names[i])
		}
		ask[bool](b, `(say(''), true)`) // what it says next is of these files
		b.do(chromedp.SetUploadFiles(input, append(names, path("locate.csv"))))
	}
	has := func(want string) {
		assert.Equal(t, want, ask[string](b, `ask('files').then(f => new TextDecoder().decode(f.locate))`))
		assert.True(t, ask[bool](b, `(a => !a.hidden && a.download === 'locate.csv' && a.href.startsWith('blob:'))(document.getElementById('give-locate'))`))
	}
	bring("#files", one, "vehicle.toml", "dives.csv")
	b.until(`!document.getElementById('dive').hidden && state.expects`)
	b.answered()
	has(one)
	more := one + "power_loop,3,2026-05-01,plug,0.1 Ω\r\n"
	bring("#merge", more, "dives.csv")
	b.untilSays("Taken in.")
	has(more)
	bring("#merge", one, "dives.csv")
	b.untilSays("Taken in.")
	has(more)
	bring("#merge", "search,after_dive,date,test,reading\n", "dives.csv")
	b.untilSays("Not merged, and nothing changed: neither locate.csv goes on from the other")
	has(more)
	b.do(chromedp.SetUploadFiles("#merge", []string{path("dives.csv")}))
	b.untilSays("Taken in.")
	has(more)
	b.press("All logbooks")
	b.press("Remove")
	b.press("Remove Puddle Otter and all its lines from this phone?")
	b.untilSays("is removed")
	assert.Contains(t, b.shows(), "None yet.")
}

// Lines that were added on both sides since are merged by dive; of two changes
// of one line neither is taken, and that is said.
func TestMerged(t *testing.T) {
	t.Parallel()
	h := hosted(t)
	b := started(t).open(t, h.URL)
	b.take(few(t))
	base := b.dives()
	b.fill("battery_v", "12.75")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	ours := strings.TrimPrefix(b.dives(), base)
	bring := func(text string) {
		folder := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(folder, "dives.csv"), []byte(text), 0o600))
		b.do(chromedp.SetUploadFiles("#merge", []string{filepath.Join(folder, "dives.csv")}))
	}
	last := base[strings.LastIndex(strings.TrimSpace(base), "\n")+1:]
	bring(base + last)
	b.untilSays("Taken in. Of here it also has: dive 4: 1 line of here.")
	assert.Equal(t, base+last+ours, b.dives())
	b.answered()
	b.choose("thrusters", "off")
	b.fill("battery_v", "12.7")
	b.keep()
	b.untilSays("Line 2 is kept")
	now := b.dives()
	require.Contains(t, now, base+last+ours)
	bring(base + last + ours + strings.Replace(ours, "12.75", "12.15", 1))
	b.untilSays("Not merged, and nothing changed: dive 4 has 2 lines here and 2 lines there, which differ from line 2 on")
	assert.Equal(t, now, b.dives())
	row := strings.TrimPrefix(now, base+last+ours)
	b.press("Strike line 2")
	b.press("Strike line 2? It stays in dives.csv as a comment.")
	b.untilSays("Line 2 is struck")
	struck := base + last + ours + "# " + today() + " struck, was: " + row
	assert.Equal(t, struck, b.dives())
	bring(now)
	b.untilSays("Taken in. Of here it also has: dive 4: a line struck here.")
	assert.Equal(t, struck, b.dives(), "it does not return")
}
