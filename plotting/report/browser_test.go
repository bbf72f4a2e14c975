package report

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
)

// Where the browser and the accessibility rules come from. With mustBrowse
// "required" their absence is a failure; "off" leaves these tests out.
const (
	mustBrowse = "SAGLINE_BROWSER_TESTS"
	axePath    = "AXE_CORE" // axe.min.js of npm's axe-core
)

// One browser serves all tests, each in a tab of its own.
var (
	browser      sync.Once
	opened       context.Context
	closeBrowser = func() {}
	profile      string
)

func TestMain(m *testing.M) {
	debug.SetGCPercent(300) // as the command does
	var err error
	if profile, err = os.MkdirTemp("", "sagline-browser-"); err != nil {
		panic(err)
	}
	code := m.Run()
	closeBrowser()
	_ = os.RemoveAll(profile)
	os.Exit(code)
}

// absent skips a test, or fails it where everything was to be there.
func absent(t *testing.T, what string) {
	t.Helper()
	if os.Getenv(mustBrowse) == "required" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// A tab is an open page and all that it did besides.
type tab struct {
	context.Context
	mu       sync.Mutex
	requests []string
	said     []string // console, exceptions, dialogs
}

func (b *tab) heard(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventConsoleAPICalled:
		b.said = append(b.said, fmt.Sprintf("console %s", e.Type))
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		b.said = append(b.said, e.Entry.Text)
	case *page.EventJavascriptDialogOpening:
		b.said = append(b.said, "dialog "+e.Message)
	}
}

// chromium is where the browser is; without one a test is left out, before anything is made for it.
func chromium(t *testing.T) (path string) {
	t.Helper()
	if testing.Short() {
		t.Skip("some seconds")
	}
	for _, name := range []string{"chromium", "chromium-browser"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
		}
	}
	if path == "" || os.Getenv(mustBrowse) == "off" {
		absent(t, "no chromium on this machine, or "+mustBrowse+" is off: the page is not tried in a browser")
	}
	return path
}

// browse opens a page from a file in a window of a width.
func browse(t *testing.T, p *Page, width int64, dark bool) *tab {
	t.Helper()
	return show(t, p.Write, width, dark)
}

// show opens what is written as browse does.
func show(t *testing.T, write func(io.Writer) error, width int64, dark bool) *tab {
	t.Helper()
	path := chromium(t)
	file := filepath.Join(t.TempDir(), "page.html")
	var html bytes.Buffer
	require.NoError(t, write(&html))
	require.NoError(t, os.WriteFile(file, html.Bytes(), 0o600))
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.UserDataDir(profile))
	browser.Do(func() {
		all, stop := chromedp.NewExecAllocator(context.Background(), options...)
		window, shut := chromedp.NewContext(all)
		require.NoError(t, chromedp.Do(window))
		opened, closeBrowser = window, func() { shut(); stop() }
	})
	ctx, closeTab := chromedp.NewContext(opened)
	t.Cleanup(closeTab)
	ctx, giveUp := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(giveUp)
	b := &tab{Context: ctx}
	require.NoError(t, chromedp.Listen(ctx, b.heard))
	scheme := emulation.MediaFeature{Name: "prefers-color-scheme", Value: "light"}
	if dark {
		scheme.Value = "dark"
	}
	var view []chromedp.EmulateViewportOption
	if width < 500 {
		view = append(view, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	require.NoError(t, chromedp.Do(ctx,
		chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, errNet := cdp.Call(ctx, t, network.Enable, network.EnableParams{})
			_, errLog := cdp.Call(ctx, t, log.Enable, cdp.Empty{})
			_, errRun := cdp.Call(ctx, t, runtime.Enable, cdp.Empty{})
			_, errScheme := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{&scheme}})
			return errors.Join(errNet, errLog, errRun, errScheme)
		}),
		chromedp.EmulateViewport(width, 740, view...), chromedp.Navigate((&url.URL{Scheme: "file", Path: filepath.ToSlash(file)}).String())))
	return b
}

