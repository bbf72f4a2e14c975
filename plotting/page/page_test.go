package page

import (
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/session/units"
)

// The page of sixty dives is small enough for a mail, is the same on every
// run, and fetches nothing.
func TestPageIsSmallAndRepeats(t *testing.T) {
	page := written(t, single(t, season(60)))
	assert.Less(t, len(page), 1_000_000)
	assert.Equal(t, string(page), string(written(t, single(t, season(60)))))
	for _, outside := range []string{"http:", "https:", "//", "<script", "url(", "@import", "NaN", "Inf"} {
		assert.NotContains(t, strings.ReplaceAll(string(page), "http-equiv", ""), outside)
	}
}

func TestLongLogStaysSmall(t *testing.T) {
	if testing.Short() {
		t.Skip("fits three hundred dives")
	}
	p := single(t, season(300))
	assert.Less(t, len(written(t, p)), 1_500_000)
	assert.Contains(t, p.Vehicles[0].Cut, "lie far")
	assert.Len(t, p.Vehicles[0].Dives, 300)
	for _, pic := range p.Vehicles[0].Trends {
		assert.Less(t, len(pic.Hits), 60, "places that one can point at")
	}
}

var year = regexp.MustCompile(`\b20\d\d\b`)

func TestLeaveOut(t *testing.T) {
	diary := func(t *testing.T, o Options) string {
		o.Opening = "simulated: by our secret pond"
		r, rep := analysed(t, season(24))
		r.Dives[2].Log.Lines[1].Note = "a secret pond"
		v, err := Read(r, rep, o)
		require.NoError(t, err)
		return string(written(t, &Page{Vehicles: []*Vehicle{v}}))
	}
	whole := diary(t, Options{})
	assert.Regexp(t, year, whole)
	assert.Contains(t, whole, "a secret pond")
	assert.Contains(t, whole, "our secret pond")
	less := diary(t, Options{LeaveNotes: true, LeaveDates: true})
	assert.NotRegexp(t, year, less)
	assert.NotRegexp(t, `\b(January|February|March|April|June|July|August|September|October|November|December)\b`, less)
	assert.NotContains(t, less, "secret")
	assert.Contains(t, less, "simulated", "is said all the same")
	assert.Contains(t, less, "since dive 8")
}

// Whatever a log holds, the page is well formed, has no control characters and
// none that turns the direction of what follows.
func TestHostileTextStaysText(t *testing.T) {
	page := string(written(t, single(t, hostile(12))))
	for _, c := range page {
		bad := unicode.IsControl(c) && c != '\n' || unicode.Is(unicode.Bidi_Control, c)
		require.False(t, bad, "%U", c)
	}
	assert.NotContains(t, page, "<script")
	assert.NotContains(t, page, "<img")
	assert.Contains(t, html.UnescapeString(page), nasty)
	assert.Less(t, len(page), 500_000)
	wellFormed(t, page)
}

// wellFormed reads the page's body as XML, which all but its head is.
func wellFormed(t *testing.T, page string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page[strings.Index(page, "<body>"):strings.Index(page, "</html>")]))
	d.Entity = xml.HTMLEntity
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

// Every picture says in words what it shows, and the page carries the cautions
// on screen and on paper.
func TestPicturesHaveWords(t *testing.T) {
	p := single(t, season(24))
	v := p.Vehicles[0]
	for _, pic := range append(append(v.Trends, v.Against...), v.Budget) {
		assert.NotEmpty(t, pic.Title)
		assert.Greater(t, len(pic.Alt), 60, pic.Title)
		assert.NotEmpty(t, pic.Hits, pic.Title)
	}
	page := string(written(t, p))
	wellFormed(t, page)
	assert.Equal(t, 2, strings.Count(page, p.Cautions))
	assert.Contains(t, v.Trends[0].Alt, "joint serviced")
}

