//go:build unix

package main

import (
	"os"
	"os/exec"
	"strconv"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// How long it takes until a first line can be typed and is kept, in a browser all
// of whose processes run only one part in SLOWED of the time: the time that they
// were let run, so many times over, so that other work on this machine counts
// little. It judges nothing.
func TestSlowed(t *testing.T) {
	times, err := strconv.Atoi(os.Getenv("SLOWED"))
	if err != nil {
		t.Skip("SLOWED does not say how many times slower than this machine")
	}
	h := hosted(t)
	w := launched(t, t.TempDir(), chromedp.ModifyCmdFunc(func(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }))
	t.Cleanup(w.stop)
	group := chromedp.FromContext(w).Browser.Process().Pid
	var ran atomic.Int64
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
			ran.Add(int64(time.Since(from)))
			time.Sleep(time.Duration(times-1) * 10 * time.Millisecond)
			from = time.Now()
			_ = syscall.Kill(-group, syscall.SIGCONT)
		}
	}()
	now := func() time.Duration { return time.Duration(ran.Load()) * time.Duration(times) }
	since := func(from time.Duration) float64 { return (now() - from).Seconds() }
	begun := now()
	b := w.visit(t, h.URL)
	b.press("Write a line now")
	b.until(`document.activeElement.id === 'dive-head' && !!document.getElementById('f-battery_v')`)
	t.Logf("%d times slower, the network apart: on a first visit the first line can be typed after %.1f s", times, since(begun))
	ask[bool](b, `(e => { e.value = '128'; e.dispatchEvent(new Event('change')); return true })(document.getElementById('f-battery_v'))`)
	b.until(`document.getElementById('loading').hidden`)
	t.Logf("the model is there after %.1f s", since(begun))
	b.answered()
	t.Logf("what was typed is checked after %.1f s", since(begun))
	b.press("All logbooks")
	b.untilSays("reports now work without a network")
	b.take("../../examples/joint")
	begun = now()
	b.do(chromedp.Reload())
	b.until(`!!document.querySelector('#list button')`)
	t.Logf("a later one after %.1f s", since(begun))
	tapped := now()
	ask[bool](b, `document.querySelector('#list button').click() || true`)
	b.until(`!!document.getElementById('f-battery_v')`)
	t.Logf("the first line can be typed %.1f s after the logbook is tapped, %.1f s in all", since(tapped), since(begun))
	b.fill("battery_v", "12.8")
	typed := now()
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	t.Logf("it is shown as kept, and stored, after %.1f s", since(typed))
	typed = now()
	b.choose("thrusters", "port + starboard")
	b.until(`!!document.getElementById('f-current_a')`)
	b.fill("current_a", "8.2")
	t.Logf("the next line asks for what its thrusters read after %.1f s; ranges are there: %v", since(typed), ask[bool](b, `state.expects`))
	b.until(`state.expects`)
	t.Logf("what it should read is there %.1f s after the logbook is tapped", since(tapped))
	b.answered()
	typed = now()
	b.press("Keep this line")
	b.untilSays("Line 2 is kept")
	t.Logf("with ranges a line is shown as kept after %.1f s", since(typed))
}
