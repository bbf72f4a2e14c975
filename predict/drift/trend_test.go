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
)

// A level is the mean of how its dives may be read, by the probability of each, and its interval holds both; of what has a
// pattern the middle is what that says.
func TestALevelHoldsBothReadings(t *testing.T) {
	const sd = 0.05
	a := plain(predict.LoopOhm, sd, 0, 0, 0.2, 0.2, 0.2)
	a.also(predict.FrictionA, sd, 0, 0, 0.3, 0.3, 0.3)
	loop, friction := a.index("power_loop"), a.index("friction")
	step := func(cause, onset int) hypothesis {
		return hypothesis{cause: cause, pattern: findings.Step, onset: onset}
	}
	from := a.r.Baseline
	e := component{hypothesis: step(loop, from+2), stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes)), none: 0.1}
	e.stays[loop], e.stays[friction] = 0.7, 0.2
	e.best[friction] = step(friction, from+2)
	now := &explanation{components: []component{e}}
	steady := step(friction, from) // what a steady quantity has been since the baseline
	likelier, other := a.course(friction, []hypothesis{e.hypothesis, steady}, false, a.n), a.course(friction, []hypothesis{e.best[friction], steady}, false, a.n)
	require.Greater(t, other[a.n].Value, likelier[a.n].Value+0.05)
	got := a.trend(friction, now, a.n)
	for _, d := range []int{from + 1, a.n} {
		want := findings.Estimate{Value: 0.8*likelier[d].Value + 0.2*other[d].Value, Low: min(likelier[d].Low, other[d].Low), High: max(likelier[d].High, other[d].High)}
		assert.InDeltaSlice(t, []float64{want.Value, want.Low, want.High}, []float64{got.Levels[d].Value, got.Levels[d].Low, got.Levels[d].High}, 1e-9, "dive %d", d)
	}
	own, without := a.course(loop, now.hypotheses(), true, a.n)[a.n], a.course(loop, []hypothesis{e.best[friction]}, true, a.n)[a.n]
	level := a.trend(loop, now, a.n).Level
	assert.InDeltaSlice(t, []float64{own.Value, min(own.Low, without.Low), max(own.High, without.High)}, []float64{level.Value, level.Low, level.High}, 1e-9)
	e.stays[loop], e.stays[friction] = 0.98, 0.01 // sure of it
	level = a.trend(loop, &explanation{components: []component{e}}, a.n).Level
	assert.InDelta(t, own.Low, level.Low, 1e-9)
}

// Of a battery that no line mentions it is told what its resistance differs by, of the battery what it is.
func TestEstimatesOfAnotherBattery(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05)
	for cause, sound := range map[string]float64{"battery": 0, "not_logged:battery": a.r.SoundOf(predict.BatteryOhm)} {
		rep := &findings.Report{Dives: []findings.Dive{{Estimates: map[string]findings.Estimate{}}}}
		c := a.index(cause)
		a.estimate(rep, c)
		x := a.r.Departure(0, predict.BatteryOhm)
		assert.Equal(t, findings.Estimate{Value: x.Value - sound, Low: x.Low - sound, High: x.High - sound}, rep.Dives[0].Estimates[a.causes[c].Quantity], cause)
	}
}

// A resistance as a whole is not told as less than nothing, unless all of its interval is; a change of one may be.
func TestPossible(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1)
	for cause, want := range map[string]findings.Estimate{"battery": {Value: 0, Low: 0, High: 0.01}, "power_loop": {Value: -0.01, Low: -0.02, High: 0.01}, "insulation": {Value: -0.01, Low: -0.02, High: 0.01}} {
		assert.Equal(t, want, a.possible(a.index(cause), findings.Estimate{Value: -0.01, Low: -0.02, High: 0.01}), cause)
	}
	assert.Equal(t, findings.Estimate{Value: -0.03, Low: -0.04, High: -0.01}, a.possible(a.index("battery"), findings.Estimate{Value: -0.03, Low: -0.04, High: -0.01}))
}