func TestFleetHasAnOverview(t *testing.T) {
	a, b, c := single(t, season(17)), single(t, season(4)), single(t, season(4))
	a.Vehicles[0].Folder, b.Vehicles[0].Folder = "pond", "lake"
	p := &Page{Vehicles: []*Vehicle{a.Vehicles[0], b.Vehicles[0], c.Vehicles[0]}}
	page := string(written(t, p))
	wellFormed(t, page)
	for i, name := range []string{"Puddle Otter (pond)", "Puddle Otter (lake)", "Puddle Otter"} {
		assert.Contains(t, page, fmt.Sprintf(`<a href="#v%d"><bdi>%s</bdi></a>`, i+1, name))
		assert.Contains(t, page, fmt.Sprintf(`<article id="v%d">`, i+1))
	}
	assert.Contains(t, page, "nothing open")
	assert.Contains(t, p.Summary(), "on 1 of them")
}

func TestHeadlines(t *testing.T) {
	r, rep := analysed(t, season(17))
	lines := headlines(r, rep, true)
	require.NotEmpty(t, lines)
	assert.Regexp(t, `^The power loop has gained resistance \(0\.(19|20|21)\d*\x{a0}Ω\) since \d+ \w+ 2025 \(dive \d+\); about [456] dives until its limit of 0\.3\x{a0}Ω\.$`, lines[0])
	assert.Regexp(t, `^Ahead on a full battery it makes 0\.\d\d m/s now, 0\.\d\d when sound; at this rate half the speed is gone in about \d+ dives\.$`, lines[1])
	r, rep = analysed(t, season(4))
	assert.Equal(t, []string{"Not yet judged: 4 of the 5 dives that later ones are judged by."}, headlines(r, rep, true))
	r, rep = analysed(t, season(7))
	assert.Equal(t, []string{"Nothing is drifting: after 7 dives every quantity is sound."}, headlines(r, rep, true))
	_, rep = analysed(t, season(22))
	assert.Contains(t, strings.Join(history(rep, false), "\n"), "Excess loop resistance drifted since dive 8 until the service at dive 20 cleared its alarm.")
}

// The page speaks in the reader's units.
func TestImperialPage(t *testing.T) {
	r, rep := analysed(t, season(17))
	rep.Units = units.Imperial
	v, err := Read(r, rep, Options{})
	require.NoError(t, err)
	assert.Regexp(t, `it makes \d\.\d+ ft/s now, \d\.\d+ when sound`, v.Lines[1])
	assert.Contains(t, v.Titles, "water taken in, oz")
	page := string(written(t, &Page{Vehicles: []*Vehicle{v}}))
	assert.Contains(t, page, ">oz<")
	assert.Contains(t, page, "59\u00a0°F")
	assert.NotContains(t, page, "m/s")
}

func TestUntilLimit(t *testing.T) {
	limit := 0.8
	at := func(left *drift.Estimate) *drift.Trend {
		return &drift.Trend{Quantity: "thrust_factor", Baseline: 1, Level: drift.Estimate{Value: 1}, Limit: &limit, DivesToLimit: left,
			Cause: &causes.Cause{Scale: causes.Scale{Factor: true, Sound: 1}}}
	}
	assert.Empty(t, untilLimit(at(nil), ""))
	assert.Equal(t, "; it is past the limit of -20\u00a0%", untilLimit(at(&drift.Estimate{}), ""))
	assert.Equal(t, "; less than a dive until the limit of -20\u00a0%", untilLimit(at(&drift.Estimate{Value: 0.4, High: 2}), ""))
	assert.Equal(t, "; about 1 dive until the limit of -20\u00a0%", untilLimit(at(&drift.Estimate{Value: 1.4, High: 2}), ""))
}

func TestWhatAHitSaysFits(t *testing.T) {
	for _, words := range []string{"", "dive 3: 5 g", strings.Repeat("many words ", 30), strings.Repeat("W", 20) + " " + strings.Repeat("i", 40)} {
		lines := Hit{Words: words}.Lines()
		assert.LessOrEqual(t, len(lines), 2)
		for _, l := range lines {
			assert.LessOrEqual(t, labelWide(l.Words), wide+30)
		}
	}
}
