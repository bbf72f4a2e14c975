package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A ramp's probability of being past its limit is a normal's: level + dives·slope has the variance of both
// and twice what they share, whichever way is worse; several onsets count by their weights.
func TestPast(t *testing.T) {
	const up, down = 1.0, -1.0
	of := func(sign float64) line {
		return line{weight: 1, level: sign * 0.1, slope: sign * 0.02, levelVar: 4e-4, slopeVar: 4e-6, covariance: 1e-5}
	}
	for _, c := range []struct {
		limit, dives, want float64
	}{
		{0.1, 0, 0.5}, {0.12, 0, 0.158655}, {0.3, 10, 0.5}, // variance after ten dives: 4e-4 + 2·10·1e-5 + 100·4e-6 = 1e-3
		{0.3 + 0.0316228, 10, 0.158655}, {0.3 - 0.0316228, 10, 0.841345}, {0.3 + 2*0.0316228, 10, 0.0227501},
	} {
		assert.InDelta(t, c.want, past([]line{of(up)}, c.limit, 1, c.dives), 1e-5, "%+v", c)
		assert.InDelta(t, c.want, past([]line{of(down)}, -c.limit, -1, c.dives), 1e-5, "%+v, less is worse", c)
	}
	steep := line{weight: 3, level: 0.1, slope: 0.05, levelVar: 4e-4}
	assert.InDelta(t, 0.75+0.25*0.0227501, past([]line{of(up), steep}, 0.3+2*0.0316228, 1, 10), 1e-5)
}

// A ramp some dives ahead is the mixture of its onsets: their mean, and their variances with how far they lie apart.
func TestAhead(t *testing.T) {
	a := &analysis{causes: causes.Table(vehicle.Example())}
	c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == "power_loop" })
	lines := []line{{weight: 1, level: 0.1, slope: 0.02, levelVar: 4e-4, slopeVar: 4e-6, covariance: 1e-5}, {weight: 3, level: 0.1, slope: 0.05, levelVar: 9e-4}}
	const mean = 0.25*0.3 + 0.75*0.6 // after ten dives
	sd := math.Sqrt(0.25*(1e-3+math.Pow(0.3-mean, 2)) + 0.75*(9e-4+math.Pow(0.6-mean, 2)))
	got := a.ahead(lines, c, 10, math.NaN())
	assert.InDelta(t, mean, got.Level.Value, 1e-12)
	assert.InDelta(t, mean-z95*sd, got.Level.Low, 1e-12)
	assert.InDelta(t, mean+z95*sd, got.Level.High, 1e-12)
	assert.Zero(t, got.Past, "without a limit")
	assert.InDelta(t, past(lines, 0.5, 1, 10), a.ahead(lines, c, 10, 0.5).Past, 1e-12)
}

// A ramp's level and slope at the newest dive are those of a line through its dives, for each onset that is a fiftieth as
// likely as the likeliest and more; steps are no ramps. Beside the straight one stand those that bend, by their weight.
func TestLinesOfARamp(t *testing.T) {
	const sd, prior = 0.05, 0.02
	xs := []float64{0.01, -0.02, 0.03, 0.04, 0.09, 0.11}
	a := plain(predict.LoopOhm, sd, xs...)
	k, from := a.index("power_loop"), a.r.Baseline
	of := func(onset int, pattern string, weight float64) probable {
		return probable{hypothesis{cause: k, pattern: pattern, onset: from + onset}, weight}
	}
	active := &component{hypothesis: of(2, findings.Ramp, 0).h, onsets: []probable{of(2, findings.Ramp, 0.6), of(1, findings.Step, 0.9), of(3, findings.Ramp, 0.013), of(4, findings.Ramp, 0.011)}}
	a.variance = slices.Repeat([]float64{3e-4}, len(a.variance))
	lines := a.lines(k, active, []hypothesis{active.hypothesis}, a.n)
	require.Len(t, lines, 2*len(bendSizes))
	scatters := a.variance[a.r.ScatterAt(a.r.Space.Place[predict.LoopOhm])] / float64(len(xs))
	for i, onset := range []int{2, 3} {
		info, by, n := 1/sq(prior), 0.0, float64(len(xs)-onset)
		for d := onset; d < len(xs); d++ {
			up := float64(d - onset + 1)
			info, by = info+up*up/sq(sd), by+up*xs[d]/sq(sd)
		}
		l, sum := lines[i*len(bendSizes)], 0.0
		for j, bent := range lines[i*len(bendSizes):][:len(bendSizes)] {
			if sum += bent.weight; j > 0 {
				assert.Greater(t, bent.slopeVar, 2*l.slopeVar, "what bends is less sure of its slope")
			}
		}
		assert.InDelta(t, []float64{0.6, 0.013}[i], sum, 1e-12)
		assert.InDeltaSlice(t, []float64{by / info, n * by / info}, []float64{l.slope, l.level}, 1e-6)
		assert.InDeltaSlice(t, []float64{1 / info, n * n / info, n / info}, []float64{l.slopeVar, l.levelVar - scatters, l.covariance}, 1e-7)
	}
	trend := a.trend(k, &explanation{components: []component{{hypothesis: active.hypothesis, onsets: active.onsets, stays: stayed(a, k), best: make([]hypothesis, len(a.causes))}}}, a.n)
	require.NotNil(t, trend.PerDive)
	slope, square := 0.0, 0.0
	for _, l := range lines {
		slope += l.weight * l.slope / 0.613
		square += l.weight * (sq(l.slope) + l.slopeVar) / 0.613
	}
	wide := z95 * math.Sqrt(square-sq(slope))
	assert.InDeltaSlice(t, []float64{slope, slope - wide, slope + wide}, []float64{trend.PerDive.Value, trend.PerDive.Low, trend.PerDive.High}, 1e-9)
}