// A level is as sure as its dives make it, and what scatters from dive to dive averages out of it over the dives of the
// trend: a loop that is worse since the third of eight.
func TestLevelOf(t *testing.T) {
	const sd, prior = 0.05, 0.15
	xs := []float64{0, 0.01, 0.2, 0.22, 0.18, 0.21, 0.2, 0.19}
	a := plain(predict.LoopOhm, sd, xs...)
	k, last := a.index("power_loop"), a.n
	h := hypothesis{cause: k, pattern: findings.Step, onset: a.r.Baseline + 2}
	s, cols, ok := a.solve([]hypothesis{h})
	require.True(t, ok)
	information := 6/sq(sd) + 1/sq(prior)
	scatters := a.variance[a.r.ScatterAt(a.r.Space.Place[predict.LoopOhm])] / float64(len(xs))
	require.Positive(t, scatters)
	mean, got := a.levelOf(s, a.weightsAt(s, cols, k, last), k, last)
	assert.InDelta(t, 1.2/sq(sd)/information, mean, 1e-6)
	assert.InDelta(t, math.Sqrt(1/information+scatters), got, 1e-5)
	mean, got = a.levelOf(s, a.weightsAt(s, cols, k, h.onset-1), k, last)
	assert.InDelta(t, 0, mean, 1e-6, "before it began")
	assert.InDelta(t, math.Sqrt(scatters), got, 1e-5)
	a.epoch[k] = last - 1 // serviced since
	_, got = a.levelOf(s, a.weightsAt(s, cols, k, last), k, last)
	assert.InDelta(t, math.Sqrt(1/information+scatters*float64(len(xs))/2), got, 1e-5)
}

// Before there are dives after the baseline every dive's level is the sound one.
func TestLevelsOfTheBaseline(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05)
	trend := a.trend(a.index("thrust"), &explanation{}, 3)
	assert.Equal(t, slices.Repeat([]findings.Estimate{{Value: 1, Low: 1, High: 1}}, 4), trend.Levels)
	assert.Equal(t, findings.Estimate{Value: 1, Low: 1, High: 1}, trend.Level)
}

// What a battery rests at has a level like anything else: none before it was less full, then the lower one.
func TestLevelsOfRestVoltages(t *testing.T) {
	a := plain(predict.OpenCircuitV, 0.005, 0, 0, -0.4, -0.4, -0.4)
	e := part(a, "not_logged:battery:charge")
	e.onset = a.r.Baseline + 2
	trend := a.trend(e.cause, &explanation{components: []component{e}}, a.n)
	assert.InDelta(t, 0, trend.Levels[e.onset-1].Value, 0.01)
	assert.InDelta(t, -0.4, trend.Levels[e.onset].Value, 0.01)
	assert.InDelta(t, -0.4, trend.Level.Value, 0.01)
}

// Every log has the trends of what is tracked, and of each other quantity that something active changes, once; not of what is gone.
func TestTrendsOfWhatElseIsActive(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05, 0, 0.2, 0.2, 0.2)
	a.also(predict.UnloggedA, 0.1, 0, 0.9, 0.9, 0.9)
	a.r = a.r.Upto(a.n + 1)
	part := func(cause string, until int) component {
		k := a.index(cause)
		return component{hypothesis: hypothesis{cause: k, pattern: findings.Step, onset: a.r.Baseline + 1, until: until}, stays: stayed(a, k), best: make([]hypothesis, len(a.causes))}
	}
	tracked := len(a.tracked)
	rep := a.empty()
	a.trends(rep, &explanation{components: []component{part("instrument:speed", a.n), part("power_loop", 0), part("not_logged:lights", 0), part("not_logged:lights", 0)}})
	require.Len(t, rep.Trends, tracked+1)
	assert.Equal(t, a.causes[a.index("not_logged:lights")].Quantity, rep.Trends[tracked].Quantity)
	assert.Equal(t, findings.Step, rep.Trends[tracked].Pattern)
}