// ask evaluates an expression in the page.
func ask[T any](t *testing.T, b *tab, expression string) T {
	t.Helper()
	out, err := chromedp.Run(b, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(t, err)
	return out
}

// every page that a browser is to show: one vehicle with faults, one that has
// only begun, a fleet, hostile text.
func every(t *testing.T) map[string]*Page {
	t.Helper()
	return map[string]*Page{
		"one": ofSeason(t, 24), "three": ofSeason(t, 3),
		"fleet":   {Cautions: "Low voltage only.", Vehicles: append(ofSeason(t, 7).Vehicles, ofSeason(t, 14).Vehicles...)},
		"hostile": ofHostile(t),
	}
}

func TestPageKeepsToItself(t *testing.T) {
	chromium(t)
	for name, p := range every(t) {
		t.Run(name, func(t *testing.T) {
			b := browse(t, p, 1200, false)
			assert.Equal(t, 1, ask[int](t, b, `document.scripts.length`))
			small := ask[int](t, b, `document.querySelectorAll('details').forEach(d => d.open = true), [...document.querySelectorAll('.pic svg[role=img]')].filter(s => { const r = s.getBoundingClientRect(); return r.width < 200 || r.height < 15 }).length`)
			assert.Zero(t, small, "pictures without a size")
			assert.GreaterOrEqual(t, ask[int](t, b, `document.querySelectorAll('.pic svg[role=img]').length`), 2)
			b.mu.Lock()
			defer b.mu.Unlock()
			assert.Len(t, b.requests, 1, "the page itself alone")
			assert.Empty(t, b.said)
		})
	}
}

func TestPageFitsAPhone(t *testing.T) {
	chromium(t)
	for name, p := range every(t) {
		t.Run(name, func(t *testing.T) {
			b := browse(t, p, 360, false)
			assert.LessOrEqual(t, ask[int](t, b, `document.documentElement.scrollWidth`), 360)
			assert.Zero(t, ask[int](t, b, `(document.querySelectorAll('details').forEach(d => d.open = true), Math.max(0, document.documentElement.scrollWidth - 360))`))
			cut := ask[[]string](t, b, `[...document.querySelectorAll('.pic text')].filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.left < 0 || r.right > 360) }).map(e => e.textContent)`)
			assert.Empty(t, cut, "words cut off at the edge")
		})
	}
}

// On a desktop the table of watts shows all of its columns.
func TestWattsFitADesktop(t *testing.T) {
	chromium(t)
	p := ofSeason(t, 14)
	for _, width := range []int64{820, 1000, 1100, 1280} {
		b := browse(t, p, width, false)
		assert.Zero(t, ask[int](t, b, `(e => e.scrollWidth - e.clientWidth)(document.querySelector('.power .scroll'))`), "%d", width)
	}
}

// where is the middle of the n-th place of a picture that says something.
func where(t *testing.T, b *tab, picture, n int) (x, y float64) {
	t.Helper()
	at := ask[[]float64](t, b, fmt.Sprintf(`(() => { document.querySelectorAll('details').forEach(d => d.open = true); const h = document.querySelectorAll('details .over')[%d].querySelectorAll('g[tabindex]>path')[%d];
		h.scrollIntoView({block: 'center'}); const r = h.getBoundingClientRect(); return [r.left + r.width/2, r.top + r.height/2] })()`, picture, n))
	return at[0], at[1]
}

// seen are the words of the tips that show.
func seen(t *testing.T, b *tab) []string {
	t.Helper()
	return ask[[]string](t, b, `[...document.querySelectorAll('.over>g>g')].filter(e => getComputedStyle(e).visibility === 'visible').map(e => e.textContent)`)
}

func TestValuesOnHoverAndTap(t *testing.T) {
	chromium(t)
	p := ofSeason(t, 30)
	want := p.Vehicles[0].Trends[0].Hits[4].Words
	require.Regexp(t, `^dive 5, \d+ \w+ 2025: .*Ω \(.* to .*\)$`, want)
	t.Run("hover", func(t *testing.T) {
		b := browse(t, p, 1200, false)
		require.Empty(t, seen(t, b))
		x, y := where(t, b, 0, 4)
		require.NoError(t, chromedp.Do(b, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, x, y)))
		assert.Equal(t, []string{want}, seen(t, b))
	})
	t.Run("tap", func(t *testing.T) {
		b := browse(t, p, 360, false)
		x, y := where(t, b, 0, 4)
		require.NoError(t, chromedp.Do(b, chromedp.TapXY(x, y)))
		assert.Contains(t, seen(t, b), want)
	})
}

