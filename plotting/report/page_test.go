package report

import (
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/plotting"
	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/units"
)

// The page of sixty dives is small enough for a mail, is the same on every
// run, and fetches nothing.
func TestPageIsSmallAndRepeats(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	page := written(t, ofSeason(t, 60))
	assert.Less(t, len(page), 405_000)
	assert.Equal(t, string(written(t, ofSeason(t, 14))), string(written(t, single(t, season(14)))))
	for _, outside := range []string{"http:", "https:", "url(", "@import", "NaN", "Inf"} {
		assert.NotContains(t, strings.ReplaceAll(string(page), "http-equiv", ""), outside)
	}
}

func TestLongLogStaysSmall(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	const dives = 154 // more than are drawn
	p := single(t, func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		s := faulty(dives)
		s.Sparse = true // which are read in half the time
		return otter(t), simulate.Log(otter(t), s)
	})
	assert.Less(t, len(written(t, p)), 500_000)
	assert.Contains(t, p.Vehicles[0].Cut, "lie far")
	assert.Len(t, p.Vehicles[0].Dives, dives)
	for _, pic := range p.Vehicles[0].Trends { // every dive of those up to 150
		assert.LessOrEqual(t, len(pic.Hits), 151, "places that one can point at")
	}
}

var year = regexp.MustCompile(`\b20\d\d\b`)

