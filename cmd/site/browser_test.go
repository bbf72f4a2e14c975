package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	_ "sagline/cmd/site/calls" // what the site is built of, so that these tests run again when it changes
)

// Where the browser and the accessibility rules come from. With mustBrowse
// "required" their absence is a failure; "off" leaves these tests out.
const (
	mustBrowse = "SAGLINE_BROWSER_TESTS"
	axePath    = "AXE_CORE" // axe.min.js of npm's axe-core
)

// absent skips a test, or fails it where everything was to be there.
func absent(t *testing.T, what string) {
	t.Helper()
	if os.Getenv(mustBrowse) == "required" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// The site is built once for all tests.
var built = sync.OnceValues(build)

// A host gives the site out, and counts what it is asked for.
type host struct {
	*httptest.Server
	mu   sync.Mutex
	sent []string

	folder string
}

func hosted(t *testing.T) *host {
	t.Helper()
	if testing.Short() {
		t.Skip("some seconds, as all that a browser shows")
	}
	s, err := built()
	require.NoError(t, err)
	h := &host{folder: t.TempDir()}
	require.NoError(t, s.save(h.folder))
	files := http.FileServer(http.Dir(h.folder))
	h.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h.mu.Lock()
		h.sent = append(h.sent, r.URL.Path)
		h.mu.Unlock()
		files.ServeHTTP(w, r)
	}))
	t.Cleanup(h.Close)
	return h
}

// A browser is a running one.
type browser struct {
	context.Context
	stop func()
}

// launched starts a browser with a folder for its profile.
func launched(t *testing.T, profile string, more ...chromedp.ExecAllocatorOption) *browser {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
		}
	}
	if path == "" || os.Getenv(mustBrowse) == "off" {
		absent(t, "no chromium on this machine, or "+mustBrowse+" is off: the page is not tried in a browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.UserDataDir(profile),
		chromedp.Flag("process-per-site", true), chromedp.Flag("js-flags", "--liftoff-only")) // the models are compiled once for all tabs, and not optimised
	var err error
	for range 3 { // chromium itself crashes at its start now and then, where several start at once
		all, stop := chromedp.NewExecAllocator(context.Background(), append(options, more...)...)
		window, shut := chromedp.NewContext(all)
		if err = chromedp.Do(window); err == nil {
			return &browser{window, sync.OnceFunc(func() { shut(); stop() })}
		}
		shut()
		stop()
		t.Logf("a browser that did not start: %v", err)
	}
	require.NoError(t, err)
	return nil
}

// One browser runs for all tests but those that end it.
var running struct {
	sync.Mutex
	*browser
	profile string
}

func TestMain(m *testing.M) {
	code := m.Run()
	if running.browser != nil {
		running.stop()
		_ = os.RemoveAll(running.profile)
	}
	os.Exit(code)
}

// started is the running browser. Each test's host is an origin of its own, of which nothing is stored in it.
func started(t *testing.T) *browser {
	t.Helper()
	running.Lock()
	defer running.Unlock()
	if running.browser == nil {
		profile, err := os.MkdirTemp("", "sagline-site-")
		require.NoError(t, err)
		running.browser, running.profile = launched(t, profile), profile
	}
	return running.browser
}

// A tab is an open page and what it complained of.
type tab struct {
	context.Context
	t    *testing.T
	mu   sync.Mutex
	said []string
}

func (b *tab) heard(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		b.said = append(b.said, fmt.Sprintf("console %s", e.Type))
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		if strings.HasSuffix(e.Entry.URL, "/judge.js") && strings.Contains(e.Entry.Text, "importScripts") {
			return // the page ends a judge that is no longer wanted, while it loads too
		}
		b.said = append(b.said, e.Entry.Text+" "+e.Entry.URL)
	}
}

// open opens an address and waits for the model.
func (w *browser) open(t *testing.T, url string) *tab {
	t.Helper()
	b := w.visit(t, url)
	b.until(`document.getElementById('loading').hidden`)
	return b
}

// visit opens an address in a tab of a phone's width.
func (w *browser) visit(t *testing.T, url string) *tab {
	t.Helper()
	ctx, shut := chromedp.NewContext(w)
	t.Cleanup(shut)
	ctx, giveUp := context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(giveUp)
	b := &tab{Context: ctx, t: t}
	require.NoError(t, chromedp.Listen(ctx, b.heard))
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, errLog := cdp.Call(ctx, t, log.Enable, cdp.Empty{})
		_, errRun := cdp.Call(ctx, t, runtime.Enable, cdp.Empty{})
		_, errNet := cdp.Call(ctx, t, network.Enable, network.EnableParams{})
		return errors.Join(errLog, errRun, errNet)
	}), chromedp.EmulateViewport(320, 640, chromedp.EmulateMobile, chromedp.EmulateTouch), chromedp.Navigate(url))
	return b
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b, steps...), b.shows())
}