// A tap on one picture, or a key on the slider, lights a dive in all pictures,
// says what its readings say and leads to its row.
func TestOneDiveIsLitInAllPictures(t *testing.T) {
	chromium(t)
	p := ofSeason(t, 30)
	row := p.Vehicles[0].Dives[14]
	require.NotEmpty(t, row.Far)
	b := browse(t, p, 1200, false)
	const pictures = `[...document.querySelectorAll('.over')].filter(o => o.querySelector('[data-d]')).length`
	lit := func() []string {
		return ask[[]string](t, b, `[...document.querySelectorAll('.over .lit')].map(g => g.dataset.d)`)
	}
	assert.Empty(t, lit())
	x, y := where(t, b, 1, 14)
	require.NoError(t, chromedp.Do(b, chromedp.MouseClickXY(x, y)))
	assert.Len(t, lit(), ask[int](t, b, pictures))
	assert.Subset(t, []string{"14"}, lit())
	says := ask[string](t, b, `document.querySelector('output').textContent`)
	assert.Contains(t, says, "15; ")
	assert.Contains(t, says, row.Day)
	assert.Contains(t, says, row.Far)
	assert.Equal(t, "15", ask[string](t, b, `document.querySelector(document.querySelector('output a').getAttribute('href')).querySelector('th').textContent`))
	ask[int](t, b, `(document.querySelector('.pick input').focus(), 0)`)
	require.NoError(t, chromedp.Do(b, chromedp.KeyEvent(kb.ArrowLeft)))
	assert.Subset(t, []string{"13"}, lit())
}

// What is wrong, since when, how sure, how long it has left and what to check:
// a phone's first screen answers it for each kind of fault, and says so where
// nothing is wrong.
func TestFirstScreenAnswers(t *testing.T) {
	chromium(t)
	for name, c := range map[string]struct {
		page *Page
		want []string
	}{
		"loop":    {ofSeason(t, 17), []string{"power loop has gained resistance", `\(dive 8\)`, "%", "dives until its limit of 0.3", "measure the loop"}},
		"leak":    {single(t, drifting(17, predict.TrimG, -6, 0)), []string{"lost buoyancy", `\(dive [89]\)`, "%", "its limit of 60", "weigh the vehicle"}},
		"thrust":  {single(t, drifting(17, predict.LogThrust, -0.02, 0)), []string{"propellers push less", `\(dive (9|10|11)\)`, "%", "its limit of −20", "look for weed"}},
		"branch":  {single(t, drifting(17, predict.OfThruster(1, predict.BranchOhm), 0, 0.35)), []string{"wiring of starboard", `\(dive 9\)`, "%", "past its limit of 0.3", "relay contact"}},
		"battery": {single(t, drifting(17, predict.BatteryOhm, 0.004, 0)), []string{"battery sags more", `\(dive (9|10|11)\)`, "%", "its limit of", "clean its terminals"}},
		"sound":   {ofSeason(t, 7), []string{"Nothing is drifting"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := browse(t, c.page, 360, false)
			seen := ask[[]string](t, b, `[...document.querySelectorAll('.what, .find.first dd')].filter(e => e.getBoundingClientRect().bottom <= 740).map(e => e.textContent)`)
			for _, want := range c.want {
				assert.Regexp(t, want, strings.Join(seen, "\n"))
			}
		})
	}
}

// The keyboard reaches the link to the table, the tables and the folded parts,
// and no more: not each of hundreds of points.
func TestKeyboardReachesWhatMatters(t *testing.T) {
	chromium(t)
	b := browse(t, ofSeason(t, 60), 1200, false)
	stops := ask[int](t, b, `[...document.querySelectorAll('a[href], summary, [tabindex]')].filter(e => e.tabIndex >= 0).length`)
	assert.Greater(t, stops, 4)
	assert.Less(t, stops, 15)
}

// What a person wrote shows as it was written.
func TestHostileTextShows(t *testing.T) {
	chromium(t)
	b := browse(t, ofHostile(t), 1200, false)
	text := ask[string](t, b, `document.body.textContent`)
	assert.Contains(t, text, nasty)
	assert.Contains(t, text, "␀")
	assert.True(t, strings.Contains(text, `"><script>alert(1)</script>`))
	assert.False(t, bytes.ContainsRune([]byte(text), '\u202e'))
}