// A fault that a service did not end has one trend since the service before it began, as if there had been none in between.
func TestATrendThatAServiceDidNotEnd(t *testing.T) {
	a := plain(predict.LoopOhm, 0.01, 0, 0, 0.2, 0.2, 0.2)
	e := part(a, "power_loop")
	c, first := e.cause, a.r.Baseline+1
	a.epoch[c], a.renewed[c] = a.n, true
	a.eras[c] = []findings.Era{{From: 0, To: first}, {From: first, To: a.n}}
	now := &explanation{components: []component{e}}
	assert.Equal(t, a.n, a.trend(c, now, a.n).From)
	a.mayPersist = []hypothesis{e.hypothesis}
	trend := a.trend(c, now, a.n)
	assert.Equal(t, first, trend.From)
	assert.Equal(t, a.eras[c][:1], trend.Eras)
}

// A circuit that is open by turns has its resistance in the dives in which it is, and its wiring's level in the others.
func TestLevelsOfAnOpenCircuitByTurns(t *testing.T) {
	a := learnt(4, 0, nil, nil)
	open, branch := a.index("open:port"), a.index("branch:port")
	by := []fit.Departure{{Param: predict.OfThruster(0, predict.BranchOhm), X: 53, SD: 18}}
	for _, d := range []int{0, 2} {
		s := a.r.Dives[a.r.Baseline+d].Summary
		s.Failed = map[causes.Failure]fit.Failed{a.causes[open].Fails: {Quadratic: &s.Firm, By: by}}
	}
	h := hypothesis{cause: open, pattern: findings.Turns, onset: a.r.Baseline, on: "1010"}
	levels := a.course(branch, []hypothesis{h}, false, a.n)
	require.Len(t, levels, a.n+1)
	for d, acts := range []bool{true, false, true, false} {
		assert.Equal(t, acts, levels[a.r.Baseline+d].Value > 50, "dive %d after the baseline", d+1)
	}
}

// What a ramp gains a dive is in its quantity's own direction: magnets that weaken turn a motor into a smaller factor each dive, a
// loop that corrodes gains ohms.
func TestSlopesOfQuantities(t *testing.T) {
	for cause, want := range map[string]float64{"motor:port": -0.03, "power_loop": 0.03} {
		c := newAnalysis(exampleFit()).index(cause)
		a := plain(exampleFit().Space.Causes[c].Param(), 0.002, 0.03, 0.06, 0.09, 0.12, 0.15, 0.18)
		e := part(a, cause)
		e.pattern, e.onset = findings.Ramp, a.r.Baseline
		e.onsets = []probable{{e.hypothesis, 1}}
		trend := findings.Trend{Level: findings.Estimate{Value: 1}}
		a.slope(&trend, c, &e, []hypothesis{e.hypothesis}, a.n)
		require.NotNil(t, trend.PerDive, cause)
		assert.InDelta(t, want, trend.PerDive.Value, 0.002, cause)
		assert.Less(t, trend.PerDive.Low, trend.PerDive.High, cause)
		require.Len(t, trend.Ahead, 9, "the newest dive and eight ahead")
		by := want
		if cause == "motor:port" {
			by = math.Exp(8*want) - 1 // of the newest dive's factor
			assert.InDelta(t, 1+by, trend.Ahead[8].Level.Value/trend.Ahead[0].Level.Value, 0.01)
			continue
		}
		assert.InDelta(t, 8*by, trend.Ahead[8].Level.Value-trend.Ahead[0].Level.Value, 0.01)
	}
}

