package drift

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/session"
)

// What only the newest dive shows asks for a repeat in one note: the likeliest in
// full, the next after "or", and no more.
func TestRepeats(t *testing.T) {
	a := &analysis{r: &fit.Result{Dives: []fit.DiveFit{{Log: &session.Dive{Label: "6"}}, {Log: &session.Dive{Label: "7"}}}},
		causes: []causes.Cause{{Words: "drag", What: "the vehicle drags more"}, {Words: "thrust", What: "the propellers push less"}, {Words: "scale", What: "the scale is off"},
			{Words: "jam of port", What: "port is jammed", Jammed: 1}}}
	once := func(cause, dive int, none float64) explained {
		return explained{hypothesis: hypothesis{cause: cause, pattern: findings.Once, onset: dive}, none: none}
	}
	assert.Empty(t, a.repeats(&explanation{parts: []explained{once(0, 0, 0.1), {hypothesis: hypothesis{pattern: findings.Step, onset: 1}}}}), "an older dive, and what stays")
	const ask = ": take these readings again before anything is believed"
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (70 % sure)" + ask}, a.repeats(&explanation{parts: []explained{once(0, 1, 0.3)}}))
	assert.Equal(t, []string{"dive 7 alone reads as if the propellers push less (80 % sure), or drag" + ask},
		a.repeats(&explanation{parts: []explained{once(0, 1, 0.3), once(1, 1, 0.2), once(2, 1, 0.5)}}))
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (70 % sure), or jam of port: with the battery unplugged, see that each propeller turns freely before it runs again"},
		a.repeats(&explanation{parts: []explained{once(0, 1, 0.3), once(3, 1, 0.4)}}), "a motor that stands is not read again")
}

// What is sound again without a word is asked about in one note, each cause once
// with its last end; not what has come back.
func TestMended(t *testing.T) {
	r := &fit.Result{}
	for _, label := range []string{"1", "2", "3", "4", "5"} {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	table := []causes.Cause{{Name: "joint", Quantity: "loop", Words: "excess loop resistance"}, {Name: "drag", Quantity: "drag", Words: "drag"}, {Name: "leak", Quantity: "g", Words: "water taken in"},
		{Name: "jam", Jammed: 1, Words: "jam of port"}}
	for i := range table[:3] {
		table[i].Amplitudes = make([]causes.Amplitude, 1)
	}
	a := &analysis{r: r, causes: table, renewed: make([]bool, 4), epoch: make([]int, 4)}
	part := func(cause, onset, until int) explained {
		return explained{hypothesis: hypothesis{cause: cause, pattern: findings.Step, onset: onset, until: until}}
	}
	const ask = ", and no line says why: write under serviced what was done, or look whether it comes back"
	assert.Empty(t, a.mended(&explanation{parts: []explained{part(0, 1, 0)}}))
	assert.Equal(t, []string{"excess loop resistance is sound again since dive 5; drag is sound again since dive 3" + ask},
		a.mended(&explanation{parts: []explained{part(0, 0, 2), part(1, 1, 2), part(0, 3, 4)}}))
	assert.Equal(t, []string{"drag is sound again since dive 3" + ask}, a.mended(&explanation{parts: []explained{part(0, 0, 2), part(1, 1, 2), part(0, 3, 0)}}), "what came back")
	assert.Equal(t, []string{"jam of port ended before dive 4" + ask}, a.mended(&explanation{parts: []explained{part(3, 0, 3)}}))
	a.renewed[1], a.epoch[1] = true, 2
	assert.Empty(t, a.mended(&explanation{parts: []explained{part(1, 1, 2)}}), "a service has made an end of it")
}

// One cause is one finding.
func TestMerge(t *testing.T) {
	at := func(fault, since string, onset int, p float64) findings.Finding {
		return findings.Finding{Fault: fault, SinceDive: since, Onset: onset, Probability: p, Alternatives: []findings.Alternative{{Fault: findings.Other, Probability: 1 - p}}}
	}
	got := merge(merge(merge(nil, at("thrust", "45", 44, 0.9)), at("drag", "3", 2, 0.9)), at("thrust", "17", 16, 0.8))
	assert.Len(t, got, 2)
	assert.Equal(t, "17", got[0].SinceDive)
	assert.Equal(t, []string{"45"}, got[0].Again)
	assert.Equal(t, at("thrust", "45", 44, 0.9).Alternatives, got[0].Alternatives)
	assert.Equal(t, 0.9, got[0].Probability, "as sure as its surest part")
	f := got[0]
	f.Cause = &causes.Cause{What: "the propellers push less"}
	assert.Equal(t, "the propellers push less, since dive 17 and again since 45", f.Lines()[0])
	got = merge(merge(nil, at("thrust", "45", 44, 0.9)), at("thrust", "17", 16, 0.3))
	assert.Equal(t, "45", got[0].SinceDive, "one that is not told begins nothing")
	assert.Empty(t, got[0].Again)
}

// A streak of slips goes back from the newest dive as long as all readings of a column were set aside the same way.
func TestStreak(t *testing.T) {
	high, low := fit.Outlier{Column: "current_a", Entered: 9, Expected: 4}, fit.Outlier{Column: "current_a", Entered: 1, Expected: 4}
	type dive struct {
		times int
		aside []fit.Outlier
	}
	for name, c := range map[string]struct {
		dives []dive
		want  string
	}{
		"the same way":      {[]dive{{1, []fit.Outlier{high}}, {2, []fit.Outlier{high, high}}}, "9 8"},
		"one counts":        {[]dive{{1, []fit.Outlier{high}}, {2, []fit.Outlier{high}}, {1, []fit.Outlier{high}}}, "9"},
		"the other way":     {[]dive{{1, []fit.Outlier{low}}, {1, []fit.Outlier{high}}, {1, []fit.Outlier{low}}}, "9"},
		"either in one":     {[]dive{{2, []fit.Outlier{low, high}}, {1, []fit.Outlier{low}}}, ""},
		"none in the first": {[]dive{{1, nil}, {1, []fit.Outlier{high}}}, ""},
	} {
		var s streak
		for i, d := range c.dives {
			s.add(strconv.Itoa(9-i), d.times, d.aside)
		}
		assert.Equal(t, c.want, strings.Join(s.labels, " "), name)
	}
	assert.Equal(t, "current_a was set aside as far too low in each of the dives from 7 to 9 that have it: no slips", (&streak{newest: low, labels: []string{"9", "8", "7"}}).words())
}