// stayed is that one cause stays for certain.
func stayed(a *analysis, cause int) []float64 {
	out := make([]float64, len(a.causes))
	out[cause] = 1
	return out
}

// Dives left are those at which half, 5 % and 95 % of a ramp is past its limit.
func TestDivesLeft(t *testing.T) {
	const z = 1.644854 // of 95 %
	l := line{weight: 1, level: 0.1, slope: 0.02, levelVar: 1e-4}
	for _, sign := range []float64{1, -1} {
		l := l
		l.level, l.slope = sign*l.level, sign*l.slope
		left := divesLeft([]line{l}, sign*0.3, sign)
		assert.InDelta(t, 10, left.Value, 0.02)
		assert.InDelta(t, 10-z*0.01/0.02, left.Low, 0.02)
		assert.InDelta(t, 10+z*0.01/0.02, left.High, 0.02)
		assert.Equal(t, findings.Estimate{}, divesLeft([]line{l}, sign*0.05, sign), "past already")
		assert.Equal(t, findings.Estimate{Value: 999, Low: 999, High: 999}, divesLeft([]line{l}, sign*-0.5, -sign), "it goes the other way")
	}
	near := divesLeft([]line{l}, 0.112, 1) // 1.2 standard deviations short of it: may be past
	assert.Zero(t, near.Low)
	assert.InDelta(t, 0.6, near.Value, 0.01)
	l.slope = 0.001
	assert.InDelta(t, 200, divesLeft([]line{l}, 0.3, 1).Value, 0.3, "far off is still told")
	l.slope = 0.2 / 700
	assert.InDelta(t, 700, divesLeft([]line{l}, 0.3, 1).Value, 1, "up to the most that is")
}

