//go:build unix

package main

import (
	"os"
	"os/exec"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// How long it takes until a first line can be typed and is kept, in a browser all
// of whose processes run only one part in SLOWED of the time; it judges nothing.
func TestSlowed(t *testing.T) {
	times, err := strconv.Atoi(os.Getenv("SLOWED"))
	if err != nil {
		t.Skip("SLOWED does not say how many times slower than this machine")
	}
	h := hosted(t)
	w := launched(t, t.TempDir(), chromedp.ModifyCmdFunc(func(c *exec.Cmd) { c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }))
	t.Cleanup(w.stop)
	group := chromedp.FromContext(w).Browser.Process().Pid
	done := make(chan bool)
	t.Cleanup(func() { done <- true })
	go func() {
		for turn := time.NewTicker(time.Duration(times) * 2 * time.Millisecond); ; {
			select {
			case <-done:
				return
			case <-turn.C:
			}
			_ = syscall.Kill(-group, syscall.SIGSTOP)
			time.Sleep(time.Duration(times-1) * 2 * time.Millisecond)
			_ = syscall.Kill(-group, syscall.SIGCONT)
		}
	}()
	begun := time.Now()
	b := w.open(t, h.URL)
	t.Logf("%d times slower: a first visit has its list of logbooks after %.1f s, the network apart", times, time.Since(begun).Seconds())
	b.untilSays("reports now work without a network")
	b.take("../../examples/joint")
	begun = time.Now()
	b.do(chromedp.Reload())
	b.until(`!!document.querySelector('#list button')`)
	t.Logf("a later one after %.1f s", time.Since(begun).Seconds())
	tapped := time.Now()
	ask[bool](b, `document.querySelector('#list button').click() || true`)
	b.until(`!!document.getElementById('f-battery_v')`)
	t.Logf("the first line can be typed %.1f s after the logbook is tapped, %.1f s in all", time.Since(tapped).Seconds(), time.Since(begun).Seconds())
	b.fill("battery_v", "12.8")
	typed := time.Now()
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	t.Logf("it is shown as kept, and stored, after %.1f s", time.Since(typed).Seconds())
	typed = time.Now()
	b.choose("thrusters", "port + starboard")
	b.until(`!!document.getElementById('f-current_a')`)
	b.fill("current_a", "8.2")
	t.Logf("the next line asks for what its thrusters read after %.1f s; ranges are there: %v", time.Since(typed).Seconds(), ask[bool](b, `state.expects`))
	b.until(`state.expects`)
	t.Logf("what it should read is there %.1f s after the logbook is tapped", time.Since(tapped).Seconds())
	b.answered()
	typed = time.Now()
	b.press("Keep this line")
	b.untilSays("Line 2 is kept")
	t.Logf("with ranges a line is shown as kept after %.1f s", time.Since(typed).Seconds())
}
