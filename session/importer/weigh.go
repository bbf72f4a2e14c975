package importer

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session"
)

// How a match is weighed by what its lines say; all are common practice, no
// source. Most of them far off is never sure.
const (
	sampleRuns, sampleRows = 3, 16 // rows that are looked at, in runs
	fewestJudged           = 3
	mostChoices            = 4 // of which those that do not fit are named too
	fitsShare              = 0.2
	offShare               = 0.5
)

// A tally is how many readings of a heading were judged, and how many are far
// from what they can be. telling says that they could have been: that a number
// is one that any log takes says little, but of water's temperature.
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

// weigh compares each match with what the lines then say: one that most lines
// contradict gives way to the one that they fit, or is asked about.
func (m *Mapping) weigh(s *Source, k Known) {
	sample := s.sample()
	for i := range m.Columns { // seconds beside a run's length that no other heading gives the time of
		c, u := &m.Columns[i], readHeading(m.Columns[i].Heading).unit
		if s.Has(c.Heading) && !c.given && c.To == "minute" && u != nil && u.dimension == seconds && m.to("run_s") == nil && (m.to("run_m") != nil || m.to("run_ft") != nil) {
			*c = c.open("time of a run, or since the dive began:", targetIn(measured("run_s"), u), targetIn(measured("minute"), u))
		}
	}
	tallies := m.tallies(sample, k)
	for _, open := range []bool{true, false} { // what is open may be what the others lack
		for i := range m.Columns {
			if c := &m.Columns[i]; s.Has(c.Heading) && !c.given && (c.Sure == Asked) == open && m.weighOne(c, tallies[c.Heading], sample, k) {
				tallies = m.tallies(sample, k)
			}
		}
	}
}

func measured(name string) *session.Column { c, _ := session.Find(name); return c }

// weighOne weighs one match, and says whether it changed it.
func (m *Mapping) weighOne(c *Match, now tally, sample *Source, k Known) bool {
	stated, choices := c.Sure != Asked, c.choices
	if t := c.targets()[0]; stated && (!now.off() || t.column == nil || t.column.Unit == "") || !stated && len(choices) == 0 {
		return false
	}
	if stated {
		own := c.asChosen()
		choices = append([]string{own}, slices.DeleteFunc(c.others(), func(to string) bool { return to == own })...)
	}
	if whole := slices.DeleteFunc(slices.Clone(choices), hasNote); !stated && len(whole) > 1 && strings.Contains(whole[0], partTargets) {
		if fit, off, telling := m.tryAll(c, whole, sample, k); len(fit) == 1 && telling && off == len(whole)-1 { // the others leave a number in the note
			choices = whole
		}
	}
	fit, off, telling := m.tryAll(c, choices, sample, k)
	if t, ok := readTarget(choices[0]); ok && !stated && off == len(choices) && t.column != nil && t.column.Unit != "" && every(choices, t.isOf) { // in none of these units
		choices = inUnits(t.column)
		fit, off, telling = m.tryAll(c, choices, sample, k)
	}
	u := readHeading(c.Heading).unit
	switch why := fmt.Sprintf("as %s most readings are far from what this vehicle has; or is it", c.asChosen()); {
	case len(fit) == 1 && telling && off == len(choices)-1 && (!stated || u == nil):
		c.choose(fit[0])
		c.Sure, c.Why = Likely, fmt.Sprintf("as %s the readings are of a size that this vehicle has", fit[0])
	case stated:
		*c = c.open(why, append(fit, "note", c.asChosen())...)
	default:
		rest := slices.DeleteFunc(slices.Clone(choices), func(to string) bool { return slices.Contains(fit, to) })
		if len(fit) > 0 && len(choices) > mostChoices {
			rest = nil
		}
		question, _, _ := strings.Cut(c.Why, " "+choices[0])
		*c = c.open(question, append(fit, rest...)...)
	}
	return true
}

func hasNote(to string) bool { return strings.Contains(to, "note") }

// tryAll are the choices of a match that its lines fit, how many others are far
// off or another heading's, and whether the last that fits is telling.
func (m *Mapping) tryAll(c *Match, choices []string, sample *Source, k Known) (fit []string, off int, telling bool) {
	before := *c
	defer func() { *c = before }()
	for _, to := range choices {
		c.choose("note")
		taken := m.isTaken(to)
		c.choose(to)
		switch t := m.tallies(sample, k)[c.Heading]; {
		case taken || t.off() || strings.Contains(to, partTargets) && t.of >= fewestJudged && !t.fits(): // of which one number may be far off
			off++
		case t.fits():
			fit, telling = append(fit, to), t.telling
		}
	}
	return fit, off, telling
}

// others is what a match may be beside what its words say: other quantities of
// the unit, other units of the quantity.
func (m *Match) others() (out []string) {
	t := m.targets()[0]
	if strings.Contains(m.To, partTargets) {
		return nil
	}
	h := readHeading(m.Heading)
	for _, c := range measuring(dimensionOf(t.column)) {
		if c.Quantity != t.column.Quantity {
			out = append(out, targetIn(c, h.unit))
		}
	}
	return append(out, inUnits(t.column)...)
}

// tallies judge the sample's lines by the headings that their readings come
// from.
func (m *Mapping) tallies(sample *Source, k Known) map[string]tally {
	trial := *m
	if trial.Date == Asked {
		trial.Date = DayFirst
	}
	c := newConverter(sample, &trial, k, session.Row{"date": "2000-01-01"})
	c.rows()
	c.group()
	c.check()
	out := map[string]tally{}
	for i := 0; k.Judge != nil && i < len(c.out.Lines); i++ {
		for column, far := range k.Judge(c.out.Lines[i].Cells) {
			t := out[c.heading(column, "")]
			if t.of++; far {
				t.far++
			}
			out[c.heading(column, "")] = t
		}
	}
	for _, u := range c.columns {
		t := out[u.Heading]
		t.telling = t.of >= fewestJudged || u.gives("water_c") || u.gives("water_f")
		if t.of < fewestJudged {
			t.of = len(sample.column(u.Heading, m.Empty)) - len(c.bad[u.Heading])
		}
		t.of, t.far = t.of+len(c.bad[u.Heading]), t.far+len(c.bad[u.Heading])
		out[u.Heading] = t
	}
	if run := m.to("run_m"); run != nil && m.to("run_s") == nil && m.to("minute") != nil { // which may be the time of the run
		t := out[m.to("minute").Heading]
		t.far += len(c.bad[run.Heading])
		out[m.to("minute").Heading] = t
	}
	return out
}

// sample is a table of some of the rows, in runs.
func (s *Source) sample() *Source {
	out := *s
	out.rows, out.problems = nil, nil
	for k := range sampleRuns {
		from := max(len(s.rows)*k/sampleRuns, len(out.rows))
		out.rows = append(out.rows, s.rows[from:min(len(s.rows), from+sampleRows)]...)
	}
	return &out
}
