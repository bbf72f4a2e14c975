package drift

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// Readings of the newest dive that lie off together though every cause was free are a finding, since the first of the
// dives in a row that have the same; none where a contact that comes and goes is seen to explain them.
func TestUnexplained(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	last := len(r.Dives) - 1
	for d, by := range map[int]float64{last - 2: 0.3, last - 1: -0.3, last: -0.3} { // the clamp reads less, then more than its fits
		s := *r.Dives[d].Summary
		s.Params, s.Fitted, s.Intermittent = slices.Clone(s.Params), nil, nil
		s.Params[predict.LogClamp] += by
		r.Dives[d].Summary = &s
	}
	a := newAnalysis(&r)
	a.n, a.worse = last, make([][]int, last+1)
	f, ok := a.unexplained(&explanation{})
	require.True(t, ok)
	label := func(d int) string { return r.Dives[d].Log.Label }
	assert.Equal(t, []string{label(last - 1), label(last - 1), label(last - 1)}, []string{f.SinceDive, f.OnsetFrom, f.OnsetTo})
	assert.Regexp(t, `^\d+ of \d+ readings of .*current.* are higher than anything explains, on average \d+\.\d times as far off as such readings usually are$`, f.Evidence[0])
	assert.Greater(t, f.Probability, 0.999)
	assert.InDelta(t, 1-f.Probability, f.Alternatives[0].Probability, 1e-12)
	least := 1.0
	for _, m := range r.Misfits(last) {
		least = min(least, m.Chance)
	}
	assert.InDelta(t, least, f.Alternatives[0].Probability, 1e-12)

	assert.Empty(t, a.oddDive(&explanation{}), "it is a finding")
	off := r.Dives[last-1]
	r.Dives[last-1] = exampleFit().Dives[last-1]
	_, ok = a.unexplained(&explanation{})
	assert.False(t, ok, "one dive asks for a repeat")
	require.Len(t, a.oddDive(&explanation{}), 1)
	assert.Regexp(t, "^no explanation fits dive "+label(last)+`: \d+ of \d+ readings of .*; take these readings again`, a.oddDive(&explanation{})[0])
	r.Dives[last-1] = off

	assert.True(t, a.unfit(&explanation{}, &component{hypothesis: hypothesis{onset: last - 2}}))
	assert.False(t, a.unfit(&explanation{}, &component{hypothesis: hypothesis{onset: last - 3}}), "one dive fits")

	with := func(cause, pattern string, onset, until int) *explanation {
		return &explanation{components: []component{{hypothesis: hypothesis{cause: a.index(cause), pattern: pattern, onset: onset, until: until}}}}
	}
	r.Dives[last].Summary.Intermittent = &normal.Quadratic{}
	for name, c := range map[string]struct {
		now  *explanation
		told bool
	}{
		"a contact":               {with("intermittent_contact", findings.Intermittent, last, 0), false},
		"a contact before":        {with("intermittent_contact", findings.Once, last-1, 0), true},
		"a contact that is gone":  {with("intermittent_contact", findings.Intermittent, last-3, last), true},
		"a joint that stays":      {with("power_loop", findings.Step, last, 0), true},
		"a jam that is not there": {with("stall:"+r.Model.Vehicle.Thrusters[0].Name, findings.Step, last, 0), true},
	} {
		_, ok := a.unexplained(c.now)
		assert.Equal(t, c.told, ok, name)
	}
	assert.NotEmpty(t, a.misfits(with("intermittent_contact", findings.Intermittent, last, 0), last-1), "before it began")
}

// Readings of the newest dive that lie far from a sound vehicle's ask for a repeat where nothing acts in it.
func TestFarReadings(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	last := len(r.Dives) - 1
	a := newAnalysis(&r)
	assert.Empty(t, a.farReadings(&explanation{}))
	d := &r.Dives[last]
	d.Cells = slices.Clone(d.Cells)
	k := slices.IndexFunc(d.Cells, func(c fit.Cell) bool { return c.Quantity == quantity.CurrentA })
	c := &d.Cells[k]
	c.Value += 30 * c.SD
	said := a.farReadings(&explanation{})
	require.Len(t, said, 1)
	assert.Regexp(t, fmt.Sprintf(`^dive %s reads far from a sound vehicle, and what has changed is not plain \(line %d, current_a \S+ for \S+\): take these readings again`, d.Log.Label, c.Line.Number), said[0])
	of := func(pattern string, onset int) *explanation {
		return &explanation{components: []component{{hypothesis: hypothesis{pattern: pattern, onset: onset}}}}
	}
	assert.Empty(t, a.farReadings(of(findings.Step, last-3)), "what stays may explain them")
	assert.Empty(t, a.farReadings(of(findings.Once, last)), "it is asked for already")
	assert.Len(t, a.farReadings(of(findings.Once, last-1)), 1)
	was := c.Value
	for i := range d.Cells {
		d.Cells[i].Value += 30 * d.Cells[i].SD
	}
	assert.Regexp(t, `\((line [^;]*; ){3}and \d+ more\)`, a.farReadings(&explanation{})[0])
	d.Cells = slices.Clone(exampleFit().Dives[last].Cells)
	c = &d.Cells[k]
	c.Value, c.Outlier = was, true
	assert.Empty(t, a.farReadings(&explanation{}), "it is set aside")
}