// A steady quantity is sound where its level's range keeps to the better half of the way to its limit, past it
// where the level is, whichever way is worse; between, the readings cannot tell.
func TestStateOf(t *testing.T) {
	a := &analysis{r: &fit.Result{Model: exampleFit().Model, Base: exampleFit().Base, Baseline: 1, Dives: make([]fit.DiveFit, 2)}, causes: causes.Table(vehicle.Example())}
	for _, c := range []struct {
		cause               string
		limit, sound        float64
		pattern             string
		value, low, high    float64
		want                string
		withoutLimit, early bool
	}{
		{cause: "power_loop", limit: 0.3, value: 0.1, low: 0.05, high: 0.149, want: findings.Sound},
		{cause: "power_loop", limit: 0.3, value: 0.1, low: 0.05, high: 0.151, want: findings.CannotTell},
		{cause: "power_loop", limit: 0.3, value: 0.299, low: 0.25, high: 0.35, want: findings.NearLimit},
		{cause: "power_loop", limit: 0.3, value: 0.25, low: 0.151, high: 0.299, want: findings.NearLimit},
		{cause: "power_loop", limit: 0.3, value: 0.25, low: 0.149, high: 0.299, want: findings.CannotTell},
		{cause: "power_loop", limit: 0.3, value: 0.25, low: 0.151, high: 0.301, want: findings.NearLimit},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.85, low: 0.81, high: 0.89, want: findings.NearLimit},
		{cause: "power_loop", limit: 0.3, value: 0.301, low: 0.25, high: 0.35, want: findings.PastLimit},
		{cause: "power_loop", limit: 0.3, value: 0.301, low: 0.25, high: 0.35, pattern: findings.Ramp, want: findings.Drifting},
		{cause: "power_loop", limit: 0.3, value: 0.301, low: 0.25, high: 0.35, pattern: findings.Ramp, early: true, want: findings.NotJudged},
		{cause: "power_loop", value: 0.301, low: 0.25, high: 0.35, withoutLimit: true, want: findings.CannotTell},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.95, low: 0.901, high: 1, want: findings.Sound},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.95, low: 0.899, high: 1, want: findings.CannotTell},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.81, low: 0.7, high: 0.9, want: findings.NearLimit},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.79, low: 0.7, high: 0.9, want: findings.PastLimit},
		{cause: "thrust", limit: 0.8, sound: 1, value: 0.76, low: 0.3, high: 1.2, want: findings.CannotTell},
		{cause: "friction", limit: 0.3, value: 0.4, low: -0.2, high: 1, want: findings.CannotTell},
		{cause: "thrust", limit: 0.8, sound: 1, value: 1.3, low: 1.2, high: 1.4, want: findings.Sound},
		{cause: "ingress", limit: 60, value: 20, low: 10, high: 29, want: findings.Sound},
		{cause: "ingress", limit: 60, value: 20, low: 10, high: 31, want: findings.CannotTell},
		{cause: "ingress", limit: 60, value: 61, low: 50, high: 72, want: findings.PastLimit},
		{cause: "power_loop", limit: 0, value: 0, low: -0.1, high: 0.1, want: findings.CannotTell}, // no way to go
	} {
		i := a.index(c.cause)
		trend := findings.Trend{Pattern: findings.Steady, Baseline: c.sound, Level: findings.Estimate{Value: c.value, Low: c.low, High: c.high}, Cause: &a.causes[i]}
		if c.pattern != "" {
			trend.Pattern = c.pattern
		}
		if !c.withoutLimit {
			trend.Limit = &c.limit
		}
		a.r.Baseline = 1
		if c.early {
			a.r.Baseline = 2
		}
		assert.Equal(t, c.want, a.stateOf(i, &trend), "%+v", c)
	}
}

// labelled are sound dives of labels 1, 2, …, whose readings all fit.
func labelled(n int) *fit.Result {
	r := &fit.Result{}
	for d := range n {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: string(rune('1' + d))}, Summary: &fit.Summary{Intermittent: &normal.Quadratic{}}})
	}
	return r
}

// The range of an onset is the shortest run of dives around the likeliest that holds nine tenths.
func TestOnsetRange(t *testing.T) {
	for _, c := range []struct {
		weights  []float64 // of onsets 0, 1, …
		from, to int
	}{
		{[]float64{0, 0, 1}, 2, 2},
		{[]float64{0.04, 0.05, 0.91}, 2, 2},
		{[]float64{0.04, 0.07, 0.89}, 1, 2},
		{[]float64{0.3, 0.3, 0.4}, 0, 2},
		{[]float64{0, 0.02, 0.5, 0.42, 0.06}, 2, 3},
		{[]float64{0.02, 0.03, 0.6, 0.25, 0.1}, 2, 4},
	} {
		best := 0
		e := &component{}
		for d, p := range c.weights {
			if p > c.weights[best] {
				best = d
			}
			if p > 0 { // as a step and as a ramp
				e.onsets = append(e.onsets, probable{hypothesis{pattern: findings.Step, onset: d}, 0.6 * p}, probable{hypothesis{pattern: findings.Ramp, onset: d}, 0.4 * p})
			}
		}
		e.onset = best
		from, to := e.onsetRange()
		assert.Equal(t, []int{c.from, c.to}, []int{from, to}, "%v", c.weights)
	}
	from, to := (&component{hypothesis: hypothesis{onset: 7}}).onsetRange()
	assert.Equal(t, []int{7, 7}, []int{from, to}, "no other was weighed")
}

