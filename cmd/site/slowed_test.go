//go:build unix

package main

import (
	"context"
	"os"
	"os/exec"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// watched is what a page does by itself as soon as it can, without this program
// asking, and when: it taps the first logbook, or the button for a line where there
// is none.
const watched = `self.seen = {}
new MutationObserver(() => {
  const see = (what, is) => is && !seen[what] && (seen[what] = performance.timeOrigin + performance.now())
  const tap = document.querySelector('#list button') || document.querySelector('#early:not([hidden]) button')
  if (tap && see('list', !document.querySelector('#logbooks').hidden)) tap.click()
  see('line', seen.list && document.querySelector('#f-battery_v'))
  see('model', document.querySelector('#loading')?.hidden)
}).observe(document, { subtree: true, childList: true, attributes: true })`

// How long it takes until a first line can be typed and is kept, in a browser all
// of whose processes run only one part in SLOWED of the time: the time that they
// were let run, so many times over. Other work on this machine makes it longer. It
// judges nothing.
func TestSlowed(t *testing.T) {
	times, err := strconv.Atoi(os.Getenv("SLOWED"))
	if err != nil {
		t.Skip("SLOWED does not say how many times slower than this machine")
	}
	h := hosted(t)
	w := launched(t, t.TempDir(), chromedp.ModifyCmdFunc(func(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }))
	t.Cleanup(w.stop)
	b := w.visit(t, "about:blank")
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: watched})
		return err
	}))
	group := chromedp.FromContext(w).Browser.Process().Pid
	var mu sync.Mutex
	var let [][2]time.Time // run
	done := make(chan bool)
	t.Cleanup(func() { done <- true })
	go func() {
		from := time.Now()
		for turn := time.NewTicker(time.Duration(times) * 10 * time.Millisecond); ; {
			select {
			case <-done:
				return
			case <-turn.C:
			}
			_ = syscall.Kill(-group, syscall.SIGSTOP)
			mu.Lock()
			let = append(let, [2]time.Time{from, time.Now()})
			mu.Unlock()
			time.Sleep(time.Duration(times-1) * 10 * time.Millisecond)
			from = time.Now()
			_ = syscall.Kill(-group, syscall.SIGCONT)
		}
	}()
	between := func(from, to time.Time) float64 {
		mu.Lock()
		defer mu.Unlock()
		var ran time.Duration
		for _, run := range let {
			begun, stopped := run[0], run[1]
			if begun.Before(from) {
				begun = from
			}
			if stopped.After(to) {
				stopped = to
			}
			ran += max(0, stopped.Sub(begun))
		}
		return ran.Seconds() * float64(times)
	}
	since := func(from time.Time) float64 { return between(from, time.Now()) }
	visited := func(visit string) (tapped time.Time) {
		b.until(`!!self.seen && !!seen.model && !!seen.line`)
		at := func(expression string) time.Time {
			return time.UnixMicro(int64(1000 * ask[float64](b, expression)))
		}
		begun := at(`performance.timeOrigin`)
		t.Logf("%d times slower, the network apart, %s visit: a list of logbooks after %.1f s, the first line can be typed after %.1f s, the model is there after %.1f s", times, visit,
			between(begun, at(`seen.list`)), between(begun, at(`seen.line`)), between(begun, at(`seen.model`)))
		return at(`seen.list`)
	}
	b.do(chromedp.Navigate(h.URL))
	visited("a first")
	b.press("All logbooks")
	b.untilSays("reports now work without a network")
	b.take("../../examples/joint")
	b.do(chromedp.Reload())
	tapped := visited("a later")
	b.until(`!state.early`)
	t.Logf("it is checked %.1f s after the logbook is tapped", since(tapped))
	b.fill("battery_v", "12.8")
	typed := time.Now()
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	t.Logf("it is shown as kept, and stored, after %.1f s", since(typed))
	typed = time.Now()
	b.choose("thrusters", "port + starboard")
	b.until(`!!document.getElementById('f-current_a')`)
	b.fill("current_a", "8.2")
	t.Logf("the next line asks for what its thrusters read after %.1f s; ranges are there: %v", since(typed), ask[bool](b, `state.expects`))
	b.until(`state.expects`)
	t.Logf("what it should read is there %.1f s after the logbook is tapped", since(tapped))
	b.answered()
	typed = time.Now()
	b.press("Keep this line")
	b.untilSays("Line 2 is kept")
	t.Logf("with ranges a line is shown as kept after %.1f s", since(typed))
}