// Wiring that is worse in reverse alone has its level, its dives' own estimates since the onset and its words of that, and the loop's
// and other thrusters' stay as they are.
func TestAChangeAtAnotherPlace(t *testing.T) {
	const sd = 0.1
	a := plain(predict.OfThruster(0, predict.ReverseOhm), sd, 0, 0, 0.8, 0.7, 0.9)
	c, from := a.index("branch:port"), a.r.Baseline
	e := component{hypothesis: hypothesis{cause: c, pattern: findings.Step, onset: from + 2, way: 1}, stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
	e.stays[c], e.best[c] = 1, e.hypothesis
	now := &explanation{components: []component{e}}
	got := a.trend(c, now, a.n)
	assert.Equal(t, []causes.Term{{Param: predict.OfThruster(0, predict.ReverseOhm), Per: 1}}, got.TermsAt(a.n))
	assert.InDelta(t, 0.8/(1+sq(sd/a.causes[c].Amplitudes[0].Step)/3), got.Level.Value, 1e-3)
	assert.Less(t, got.Level.High-got.Level.Low, 0.3)

	rep := &findings.Report{Dives: make([]findings.Dive, len(a.r.Dives))}
	for n := range rep.Dives {
		rep.Dives[n].Estimates = map[string]findings.Estimate{}
	}
	for k := range a.causes {
		a.estimateElsewhere(rep, k, now)
	}
	shrunk := 1 / (1 + sq(sd/a.causes[c].Amplitudes[0].Step)) // by the prior of the change
	for n := range a.n + 1 {
		x, told := rep.Dives[n].Estimates["branch_excess_ohm:port"]
		require.Equal(t, n >= from+2, told, "dive %d", n)
		if told {
			assert.InDelta(t, shrunk*[]float64{0.8, 0.7, 0.9}[n-from-2], x.Value, 1e-6)
			assert.InDelta(t, 2*z95*sd*math.Sqrt(shrunk), x.High-x.Low, 1e-6)
			assert.Len(t, rep.Dives[n].Estimates, 1)
		}
	}
	rep.Trends = []findings.Trend{got}
	f := a.finding(rep, now, &e, true)
	assert.Equal(t, "the wiring of port has gained resistance, in reverse alone", f.Cause.What)
	assert.Equal(t, "branch:port", f.Fault)
	e.way = 0
	assert.Equal(t, "the wiring of port has gained resistance", a.finding(rep, now, &e, true).Cause.What)
}

// What may have begun without being seen is left open: the level then reaches from what is steady to the newest dive's of the likeliest
// change; what is next to impossible is left out.
func TestLevelsOfWhatIsNotSeen(t *testing.T) {
	level := func(slope float64) (p float64, got, steady findings.Estimate) {
		var xs []float64
		for i := range 12 {
			xs = append(xs, slope*float64(max(0, i-5))+0.02*float64(i%3-1))
		}
		a := plain(predict.LoopOhm, 0.05, xs...)
		e, ok := (&weighings{a: a}).withEnds(&explanation{})
		require.True(t, ok)
		require.Empty(t, e.components, "nothing is seen")
		rep := &findings.Report{}
		a.trends(rep, &e)
		c := a.index("power_loop")
		i := slices.IndexFunc(rep.Trends, func(x findings.Trend) bool { return x.Quantity == "excess_resistance_ohm" })
		return a.unseen.stays[c], rep.Trends[i].Level, a.course(c, []hypothesis{{cause: c, pattern: findings.Step, onset: a.r.Baseline}}, false, a.n)[a.n]
	}
	p, got, steady := level(0.014)
	require.Greater(t, p, 0.03, "or the case is none")
	require.Less(t, p, 0.5)
	assert.Less(t, steady.High, 6*0.014, "the mean since the baseline")
	assert.Greater(t, got.High, 6*0.014, "the newest dive's")
	assert.InDelta(t, steady.Low, got.Low, 0.03)

	p, got, steady = level(0)
	require.Less(t, p, 0.025)
	assert.InDeltaSlice(t, []float64{steady.Low, steady.High}, []float64{got.Low, got.High}, 1e-3)
}