// What else a part may be is listed from one in a hundred on, likeliest first, cases of its own family
// left out, the rest together; all add up to one.
func TestAlternatives(t *testing.T) {
	a := &analysis{causes: append(slices.Clone(propellers), causes.Cause{Name: "leak", Quantity: "g"}, causes.Cause{Name: "tape", Quantity: "v"})}
	e := &component{hypothesis: hypothesis{cause: ofPort}, stays: []float64{0.05, 0.6, 0.02, 0.0099, 0.011, 0.15, 0.004}, once: 0.06, none: 0.0951}
	var names []string
	sum := 0.67
	ofFamily := func(c int) bool { return a.related(c, ofPort) }
	for _, alt := range a.alternatives(e, ofFamily) {
		names, sum = append(names, alt.Fault), sum+alt.Probability
	}
	assert.Equal(t, []string{"leak", findings.Nothing, findings.OnceOnly, "stall:port", findings.Other}, names)
	assert.InDelta(t, 1, sum, 1e-9)
	names, sum = nil, 0.6
	for _, alt := range a.alternatives(e, func(c int) bool { return c == ofPort }) {
		names, sum = append(names, alt.Fault), sum+alt.Probability
	}
	assert.Equal(t, []string{"leak", findings.Nothing, findings.OnceOnly, "thrust", "thrust:starboard", "stall:port", findings.Other}, names, "put down to one case, the others are alternatives")
	assert.InDelta(t, 1, sum, 1e-9)
	assert.Nil(t, a.which(&component{hypothesis: hypothesis{cause: drag}, stays: e.stays}, drag), "it has no cases")
	names = nil
	for _, alt := range a.which(e, all) {
		names = append(names, alt.Fault)
	}
	assert.Equal(t, []string{"thrust:port", "thrust", "thrust:starboard"}, names)
	assert.Nil(t, a.which(&component{hypothesis: hypothesis{cause: ofPort}, stays: []float64{0.0099, 0.6, 0.0099}}, ofPort), "it is plain")
	assert.Len(t, a.which(&component{hypothesis: hypothesis{cause: ofPort}, stays: []float64{0.0099, 0.6, 0.0101}}, ofPort), 2, "one of two")
}

// No finding is surer than surest: what is beyond that may be anything else.
func TestNoFindingIsSurerThanTheTable(t *testing.T) {
	a := &analysis{causes: slices.Clone(propellers)}
	e := &component{hypothesis: hypothesis{cause: ofPort}, stays: []float64{0.1, 0.89, 0, 0, 0}, none: 0.01}
	told, ofFamily := a.atMost(e), func(c int) bool { return a.related(c, ofPort) }
	cause, p := a.named(told)
	assert.Equal(t, ofPort, cause)
	assert.InDelta(t, 0.97, p, 1e-12)
	assert.Equal(t, []findings.Alternative{{Fault: findings.Nothing, Probability: 0.01, Words: "chance"}}, a.alternatives(told, ofFamily)[:1])
	assert.InDelta(t, 0.02, a.alternatives(told, ofFamily)[1].Probability, 1e-12)
	assert.Equal(t, 0.89, e.stays[ofPort], "decisions go by what causes have")
	e = &component{hypothesis: hypothesis{cause: ofPort}, stays: []float64{0, 0.96, 0, 0, 0.04}}
	assert.Same(t, e, a.atMost(e))
}

// A fault that a repair follows goes on more slowly: no news. A repair before any such fault, of another or by
// itself is some.
func TestOwnCourse(t *testing.T) {
	a := &analysis{causes: []causes.Cause{{Name: "thrust"}, {Name: "mended", Mends: "thrust"}, {Name: "drag"}}}
	e := func(cause, onset int) component {
		return component{hypothesis: hypothesis{cause: cause, pattern: findings.Step, onset: onset}}
	}
	repair, gone := e(1, 5), e(0, 3)
	gone.until = 4
	for _, c := range []struct {
		part, beside component
		want         bool
	}{
		{repair, e(0, 3), true}, {repair, e(0, 5), false}, {repair, e(0, 7), false}, {repair, e(2, 3), false}, {repair, gone, false}, {e(2, 5), e(0, 3), false},
	} {
		assert.Equal(t, c.want, a.ownCourse(&explanation{components: []component{c.beside, c.part}}, &c.part), "%+v", c)
	}
}

