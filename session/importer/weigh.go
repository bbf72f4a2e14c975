package importer

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// Limits for weighing a match by its lines; all are common practice, no source. A match with most
// lines far off is never sure.
const (
	sampleRuns, sampleRows = 3, 16 // the sample: runs of rows, spread over the table
	fewestJudged           = 3
	fitsShare              = 0.2
	offShare               = 0.5
)

// A tally counts how many readings of a heading were judged, and how many are far from what they
// can be. telling reports that the judgement is meaningful: merely fitting a log's ranges says
// little, except of a water temperature.
type tally struct {
	of, far int
	telling bool
}

func (t tally) fits() bool {
	return t.of >= fewestJudged && float64(t.far) <= fitsShare*float64(t.of)
}

func (t tally) off() bool {
	return t.of >= fewestJudged && float64(t.far) > offShare*float64(t.of)
}

// weigh compares each match with its lines. A match that most lines contradict is replaced by the
// one that they fit, or asked about.
func (m *Mapping) weigh(s *spreadsheet.Sheet, k Known) {
	sample := s.Sample(sampleRuns, sampleRows)
	for i := range m.Columns { // seconds may be the time of a run that has a length but no time
		c, u := &m.Columns[i], spreadsheet.ReadHeading(m.Columns[i].Heading).Unit
		if s.Has(c.Heading) && !c.given && strings.HasPrefix(c.To, "minute"+inUnit) && m.to("run_s") == nil && (m.to("run_m") != nil || m.to("run_ft") != nil) {
			*c = c.open("time of a run, or since the dive began:", targetIn("run_s", u), targetIn("minute", u))
		}
	}
	tallies := m.tallies(sample, k)
	for _, open := range []bool{true, false} { // open ones first: they may be what the others lack
		for i := range m.Columns {
			c := &m.Columns[i]
			if s.Has(c.Heading) && !c.given && (c.Sure == Asked) == open && !m.waits(c) && m.weighOne(c, tallies[c.Heading], sample, k) {
				tallies = m.tallies(sample, k)
			}
		}
	}
}

// waits reports whether a match cannot be weighed yet: that of a run's length or way back while the
// run's time is asked about.
func (m *Mapping) waits(c *Match) bool {
	timed := func(to string) bool { return strings.HasPrefix(to, "run_s") }
	return c.Sure != Asked && (gives(c.targets(), "run_m") || gives(c.targets(), "run_ft") || gives(c.targets(), "run_back_s")) &&
		slices.ContainsFunc(m.Columns, func(o Match) bool { return o.Sure == Asked && slices.ContainsFunc(o.choices, timed) })
}

// weighOne weighs one match and reports whether it changed it.
func (m *Mapping) weighOne(c *Match, now tally, sample *spreadsheet.Sheet, k Known) bool {
	stated, choices := c.Sure != Asked, c.choices
	if stated && now.off() && c.targets()[0].measured() {
		choices = append([]string{c.To}, slices.DeleteFunc(c.others(), func(to string) bool { return to == c.To })...)
	} else if stated || len(choices) == 0 {
		return false
	}
	fit, off, telling := m.try(c, choices, sample, k)
	t, _ := readTarget(choices[0])
	alike := func(to string) bool { o, _ := readTarget(to); return o.quantity == t.quantity }
	if !stated && off == len(choices) && t.measured() && spreadsheet.Every(choices, alike) { // none of these units fits: try the others
		choices = inUnits(t.quantity)
		fit, off, telling = m.try(c, choices, sample, k)
	}
	found, leaves := fit, func(to string) bool { // notes one number of the cell
		return strings.HasPrefix(to, "note"+partTargets) || strings.HasSuffix(to, partTargets+"note")
	}
	if whole := slices.DeleteFunc(slices.Clone(fit), leaves); len(whole) == 1 {
		found = whole
	}
	question, _, _ := strings.Cut(c.Why, " "+choices[0])
	rest := slices.DeleteFunc(slices.Clone(choices), func(to string) bool { return slices.Contains(fit, to) })
	switch {
	case len(found) == 1 && telling && off+len(fit) == len(choices) && (!stated || spreadsheet.ReadHeading(c.Heading).Unit == nil):
		*c = c.is(found[0], Likely, fmt.Sprintf("as %s the readings are of a size that this vehicle has", found[0]))
	case stated:
		*c = c.open(fmt.Sprintf("as %s most readings are far from what this vehicle has; or is it", c.To), append(fit, "note", c.To)...)
	default:
		*c = c.open(question, append(fit, rest...)...)
	}
	return true
}

// try returns the choices of a match that fit its lines, how many others are far off or taken by
// another heading, and whether a fitting one is telling.
func (m *Mapping) try(c *Match, choices []string, sample *spreadsheet.Sheet, k Known) (fit []string, off int, telling bool) {
	before := *c
	defer func() { *c = before }()
	for _, to := range choices {
		c.To = to
		several := strings.Contains(to, partTargets) // one of several numbers may be far off alone
		switch t := m.tallies(sample, k)[c.Heading]; {
		case m.isTaken(to, c) || t.off() || several && t.of >= fewestJudged && !t.fits():
			off++
		case t.fits():
			fit, telling = append(fit, to), telling || t.telling
		}
	}
	return fit, off, telling
}

// others returns the other targets that a match may have: other quantities of its unit, other units
// of its quantity.
func (m *Match) others() (out []string) {
	t, h := m.targets()[0], spreadsheet.ReadHeading(m.Heading)
	for _, name := range measuring(wording.DimensionOf(t.column), t.quantity) {
		out = append(out, targetIn(name, h.Unit))
	}
	return append(out, inUnits(t.quantity)...)
}

// tallies returns the tallies of the sample's lines, by heading.
func (m *Mapping) tallies(sample *spreadsheet.Sheet, k Known) map[string]tally {
	trial := *m
	if trial.Date == Asked {
		trial.Date = wording.DayFirst
	}
	c := newConverter(sample, &trial, k, session.Row{"date": "2000-01-01"})
	c.group(c.rows())
	c.check()
	out := map[string]tally{}
	for _, l := range slices.Concat(c.dives...) {
		for column, far := range k.Judge(l.Cells) {
			heading := c.heading(column, "")
			t := out[heading]
			if t.of++; far {
				t.far++
			}
			out[heading] = t
		}
	}
	for _, u := range c.columns {
		t, bad := out[u.Heading], len(u.bad)
		t.telling = t.of >= fewestJudged || gives(u.targets, "water_c") || gives(u.targets, "water_f")
		if t.of < fewestJudged {
			t.of = len(sample.Column(u.Heading, m.Empty)) - bad
		}
		t.of, t.far = t.of+bad, t.far+bad
		out[u.Heading] = t
	}
	if run, time := m.to("run_m"), m.to("minute"); run != nil && m.to("run_s") == nil && time != nil { // the minutes may be the time of the run
		t := out[time.Heading]
		t.far += out[run.Heading].far
		out[time.Heading] = t
	}
	return out
}