func TestLeaveOut(t *testing.T) {
	r, rep := analysed(t, season(12))
	r.Dives[2].Log.Lines[1].Note = "a secret pond"
	diary := func(t *testing.T, o Options) string {
		log := logOf(r)
		log.Opening = "simulated: by our secret pond"
		v := Read(r, rep, log, o)
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

// Days that are not known are not shown: of a log without any the page is as if
// they were left out, and one dive's is left out alone, where pictures then go by
// the number of the dive.
func TestDaysThatAreNotKnown(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	r, rep := analysed(t, season(20))
	page := func(t *testing.T, o Options, unknown int) string { // those that are not known stay so
		for i := range unknown {
			rep.Dives[i].Date, r.Dives[i].Log.Date = "", time.Time{}
		}
		v := Read(r, rep, logOf(r), o)
		return string(written(t, &Page{Vehicles: []*Vehicle{v}}))
	}
	left, some := page(t, Options{LeaveDates: true}, 0), page(t, Options{}, 1)
	assert.Equal(t, left, page(t, Options{}, 20))
	assert.Contains(t, some, `<p>20 dives</p>`)
	assert.Contains(t, some, `<td class="day say"></td>`)
	assert.Contains(t, some, ">dive</text>", "of an axis")
	assert.Regexp(t, `a change since \d+ \w+ \d{4} \(dive 8\)`, some)
	assert.NotContains(t, some, "January 0001")
}

// Whatever a log holds, the page is well formed, has no control characters and
// none that turns the direction of what follows.
func TestHostileTextStaysText(t *testing.T) {
	page := string(written(t, ofHostile(t)))
	for _, c := range page {
		bad := unicode.IsControl(c) && c != '\n' || unicode.Is(unicode.Bidi_Control, c)
		require.False(t, bad, "%U", c)
	}
	assert.Equal(t, 1, strings.Count(page, "<script"), "the page's own alone")
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
	p := ofSeason(t, 24)
	v := p.Vehicles[0]
	for _, pic := range append(v.Trends, v.Grid, v.Drawn, v.Budget) {
		assert.Greater(t, len(pic.Alt), 60, pic.Title)
	}
	page := string(written(t, p))
	wellFormed(t, page)
	assert.Equal(t, 2, strings.Count(page, p.Cautions))
	assert.Contains(t, v.Trends[0].Alt, "joint serviced")
}

// What a picture's classes ask for is in the page's style sheet.
func TestClassesHaveStyles(t *testing.T) {
	v := ofSeason(t, 24).Vehicles[0]
	sheet := string(style())
	for _, pic := range append(append(v.Trends, v.Sound...), v.Grid, v.Drawn, v.Budget, v.Repair) {
		for _, s := range pic.Shapes {
			for _, class := range strings.Fields(s.Class) {
				if class != "ink" && class != "f4" { // as without a class
					assert.Regexp(t, `\.`+class+`\b`, sheet)
				}
			}
		}
	}
}

func TestFleetHasAnOverview(t *testing.T) {
	a, b, c := ofSeason(t, 17), ofSeason(t, 4), ofSeason(t, 4)
	a.Vehicles[0].Folder, b.Vehicles[0].Folder = "pond", "lake"
	p := &Page{Vehicles: []*Vehicle{b.Vehicles[0], a.Vehicles[0], c.Vehicles[0]}} // the worst comes first
	page := string(written(t, p))
	wellFormed(t, page)
	assert.Less(t, len(page), 3*3_000_000/54, "so that 54 logbooks stay below 3 MB")
	for i, name := range []string{"Puddle Otter (pond)", "Puddle Otter (lake)", "Puddle Otter"} {
		assert.Contains(t, page, fmt.Sprintf(`<a href="#v%d"><bdi>%s</bdi></a>`, i+1, name))
		assert.Contains(t, page, fmt.Sprintf(`<article id="v%d">`, i+1))
	}
	assert.Contains(t, page, "<td class=\"text\">not yet judged</td>")
	assert.Contains(t, p.Summary(), "on 1 of them")
}

// The gravest of what was found comes first: a vehicle's own before an
// instrument's, and the farther past its limit the earlier.
func TestGravestComesFirst(t *testing.T) {
	worst := func(p *Page) float64 { return p.Vehicles[0].worst() }
	leak, loop, sound := worst(single(t, drifting(17, predict.TrimG, -20, 0))), worst(single(t, drifting(17, predict.LoopOhm, 0.01, 0))), worst(ofSeason(t, 7))
	assert.Greater(t, leak, loop)
	assert.Greater(t, loop, 2.0)
	assert.Less(t, sound, 1.0)
	_, rep := seasonRead(t, 7)
	clamp := findings.Finding{Cause: &causes.Cause{Kind: causes.Instrument}}
	assert.Less(t, severity(rep, &clamp, -1), loop)
	assert.Greater(t, severity(rep, &clamp, -1), sound)
}

// answers are a finding's, by name.
func answers(f Finding) map[string]string {
	out := map[string]string{"What": f.What}
	for _, a := range f.Answers {
		out[a.Name] = a.Words
	}
	return out
}

func TestFindingAnswers(t *testing.T) {
	r, rep := seasonRead(t, 17)
	require.NotEmpty(t, rep.Findings)
	got := answers(finding(r, rep, &rep.Findings[0], true))
	for name, want := range map[string]string{
		"What":     `^The power loop has gained resistance \(0\.(19|2)\d*\x{a0}Ω\)\.$`,
		"Since":    `^\d+ \w+ 2025 \(dive \d+\)`,
		"How sure": `^97 %; or else anything else 3 %$`,
		"How long": `^about [456] dives until its limit of 0\.3\x{a0}Ω; odds that it is passed after 1, 2, 3 dives: \d+, \d+, \d+\x{a0}%$`,
		"Speed":    `^0\.\d\d m/s ahead at the surface on a full battery, 0\.\d\d when sound; half of it gone in about \d+ dives$`,
		"Check":    "measure the loop",
	} {
		assert.Regexp(t, want, got[name], name)
	}
}

func TestHeadlines(t *testing.T) {
	r, rep := seasonRead(t, 4)
	assert.Equal(t, []string{"Not yet judged: 4 of the 5 dives that later ones are judged by."}, headlines(r, rep))
	r, rep = seasonRead(t, 7)
	assert.Equal(t, []string{"Nothing is drifting: after 7 dives every quantity is sound."}, headlines(r, rep))
	_, rep = seasonRead(t, 22)
	assert.Contains(t, strings.Join(history(rep, false), "\n"), "Excess loop resistance: alarm for a change since dive 8, cleared by the service at dive 20.")
}

// How an alarm ended is said of each way.
func TestHistory(t *testing.T) {
	cleared := "37"
	of := func(change func(*findings.Alarm)) string {
		a := findings.Alarm{OnsetDive: "30", ClearedDive: &cleared, Cause: &causes.Cause{Words: "jam of main"}}
		change(&a)
		return history(&findings.Report{Alarms: []findings.Alarm{a}}, false)[0]
	}
	assert.Equal(t, "Jam of main: alarm for a change since dive 30, cleared by the service at dive 37.", of(func(*findings.Alarm) {}))
	assert.Equal(t, "Jam of main: alarm for a change since dive 30, taken back at dive 37: since then another explanation fits the readings better.",
		of(func(a *findings.Alarm) { a.Withdrawn = true }))
	assert.Equal(t, "Jam of main: alarm for a change since dive 30, over since dive 37, and no service of it is written down.",
		of(func(a *findings.Alarm) { a.Withdrawn, a.Gone = true, true }))
	_, rep := seasonRead(t, 22)
	for range 4 {
		rep.Alarms = append(rep.Alarms, rep.Alarms[0])
	}
	assert.Contains(t, history(rep, false), "2 alarms before these ended too.")
}

// What a person is to do is said to its end.
func TestSentencesAreNotCut(t *testing.T) {
	r, rep := seasonRead(t, 17)
	long := strings.Repeat("read the battery's voltage again, ", 20) + "end"
	f := rep.Findings[0]
	f.Test, f.CheckNext, f.Evidence = &findings.Test{Words: long}, long, []string{long}
	got := finding(r, rep, &f, true)
	assert.Equal(t, long, answers(got)["To separate them"])
	assert.Equal(t, long, answers(got)["Check"])
	assert.Equal(t, []string{long}, got.Because)
}

// The quantity of a finding is drawn beside it, with what is ahead; the others
// are gauges, and each is drawn over the dives. A log that is not judged has
// no such pictures.
func TestPicturesFollowWhatWasFound(t *testing.T) {
	v := ofSeason(t, 17).Vehicles[0]
	require.NotNil(t, v.Findings[0].Picture)
	classes := func(p *plotting.Picture) (out []string) {
		for _, s := range p.Shapes {
			out = append(out, s.Class)
		}
		return out
	}
	assert.Contains(t, classes(v.Findings[0].Picture), "measured dotted")
	for i := range v.Trends {
		assert.NotEqual(t, v.Findings[0].Picture.Title, v.Trends[i].Title)
		assert.NotContains(t, classes(v.Trends[i]), "measured dotted")
	}
	assert.Len(t, v.Sound, len(v.Trends)-len(v.Open))
	v = ofSeason(t, 3).Vehicles[0]
	assert.Empty(t, v.Trends)
	assert.Empty(t, v.Sound)
	assert.Nil(t, v.Drawn)
	assert.Contains(t, v.Lines[0], "Not yet judged")
}

// What was done before a service stays in the picture.
func TestErasStay(t *testing.T) {
	v := ofSeason(t, 22).Vehicles[0]
	loop := v.Trends[0]
	assert.Equal(t, "excess loop resistance", loop.Title)
	assert.Regexp(t, `^sound since dive 20; before: \+0\.0\d+ Ω a dive$`, loop.Says)
	bands := 0
	for _, s := range loop.Shapes {
		if s.Class == "band full" {
			bands++
		}
	}
	assert.Equal(t, 2, bands)
}

// The page speaks in the reader's units.
func TestImperialPage(t *testing.T) {
	r, rep := seasonRead(t, 17)
	rep.Units = units.Imperial
	v := Read(r, rep, logOf(r), Options{})
	assert.Regexp(t, `^\d\.\d+ ft/s ahead at the surface on a full battery, \d\.\d+ when sound`, answers(v.Findings[0])["Speed"])
	assert.Contains(t, v.Titles, "water taken in, oz")
	page := string(written(t, &Page{Vehicles: []*Vehicle{v}}))
	assert.Contains(t, page, " oz<")
	assert.Contains(t, page, "59\u00a0°F")
	assert.NotContains(t, page, "m/s")
}

func TestUntilLimit(t *testing.T) {
	limit, sd := 0.8, 0.02
	at := func(level float64, left *findings.Estimate) string {
		return untilLimit(&findings.Trend{Quantity: "thrust_factor", Baseline: 1, Level: findings.Estimate{Value: level, Low: level - sd, High: level + sd}, Limit: &limit, DivesToLimit: left,
			Ahead: []findings.Ahead{{Past: 0.1}, {Past: 0.2}, {Past: 0.3}, {Past: 0.4}, {Past: 0.5}},
			Cause: &causes.Cause{Scale: causes.Scale{Factor: true}}}, "")
	}
	assert.Equal(t, "it does not grow from dive to dive; 47\u00a0% of the way to its limit of −20\u00a0%", at(0.9, nil))
	assert.Equal(t, "past its limit of −20\u00a0%", at(0.7, nil))
	assert.Equal(t, "past its limit of −20\u00a0%", at(0.7, &findings.Estimate{}))
	sd = 0.2
	assert.Equal(t, "likely past its limit of −20\u00a0%, as far as these readings tell", at(0.7, nil))
	const chances = "; odds that it is passed after 1, 2, 3 dives: 20, 30, 40\u00a0%"
	const perhaps = ", which may be passed already"
	assert.Equal(t, "less than a dive until its limit of −20\u00a0%"+perhaps+chances, at(0.9, &findings.Estimate{Value: 0.4, High: 2}))
	assert.Equal(t, "about 1 dive until its limit of −20\u00a0%"+perhaps+chances, at(0.9, &findings.Estimate{Value: 1.4, High: 2}))
	assert.Equal(t, "about 3 dives until its limit of −20\u00a0%"+chances, at(0.9, &findings.Estimate{Value: 2.6, Low: 1, High: 5}))

	limit = 0.3
	for most, want := range map[float64]string{0.25: "it comes and goes, within its limit of 0.3\u00a0Ω", 0.9: "it comes and goes, at its worst past its limit of 0.3\u00a0Ω"} {
		assert.Equal(t, want, untilLimit(&findings.Trend{Limit: &limit, ComesBy: &findings.Estimate{Value: 0.2, Low: 0.1, High: most}, Cause: &causes.Cause{Worse: 1}}, "Ω"))
	}
}

// A log that is not judged yet is no sound one, and margins that are not met are on
// the page, on its overview too.
func TestNotJudgedAndNotMet(t *testing.T) {
	early := func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v, log := season(2)(t)
		v.Battery.FuseA = 40
		log.Dives[0].Battery, log.Dives[1].Battery = "A", "B"
		v.Tubes = []vehicle.Tube{{Name: "eye", OuterMM: 110, WallMM: 1, Material: "pvc"}}
		return v, log
	}
	p := single(t, early)
	page := string(written(t, p))
	assert.Contains(t, page, `<div class="calm open">`)
	assert.Contains(t, page, "<li>fuse: NOT MET; a dead short at the vehicle end")
	assert.Contains(t, page, "and does not (margins are the worst of the batteries in use, B and A):")
	assert.Contains(t, page, "<li>tube eye: NOT MET; ")
	assert.NotContains(t, page, "jammed")
	assert.Contains(t, page, "readings lie far from the fit of these dives")
	assert.NotContains(t, page, "sound vehicle")
	fleet := &Page{Vehicles: []*Vehicle{p.Vehicles[0], ofSeason(t, 7).Vehicles[0]}}
	page = string(written(t, fleet))
	assert.Contains(t, page, "Nothing is found on any of them. Not yet judged: 1.")
	assert.Contains(t, page, "not yet judged; 2 margins not met</td>")
	assert.Contains(t, page, "● nothing found</td>")
	assert.NotContains(t, page, "not as built")
	assert.Contains(t, page, `<div class="calm">`)
	fleet = &Page{Vehicles: []*Vehicle{single(t, early).Vehicles[0], ofSeason(t, 7).Vehicles[0]}} // the other is written
	for _, x := range fleet.Vehicles {
		x.Margins, x.Nearest = []string{"fuse: NOT MET"}, &plotting.Gauge{Title: "drag", State: findings.CannotTell, Share: 0.6}
	}
	fleet.Vehicles[1].Other = []*plotting.Picture{{}}
	page = string(written(t, fleet))
	assert.Contains(t, page, "not yet judged; 1 margin not met</td>")
	assert.Contains(t, page, "60 % drag, cannot tell</td>")
	assert.Contains(t, page, "● nothing found, but not as built; 1 margin not met</td>")
}

// A jammed thruster has no dives left, and the budget says that it leaves that out.
func TestJammed(t *testing.T) {
	jam := func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v := otter(t)
		return v, simulate.Log(v, simulate.Season{Dives: 9, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 9, Jam: func(d int) int { return map[bool]int{true: 1}[d >= 8] }})
	}
	p := single(t, jam)
	require.NotEmpty(t, p.Vehicles[0].Findings)
	assert.Equal(t, "not another second under power", answers(p.Vehicles[0].Findings[0])["How long"])
	assert.Contains(t, string(written(t, p)), "As it is now but for the jam, on a full battery")
}