// An alarm whose quantity is explained otherwise for two dives in a row is withdrawn; one of a cause that is
// gone since it was raised is cleared at the dive from which it is.
func TestWithdrawn(t *testing.T) {
	a := &analysis{causes: propellers, r: labelled(9), renewed: make([]bool, len(propellers)), epoch: make([]int, len(propellers))}
	book := func(raised int) (*alarmBook, *findings.Report) {
		rep := &findings.Report{Alarms: []findings.Alarm{{Quantity: "drag_factor"}}}
		return &alarmBook{a: a, rep: rep, open: map[string]int{"drag_factor": 0}, raised: map[string]int{"drag_factor": raised}, missing: map[string]int{}, shared: map[string]bool{}}, rep
	}
	has, none := &explanation{components: []component{since(2, drag, 0, 0, 0, 0.97)}}, &explanation{}
	once := since(4, drag, 0, 0, 0, 0.97)
	once.pattern = findings.Once
	b, rep := book(3)
	for n, now := range []*explanation{none, has, none, {components: []component{once}}} {
		require.Nil(t, rep.Alarms[0].ClearedDive, n)
		a.n = 4 + n
		b.judge(a.n, now)
	}
	require.NotNil(t, rep.Alarms[0].ClearedDive)
	assert.Equal(t, "8", *rep.Alarms[0].ClearedDive)
	assert.True(t, rep.Alarms[0].Withdrawn)
	assert.False(t, rep.Alarms[0].Gone)
	assert.Empty(t, b.open)

	for _, c := range []struct {
		raised, cause, until int
		gone                 bool
		cleared              string
	}{
		{3, drag, 5, true, "6"}, {5, drag, 5, false, "8"}, {3, ofPort, 5, false, "8"}, {3, drag, 0, false, "8"},
	} {
		b, rep := book(c.raised)
		part := since(2, c.cause, 0)
		part.until = c.until
		if c.until == 0 {
			part.pattern = findings.Once
		}
		for a.n = 6; a.n <= 7; a.n++ {
			b.judge(a.n, &explanation{components: []component{part}})
		}
		require.NotNil(t, rep.Alarms[0].ClearedDive, "%+v", c)
		assert.Equal(t, c.cleared, *rep.Alarms[0].ClearedDive, "%+v", c)
		assert.Equal(t, c.gone, rep.Alarms[0].Gone, "%+v", c)
	}
}

// A step's alarm that turns out to have been for one dive alone is withdrawn at the next dive; not for what was before it was raised
// or is in the newest, nor a ramp's.
func TestOneDivesAlarmIsWithdrawn(t *testing.T) {
	for name, c := range map[string]struct {
		pattern      string
		cause, onset int
		want         bool
	}{
		"since it was raised": {findings.Step, drag, 3, true}, "before": {findings.Step, drag, 2, false}, "in the newest": {findings.Step, drag, 5, false},
		"of something else": {findings.Step, ofPort, 3, false}, "of a ramp": {findings.Ramp, drag, 3, false},
	} {
		a := &analysis{causes: propellers, r: labelled(9), n: 5, renewed: make([]bool, len(propellers)), epoch: make([]int, len(propellers))}
		rep := &findings.Report{Alarms: []findings.Alarm{{Quantity: "drag_factor", Pattern: c.pattern}}}
		b := &alarmBook{a: a, rep: rep, open: map[string]int{"drag_factor": 0}, raised: map[string]int{"drag_factor": 3}, missing: map[string]int{}, shared: map[string]bool{}}
		once := since(c.onset, c.cause)
		once.pattern = findings.Once
		b.judge(5, &explanation{components: []component{once}})
		assert.Equal(t, c.want, rep.Alarms[0].ClearedDive != nil, name)
	}
}

// An alarm that another cause has taken over for two dives, and that the readings still leave possible, stays open on a probability that it
// shares; after one dive it does not yet, and one that shares it keeps that where it is named again. What took over need then no longer be surer
// than a first alarm.
func TestKeptOpenOnASharedProbability(t *testing.T) {
	a := &analysis{causes: propellers, r: labelled(9), renewed: make([]bool, len(propellers)), epoch: make([]int, len(propellers))}
	rep := &findings.Report{Alarms: []findings.Alarm{{Quantity: "drag_factor", Pattern: findings.Step}}}
	b := &alarmBook{a: a, rep: rep, open: map[string]int{"drag_factor": 0}, raised: map[string]int{"drag_factor": 3}, missing: map[string]int{}, shared: map[string]bool{}}
	thrust, named := &explanation{components: []component{since(2, ofPort, 0, 0.74, 0, 0.25)}}, &explanation{components: []component{since(2, drag, 0, 0, 0, 0.97)}}
	for i, c := range []struct {
		now    *explanation
		shared bool
		alarms int
	}{{thrust, false, 1}, {named, false, 1}, {thrust, false, 1}, {thrust, true, 1}, {named, true, 1}, {thrust, true, 2}} {
		a.n = 3 + i
		b.judge(a.n, c.now)
		assert.Nil(t, rep.Alarms[0].ClearedDive, "dive %d", a.n+1)
		assert.Equal(t, c.shared, b.shared["drag_factor"], "dive %d", a.n+1)
		assert.Len(t, rep.Alarms, c.alarms, "dive %d", a.n+1)
	}
}

