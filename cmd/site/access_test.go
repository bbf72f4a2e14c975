package main

import (
	"context"
	"fmt"
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
	b.press("Write a line now")
	b.answered()
	see("a line of no logbook")
	b.fill("battery_v", "128")
	b.press("All logbooks")
	b.untilSays("Typed, and in no logbook yet")
	see("a line that waits for a logbook")
	b.press("Describe a new vehicle")
	b.until(`!!document.getElementById('q-name')`)
	b.press("Make the logbook")
	b.untilSays("Not made yet")
	see("a new vehicle")
	b.press("All logbooks")
	b.untilSays("Logbooks on this phone")
	b.take(upTo(b.t, "joint", 13))
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
	b.press("Back to the dive")
	b.press("Report: pictures and tables")
	b.framed("From sound to its limit")
	see("a report")
	b.press("Back to the dive")
	b.press("Card for the next dive")
	b.framed("Before the dive")
	b.press("Depth and water of the next dive")
	see("a card")
}

// looks makes the page as wide as a screen, light or dark.
func (b *tab) looks(width int64, scheme string) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, 640, chromedp.EmulateMobile, chromedp.EmulateTouch), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// Every view, and the page in it, fits a phone of 320 px and a tablet without
// moving sideways, and keeps, light and dark, the rules of axe-core for WCAG 2.0
// to 2.2 A and AA, contrast of AAA, where it tells of what fails AA too in AA's
// place, and its good practice. Targets are for a thumb.
func TestViews(t *testing.T) {
	t.Parallel()
	b := started(t).open(t, hosted(t).URL)
	rules, err := os.ReadFile(os.Getenv(axePath))
	const everything = `{type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag2aaa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}`
	const onSight = `{type: 'rule', values: ['color-contrast-enhanced', 'link-in-text-block', 'target-size', 'scrollable-region-focusable', 'css-orientation-lock']}` // what width and colours decide
	axe := func(part *tab, at, only string) {
		if ask[bool](part, `typeof axe === 'undefined'`) {
			ask[bool](part, string(rules)+`; true`)
		}
		assert.Empty(t, ask[[]string](part, `axe.run(document, {runOnly: `+only+`, resultTypes: ['violations'], iframes: false, rules: {'color-contrast': {enabled: false}}, checks: {'color-contrast-enhanced': {options: {contrastRatio: {normal: {minThreshold: 0}, large: {minThreshold: 0}}}}}}).then(r =>
			r.violations.map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.html).join(' | ')))`), at)
	}
	b.views(func(name string) {
		parts := map[string]*tab{name: b}
		if ask[bool](b, `!document.getElementById('page').hidden`) {
			parts["in "+name] = b.frame()
		}
		for _, width := range []int64{320, 768} {
			for _, scheme := range []string{"light", "dark"} {
				b.looks(width, scheme)
				for name, part := range parts {
					at := fmt.Sprintf("%s, %d px, %s", name, width, scheme)
					ask[bool](part, fmt.Sprintf(`new Promise(laid => { let left = 500; const look = () => document.documentElement.clientWidth <= %d || !left-- ? laid(true) : setTimeout(look, 20); look() })`, width)) // a frame is laid out after its page
					assert.LessOrEqual(t, ask[int64](part, `document.documentElement.scrollWidth`), width, at)
					if err == nil && name != "in a report" && (width == 320) == (scheme == "light") { // a report's own tests do; colours are the same at each width
						axe(part, at, map[int64]string{320: everything, 768: onSight}[width])
					}
				}
			}
		}
		small := ask[[]string](b, `[...document.querySelectorAll('button, input:not([type=checkbox]):not([type=file]), select, summary, a')].filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 44).map(e => e.outerHTML)`)
		assert.Empty(t, small, "too small for a wet thumb: "+name)
	})
	if err != nil {
		absent(t, axePath+" does not name axe-core's axe.min.js: the page's accessibility is not tried")
	}
}

// A line is kept by the keyboard alone: Tab to each field, type, Enter.
func TestKeyboardAlone(t *testing.T) {
	t.Parallel()
	b := started(t).open(t, hosted(t).URL)
	b.take(few(t))
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
	to("see-card")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.framed("Before the dive")
	to("from-page")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.untilSays("Line 2")
	assert.Empty(t, b.said)
}
