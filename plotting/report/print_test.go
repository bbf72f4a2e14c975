package report

import (
	"context"
	"fmt"
	"io"
	"os"
	"regexp"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/plotting"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// card writes the next dive's card of a logbook.
func card(r *fit.Result, rep *findings.Report) func(io.Writer) error {
	return plotting.ReadSheet(r, rep, logOf(r), plotting.LikeTheNewest(logOf(r))).WriteHTML
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// sheets is how many sheets of a paper a tab prints on.
func sheets(t *testing.T, b *tab, paper chromedp.PaperSize) int {
	t.Helper()
	pdf, err := chromedp.Run(b, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground(), chromedp.PDFPaper(paper)))
	require.NoError(t, err)
	return len(pdfPage.FindAll(pdf, -1))
}

// One vehicle prints on at most two sheets of A4.
func TestPagePrintsOnTwoSheets(t *testing.T) {
	chromium(t)
	for name, p := range map[string]*Page{"three": ofSeason(t, 3), "sixty": ofSeason(t, 60), "hostile": ofHostile(t)} {
		t.Run(name, func(t *testing.T) {
			n := sheets(t, browse(t, p, 1200, true), chromedp.PaperA4)
			assert.True(t, n == 1 || n == 2, "%d sheets", n)
		})
	}
}

// The card prints on one sheet, A4 or Letter, and a phone shows it without
// moving sideways.
func TestCardFitsOneSheetAndAPhone(t *testing.T) {
	chromium(t)
	b := show(t, card(seasonRead(t, 24)), 360, false)
	assert.LessOrEqual(t, ask[int](t, b, `document.documentElement.scrollWidth`), 360)
	for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
		assert.Equal(t, 1, sheets(t, b, paper), name)
	}
	assert.LessOrEqual(t, ask[int](t, show(t, card(hostileRead(t)), 360, false), `document.documentElement.scrollWidth`), 360, "hostile")
}

// media makes a tab take on a medium and features.
func media(t *testing.T, b *tab, medium string, features ...*emulation.MediaFeature) {
	t.Helper()
	require.NoError(t, chromedp.Do(b, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium, Features: features})
		return err
	})))
}

// On paper no words are smaller than 7.5 points, those in pictures as drawn: a
// page of A4 between its margins is 703 pixels wide.
func TestPrintedWordsAreLargeEnough(t *testing.T) {
	chromium(t)
	for name, write := range map[string]func(io.Writer) error{"page": ofSeason(t, 24).Write, "card": card(seasonRead(t, 24))} {
		b := show(t, write, 703, false)
		media(t, b, "print")
		small := ask[[]string](t, b, `[...document.querySelectorAll('main *')].filter(e => {
			if (![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()) || !e.getClientRects().length) return false;
			const svg = e.closest('svg'), scale = svg && svg.viewBox.baseVal.width ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
			return parseFloat(getComputedStyle(e).fontSize) * scale < 9.99 }).map(e => e.tagName + ' ' + e.textContent.slice(0, 40))`)
		assert.Empty(t, small, name)
	}
}

// Where a person's own colours are forced, the key still tells the parts apart.
func TestForcedColoursKeepTheKey(t *testing.T) {
	chromium(t)
	b := browse(t, ofSeason(t, 24), 1200, false)
	media(t, b, "screen", &emulation.MediaFeature{Name: "forced-colors", Value: "active"})
	require.True(t, ask[bool](t, b, `matchMedia('(forced-colors: active)').matches`))
	assert.Equal(t, len(plotting.BudgetParts), ask[int](t, b, `new Set([...document.querySelectorAll('.key i')].map(e => getComputedStyle(e).backgroundColor)).size`))
	assert.GreaterOrEqual(t, ask[int](t, b, `new Set([...document.querySelectorAll('.power .pic path.full')].map(e => getComputedStyle(e).fill)).size`), 4)
}

// The rules of axe-core for WCAG 2.0 to 2.2, A to AAA, and its good practice.
// Contrast of AAA, where it tells of what fails AA too, takes AA's place. Contrast
// takes most of the time and follows from neither width nor words, so one page in
// each scheme has it tried.
func TestPagesAreAccessible(t *testing.T) {
	chromium(t)
	path := os.Getenv(axePath)
	if path == "" || os.Getenv(mustBrowse) == "off" {
		absent(t, axePath+" does not name axe-core's axe.min.js: the page's accessibility is not tried")
	}
	rules, err := os.ReadFile(path)
	require.NoError(t, err)
	const (
		both   = `{'color-contrast': {enabled: false}}`
		layout = `{'color-contrast': {enabled: false}, 'color-contrast-enhanced': {enabled: false}}`
		whole  = `{'color-contrast-enhanced': {options: {contrastRatio: {normal: {minThreshold: 0}, large: {minThreshold: 0}}}}}`
	)
	one, all, sheet := ofSeason(t, 14).Write, every(t), card(seasonRead(t, 14))
	for _, c := range []struct {
		name  string
		write func(io.Writer) error
		width int64
		dark  bool
		rules string
	}{{"one", one, 320, false, layout}, {"one", one, 768, true, both}, {"one", one, 1280, false, both},
		{"fleet", all["fleet"].Write, 1280, false, both}, {"hostile", all["hostile"].Write, 320, true, layout}, {"card", sheet, 320, true, both}, {"card", sheet, 1280, false, both}} {
		t.Run(fmt.Sprint(c.name, " ", c.width, " dark=", c.dark), func(t *testing.T) {
			b := show(t, c.write, c.width, c.dark)
			ask[int](t, b, string(rules)+`; document.querySelectorAll('details').forEach(d => d.open = true); 0`)
			found := ask[[]string](t, b, `axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag2aaa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], resultTypes: ['violations'], rules: `+c.rules+`, checks: `+whole+`}).then(r =>
				r.violations.map(v => v.id + ': ' + v.help + ': ' + v.nodes.slice(0, 3).map(n => n.html).join(' | ')))`)
			assert.Empty(t, found)
		})
	}
}
