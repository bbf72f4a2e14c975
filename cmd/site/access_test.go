package main

import (
	"context"
	"os"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// views go through every view of the page.
func (b *tab) views(see func(name string)) {
	b.t.Helper()
	see("logbooks")
	b.press("Describe a new vehicle")
	b.until(`!!document.getElementById('q-name')`)
	b.press("Make the logbook")
	b.untilSays("Not made yet")
	see("a new vehicle")
	b.press("All logbooks")
	b.untilSays("Logbooks on this phone")
	b.take("../../examples/joint")
	see("a dive")
	b.fill("battery_v", "128")
	b.press("Keep this line")
	b.untilSays("Not kept yet")
	see("a doubt")
	b.fill("battery_v", "12,x")
	b.press("Keep this line")
	b.untilSays("Not kept: ")
	see("a problem")
	b.fill("battery_v", "12.8")
	b.press("Keep this line")
	b.untilSays("Line 1 is kept")
	b.press("The dive is complete: what does it say?")
	b.untilSays("The dive:")
	ask[bool](b, `(document.querySelectorAll('details').forEach(d => d.open = true), true)`)
	see("all of it")
	b.press("What drifts, and what to read next")
	b.untilSays("The next dive: read these first")
	see("a trend")
}

// The page fits a phone of 320 px, without moving sideways.
func TestFitsAPhone(t *testing.T) {
	b := started(t, t.TempDir()).open(t, hosted(t).URL)
	b.views(func(name string) {
		assert.LessOrEqual(t, ask[int](b, `document.documentElement.scrollWidth`), 320, name)
		small := ask[[]string](b, `[...document.querySelectorAll('button, input:not([type=checkbox]):not([type=file]), select, summary, a')].filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 44).map(e => e.outerHTML)`)
		assert.Empty(t, small, "too small for a wet thumb: "+name)
	})
}

// The rules of axe-core for WCAG 2.0 to 2.2 A and AA, and its good practice.
func TestIsAccessible(t *testing.T) {
	path := os.Getenv(axePath)
	if path == "" || os.Getenv(mustBrowse) == "off" {
		absent(t, axePath+" does not name axe-core's axe.min.js: the page's accessibility is not tried")
	}
	rules, err := os.ReadFile(path)
	require.NoError(t, err)
	w, h := started(t, t.TempDir()), hosted(t)
	for _, scheme := range []string{"light", "dark"} {
		b := w.open(t, h.URL)
		b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			return err
		}))
		ask[int](b, string(rules)+`; 0`)
		b.views(func(name string) {
			found := ask[[]string](b, `axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag2aaa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then(r =>
				r.violations.map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.html).join(' | ')))`)
			assert.Empty(t, found, name+", "+scheme)
		})
	}
}

// A line is kept by the keyboard alone: Tab to each field, type, Enter.
func TestKeyboardAlone(t *testing.T) {
	b := started(t, t.TempDir()).open(t, hosted(t).URL)
	b.take("../../examples/sound")
	to := func(id string) {
		for range 60 {
			if ask[string](b, `document.activeElement.id`) == id {
				return
			}
			b.do(chromedp.KeyEvent(kb.Tab))
		}
		require.FailNow(t, "Tab does not reach "+id)
	}
	to("f-minute")
	b.do(chromedp.KeyEvent("2"))
	to("f-thrusters")
	b.do(chromedp.KeyEvent(kb.ArrowDown))
	b.answered()
	to("f-battery_v")
	b.do(chromedp.KeyEvent("12.1"), chromedp.KeyEvent(kb.Enter))
	for b.doubts() > 0 {
		b.do(chromedp.KeyEvent(kb.Tab))
		for ask[string](b, `document.activeElement.innerText`) != "It stands as typed" {
			b.do(chromedp.KeyEvent(kb.Tab))
		}
		b.do(chromedp.KeyEvent(kb.Enter))
		b.until(`document.activeElement.id === 'keep' || document.activeElement.id === 'doubts'`)
		if ask[string](b, `document.activeElement.id`) == "keep" {
			b.do(chromedp.KeyEvent(kb.Enter))
			break
		}
	}
	b.untilSays("Line 1 is kept")
	b.untilSays("battery_v 12.1")
	assert.Contains(t, ask[string](b, `document.activeElement.id`), "f-", "the next line's first field has the focus")
	assert.Empty(t, b.said)
}