// until waits for something to become true in the page.
func (b *tab) until(expression string) {
	b.t.Helper()
	wait, stop := context.WithTimeout(b, 4*time.Minute) // of two cores with all packages tested at once
	defer stop()
	for {
		ok, err := chromedp.Run(wait, chromedp.Evaluate[bool](expression))
		if err == nil && ok {
			return
		}
		if wait.Err() != nil {
			require.FailNow(b.t, "never so: "+expression, b.shows())
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// untilSays waits until the page has a text.
func (b *tab) untilSays(text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.body.innerText.includes(%q)`, text))
}

// shows is the text that the page shows, and what it complained of.
func (b *tab) shows() string {
	text, _ := chromedp.Run(b, chromedp.Evaluate[string](`document.body.innerText`))
	b.mu.Lock()
	defer b.mu.Unlock()
	return text + "\n" + strings.Join(b.said, "\n")
}

// ask evaluates an expression in the page.
func ask[T any](b *tab, expression string) T {
	b.t.Helper()
	out, err := chromedp.Run(b, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(b.t, err)
	return out
}

// press presses the button that has a text, as a finger does.
func (b *tab) press(text string) {
	b.t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll('button, summary')].find(e => e.innerText.trim() === %q && e.checkVisibility())`, text)
	b.until("!!" + find)
	ask[bool](b, find+`.click() || true`)
}

// fill types into the field of a column, in the place of what is there.
func (b *tab) fill(column, text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`!!document.getElementById('f-%s')`, column))
	b.answered()
	ask[bool](b, fmt.Sprintf(`(e => { e.focus(); e.value = %q; e.dispatchEvent(new Event('change')); return true })(document.getElementById('f-%s'))`, text, column))
	b.answered()
}

// answered waits until the form is of the line, and has answered what was typed.
func (b *tab) answered() {
	b.t.Helper()
	b.until(`!running && !document.getElementById('fields').inert`)
}

// take takes a logbook's files in and waits for its ranges.
func (b *tab) take(folder string) {
	b.t.Helper()
	folder, err := filepath.Abs(folder)
	require.NoError(b.t, err)
	b.do(chromedp.SetUploadFiles("#files", []string{filepath.Join(folder, "vehicle.toml"), filepath.Join(folder, "dives.csv")}))
	b.until(`!document.getElementById('dive').hidden && state.expects`)
	b.answered()
}

// few is a logbook of three dives, which is fitted at once.
func few(t *testing.T) string {
	t.Helper()
	return upTo(t, "sound", 3)
}

// upTo is an example's logbook up to a dive.
func upTo(t *testing.T, example string, dive int) string {
	t.Helper()
	folder := t.TempDir()
	for _, name := range []string{"vehicle.toml", "dives.csv"} {
		text, err := os.ReadFile(filepath.Join("../../examples", example, name))
		require.NoError(t, err)
		if name == "dives.csv" {
			text = text[:bytes.Index(text, fmt.Appendf(nil, "\n%d,", dive+1))+1]
		}
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), text, 0o600))
	}
	return folder
}

// dives is the dives.csv that the page gives out.
func (b *tab) dives() string {
	b.t.Helper()
	return ask[string](b, `ask('files').then(f => new TextDecoder().decode(f.dives))`)
}

// reopen opens the first logbook of the list.
func (b *tab) reopen() {
	b.t.Helper()
	const first = `document.querySelector('#list button')`
	b.until("!!" + first)
	ask[bool](b, first+`.click() || true`)
	b.until(`!document.getElementById('dive').hidden && state.expects`)
	b.answered()
}

// frame is the page in the frame, which is a target of its own.
func (b *tab) frame() *tab {
	b.t.Helper()
	all, err := chromedp.Targets(b)
	require.NoError(b.t, err)
	mine := cdp.FrameID(chromedp.FromContext(b).Target.TargetID)
	at := slices.IndexFunc(all, func(i *target.Info) bool { return i.Type == "iframe" && i.ParentFrameID == mine })
	require.GreaterOrEqual(b.t, at, 0, "no frame")
	ctx, shut := chromedp.NewContext(b, chromedp.WithTargetID(all[at].TargetID), chromedp.WithDetachOnCancel())
	b.t.Cleanup(shut)
	return &tab{Context: ctx, t: b.t}
}

// framed waits until the frame shows a page that has a text.
func (b *tab) framed(text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`!document.getElementById('page').hidden && document.getElementById('page-frame').srcdoc.includes(%q) && document.getElementById('say').innerText === ''`, text))
}