// What has been past its limit from the start stands under its own words, and is not sound; what the
// headlines say of the start no note says again.
func TestPastItsLimitFromTheStart(t *testing.T) {
	p := single(t, func(t *testing.T) (*vehicle.Vehicle, *session.Log) {
		v, log := season(12)(t)
		v.Limits.BatteryResistanceOhm = 0.01
		return v, log
	})
	v := p.Vehicles[0]
	require.Len(t, v.Past, 1)
	assert.Equal(t, "battery resistance", v.Past[0].Title)
	assert.False(t, v.Known())
	page := string(written(t, p))
	assert.Contains(t, page, "Past their limits from the start, or since they were worked on:")
	for _, note := range v.Remarks {
		assert.NotContains(t, page, "From the start: "+note)
		assert.Regexp(t, `[.?]$`, note)
	}
	assert.NotContains(t, page, "Near their limits:")
	v.NearLimit = v.Past
	assert.Contains(t, string(written(t, p)), "Near their limits:")
}

// Each quantity in which nothing was found stands under what is known of it, and only a sound one lets the vehicle be.
func TestGaugesByState(t *testing.T) {
	for state, of := range map[string]func(*Vehicle) []*plotting.Picture{
		findings.PastLimit:  func(v *Vehicle) []*plotting.Picture { return v.Past },
		findings.NearLimit:  func(v *Vehicle) []*plotting.Picture { return v.NearLimit },
		findings.CannotTell: func(v *Vehicle) []*plotting.Picture { return v.Open },
		findings.NotAsBuilt: func(v *Vehicle) []*plotting.Picture { return v.Other },
		findings.CannotBe:   func(v *Vehicle) []*plotting.Picture { return v.Open },
		findings.Sound:      func(v *Vehicle) []*plotting.Picture { return v.Sound },
	} {
		v := &Vehicle{Judged: true}
		v.gauges([]plotting.Gauge{{Title: "drag", State: state}})
		assert.Len(t, of(v), 1, state)
		assert.Equal(t, state == findings.Sound, v.Known(), state)
	}
}