// A change began at the dives that its onsets say; where onsets are spaced with age, at any up to the next alike.
func TestBegun(t *testing.T) {
	at := func(onset int, pattern string, p float64) probable {
		return probable{hypothesis{onset: onset, pattern: pattern}, p}
	}
	e := &component{onsets: []probable{at(4, findings.Step, 0.1), at(4, findings.Ramp, 0.1), at(8, findings.Step, 0.2), at(95, findings.Step, 0.6)}}
	last := 100
	require.Equal(t, 1, spacing(last-95+1))
	out := e.begun(last)
	require.Len(t, out, last+1)
	sum := 0.0
	for d, p := range out {
		want := 0.0
		switch {
		case d >= 4 && d < 8:
			want = 0.2 / 4
		case d >= 8 && spacing(last-d+1) > 1:
			want = 0.2 / float64(last+1-held-8)
		case d == 95:
			want = 0.6
		}
		assert.InDelta(t, want, p, 1e-12, "dive %d", d+1)
		sum += p
	}
	assert.InDelta(t, 1, sum, 1e-12)
}

// What a quantity does is told by the newest ramp, which goes on, else by the first part that is surely of it.
func TestActive(t *testing.T) {
	a := &analysis{causes: propellers}
	ramp := func(onset int) component {
		e := since(onset, drag, 0, 0, 0, 0.97)
		e.pattern = findings.Ramp
		return e
	}
	step := func(onset int) component { return since(onset, drag, 0, 0, 0, 0.97) }
	gone := step(1)
	gone.until = 4
	for name, c := range map[string]struct {
		parts []component
		want  int // index, −1 for none
	}{
		"nothing":                       {nil, -1},
		"the first step":                {[]component{step(5), step(3), step(4)}, 1},
		"the newest ramp":               {[]component{ramp(3), ramp(5), ramp(4)}, 1},
		"a ramp before any step":        {[]component{step(3), ramp(5), step(2)}, 1},
		"not of another quantity":       {[]component{since(3, ofPort, 0, 0.97)}, -1},
		"not what is gone":              {[]component{gone}, -1},
		"not what is hardly sure":       {[]component{since(3, drag, 0, 0.41, 0, 0.59)}, -1},
		"what is sure enough of what":   {[]component{since(3, drag, 0, 0.39, 0, 0.61)}, 0},
		"of what stays, not of all":     {[]component{since(3, drag, 0, 0.1, 0, 0.2)}, 0},
		"not one that is named another": {[]component{since(3, drag, 0.9, 0, 0, 0.05)}, -1},
	} {
		got := a.active(drag, &explanation{components: c.parts})
		if c.want < 0 {
			assert.Nil(t, got, name)
		} else if assert.NotNil(t, got, name) {
			assert.Same(t, &c.parts[c.want], got, name)
		}
	}
}

// Where it is not sure of which quantity a part is, or whether there is one at all, a level has to hold the likeliest
// other reading of the dives too: what else it is, or nothing.
func TestOtherReading(t *testing.T) {
	a := &analysis{causes: []causes.Cause{{Name: "loop", Quantity: "ohm"}, {Name: "thrust", Quantity: "factor"}, {Name: "mended", Quantity: "ohm"}}}
	loop, thrust, beside := hypothesis{cause: 0, pattern: findings.Step, onset: 3}, hypothesis{cause: 1, pattern: findings.Ramp, onset: 2}, hypothesis{cause: 2, pattern: findings.Step, onset: 1}
	part := func(stays []float64, once float64) component {
		e := component{hypothesis: loop, stays: stays, best: []hypothesis{loop, thrust, {}}, once: once, none: 1 - once}
		for _, p := range stays {
			e.none -= p
		}
		return e
	}
	for name, c := range map[string]struct {
		part component
		of   int // whose quantity
		or   []hypothesis
		p    float64
	}{
		"sure":                  {part([]float64{0.98, 0.01, 0}, 0), 0, nil, 0},
		"thrust, of the loop":   {part([]float64{0.7, 0.25, 0}, 0.03), 0, []hypothesis{thrust, beside}, 0.3},
		"nothing, of the loop":  {part([]float64{0.7, 0.1, 0}, 0.15), 0, []hypothesis{beside}, 0.3},
		"both of the loop":      {part([]float64{0.7, 0.01, 0.28}, 0), 0, nil, 0},
		"thrust, of the thrust": {part([]float64{0.7, 0.25, 0}, 0.03), 1, []hypothesis{thrust, beside}, 0.25},
		"hardly of the thrust":  {part([]float64{0.9, 0.02, 0}, 0.03), 1, nil, 0},
		"more than nothing":     {part([]float64{0.6, 0.1, 0}, 0.2), 1, []hypothesis{thrust, beside}, 0.1}, // though nothing is likelier
	} {
		now := &explanation{components: []component{c.part, {hypothesis: beside, stays: []float64{0, 0, 1}, best: make([]hypothesis, 3)}}}
		or, p := a.otherReading(c.of, now, now.hypotheses())
		assert.Equal(t, c.or, or, name)
		assert.InDelta(t, c.p, p, 1e-9, name)
	}
}

// What is likelier than not to have begun and to stay is a finding, and what has an alarm open; alarms stand first, then
// what is the more probable. A repair of what is found, and what is of a thruster that is jammed, is none beside it.
func TestFindingsStand(t *testing.T) {
	friction := []causes.Amplitude{{Terms: []causes.Term{{Param: predict.OfThruster(0, predict.OneFrictionA), Per: 1}}}}
	a := &analysis{causes: append(slices.Clone(propellers), causes.Cause{Name: "leak", Quantity: "g"}, causes.Cause{Name: "cleaned", Quantity: "cleaned", Mends: "drag"}, causes.Cause{Name: "friction:port", Quantity: "friction_a:port", Amplitudes: friction}), r: labelled(4), n: 3}
	part := func(cause int, p float64) component {
		e := since(1, cause)
		e.stays = make([]float64, len(a.causes))
		e.stays[cause], e.none = p, 1-p
		e.onsets = []probable{{e.hypothesis, 1}}
		return e
	}
	const leak, cleaned, rubs = 5, 6, 7
	repair := part(cleaned, 0.95)
	repair.onset = 2
	gone := part(drag, 0.99)
	gone.until = 3
	for name, c := range map[string]struct {
		open  string
		parts []component
		want  []string
	}{
		"likelier than not":  {"", []component{part(drag, 0.51), part(leak, 0.49)}, []string{"drag"}},
		"likeliest first":    {"", []component{part(drag, 0.6), part(leak, 0.9)}, []string{"leak", "drag"}},
		"alarms first":       {"drag_factor", []component{part(leak, 0.9), part(drag, 0.6)}, []string{"drag", "leak"}},
		"an alarm, unlikely": {"drag_factor", []component{part(drag, 0.3), part(leak, 0.9)}, []string{"leak", "drag"}},
		"not what is gone":   {"drag_factor", []component{gone}, nil},
		"not a repair of it": {"", []component{part(drag, 0.9), repair}, []string{"drag"}},
		"nor of one jammed":  {"", []component{part(rubs, 0.95), part(jam, 0.9)}, []string{"stall:port"}},
		"of one that is not": {"", []component{part(rubs, 0.95), part(drag, 0.9)}, []string{"friction:port", "drag"}},
	} {
		rep, book := &findings.Report{}, &alarmBook{a: a, open: map[string]int{}}
		if c.open != "" {
			book.open[c.open] = 0
		}
		a.findings(rep, &explanation{components: c.parts}, book)
		var names []string
		for _, f := range rep.Findings {
			names = append(names, f.Fault)
			assert.Equal(t, f.Cause.Quantity == c.open, f.Alarm, name)
			assert.Equal(t, []string{"2", "2", "2"}, []string{f.SinceDive, f.OnsetFrom, f.OnsetTo}, name)
		}
		assert.Equal(t, c.want, names, name)
	}
}
