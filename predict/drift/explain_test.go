package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// Of causes in one dive alone the dive counts whose causes together say most, not
// the cause that says most, nor all dives together.
func TestMostOdd(t *testing.T) {
	once := func(cause, dive int, share float64) weighed {
		return weighed{hypothesis{cause: cause, pattern: findings.Once, onset: dive}, math.Log(share)}
	}
	found := []evidenceOf{
		{once: []weighed{once(0, 7, 0.5), once(0, 8, 0.3)}},
		{once: []weighed{once(1, 8, 0.4), once(1, 9, 0.45)}},
		{},
	}
	most := mostOdd(found)
	assert.InDelta(t, 0.7, math.Exp(most.total()), 1e-9)
	assert.Equal(t, hypothesis{cause: 1, pattern: findings.Once, onset: 8}, most.best)
	none := mostOdd(nil)
	assert.True(t, math.IsInf(none.total(), -1))
}

// That something stays is as probable as before; of n dives' evidence that tells
// two causes apart coarse/(coarse+n) is left, and the prior whole.
func TestCoarsen(t *testing.T) {
	s := &scanner{a: &analysis{causes: []causes.Cause{{Step: 0.002}, {Step: 0.0005, Ramp: 0.0005}, {Step: 0.001}}}}
	found := make([]evidenceOf, 3)
	found[0].stays.add(hypothesis{}, math.Log(0.002)+6)
	found[1].stays.add(hypothesis{}, math.Log(0.001)+9)
	for _, n := range []int{1, 20, 200} {
		e := component{stays: []float64{0.2, 0.6, 0}}
		s.coarsen(&e, found, n)
		require.InDelta(t, 0.8, e.stays[0]+e.stays[1], 1e-12)
		assert.Zero(t, e.stays[2])
		power := coarse / (coarse + float64(n))
		assert.InDelta(t, math.Log(2)-3*power, math.Log(e.stays[0]/e.stays[1]), 1e-9)
	}
}

// Which of several thrusters is jammed, and which is open or has lost its propeller, is told by the evidence of fewer dives;
// that one is, against all else, as before.
func TestCoarsenFailures(t *testing.T) {
	fails := func(thruster int, how causes.How) causes.Cause {
		return causes.Cause{Step: 0.001, Fails: causes.Failure{Thruster: thruster, How: how}}
	}
	with := func(of ...causes.Cause) []float64 {
		a := &analysis{causes: of}
		s, found := &scanner{a: a}, make([]evidenceOf, len(of))
		for i := range of {
			found[i].stays.add(hypothesis{cause: len(of) - 1}, math.Log(0.001)+float64(3*i))
		}
		e := component{stays: []float64{0.3, 0.3, 0.4}}
		s.coarsen(&e, found, 17)
		return e.stays
	}
	one := causes.Cause{Step: 0.001}
	were := with(one, one, one)
	assert.InDelta(t, 3*coarse/(coarse+17), math.Log(were[1]/were[0]), 1e-9)
	for _, c := range []struct {
		of    [2]causes.Cause
		power float64
	}{
		{[2]causes.Cause{fails(1, causes.Jammed), fails(2, causes.Jammed)}, coarseFailed / (coarseFailed + 17)},
		{[2]causes.Cause{fails(1, causes.Open), fails(1, causes.Lost)}, coarseFailed / (coarseFailed + 17)},
		{[2]causes.Cause{fails(1, causes.Lost), fails(2, causes.Lost)}, coarseFailed / (coarseFailed + 17)},
		{[2]causes.Cause{fails(1, causes.Jammed), fails(1, causes.Open)}, coarse / (coarse + 17)}, // which no one takes for each other
	} {
		is := with(c.of[0], c.of[1], one)
		assert.InDelta(t, were[2], is[2], 1e-12)
		assert.InDelta(t, 3*c.power, math.Log(is[1]/is[0]), 1e-9, "%+v", c.of)
	}
}

// A circuit that lets through just what a motor without load draws is rarer than one that is broken or corroded.
func TestPartlyOpen(t *testing.T) {
	a := newAnalysis(exampleFit())
	open, d := causes.Failure{Thruster: 1, How: causes.Open}, a.r.Baseline
	a.n = d
	h := hypothesis{cause: slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Fails == open }), pattern: findings.Step, onset: d}
	for times, want := range map[float64]float64{2: 1, 5: 1, 10: partlyOpen, 25: partlyOpen, 32: 1} {
		a.r.Dives[d].Summary.Failed = map[causes.Failure]fit.Failed{open: {By: []fit.Departure{{X: times * a.r.Model.TestOhm(a.r.Base, 0)}}}}
		assert.Equal(t, want, a.partly(h), "%g", times)
	}
	assert.Equal(t, 1.0, a.partly(hypothesis{cause: a.index("power_loop")}))
}

// What a part is put down to is the cause that is likeliest as it is told, with the
// evidence coarsened.
func TestTheLikeliestLeads(t *testing.T) {
	a := &analysis{n: 199, causes: []causes.Cause{{Quantity: "rare", Step: 0.0002}, {Quantity: "common", Step: 0.002}}}
	s := &scanner{a: a, base: &state{log: -20}}
	found := make([]evidenceOf, 2)
	found[0].stays.add(hypothesis{cause: 0, pattern: findings.Step}, math.Log(0.0002)+9)
	found[1].stays.add(hypothesis{cause: 1, pattern: findings.Step}, math.Log(0.002)+6.5)
	require.Greater(t, found[0].stays.total(), found[1].stays.total())
	e := s.weigh(found)
	assert.Equal(t, 1, e.cause)
	assert.Equal(t, 1, e.hypothesis.cause)
	assert.Greater(t, e.stays[1], e.stays[0])
}

// Where the readings do not tell two cases apart, what they are cases of leads, one of them where that is not read or does
// not explain what each does.
func TestACaseLeadsForItsRoot(t *testing.T) {
	a := &analysis{n: 9, causes: []causes.Cause{{Name: "thrust", Step: 0.001}, {Name: "thrust:port", Of: "thrust", Step: 0.001}, {Name: "thrust:starboard", Of: "thrust", Step: 0.001}}}
	for _, c := range []struct {
		root float64 // its log weight
		led  bool
	}{{math.Inf(-1), false}, {-4, false}, {29, true}, {20, false}} {
		found := make([]evidenceOf, 3)
		if !math.IsInf(c.root, -1) {
			found[0].add(hypothesis{cause: 0, pattern: findings.Step, onset: 7}, c.root)
		}
		for i := 1; i < 3; i++ {
			found[i].add(hypothesis{cause: i, pattern: findings.Step, onset: 7}, 30)
		}
		e := (&scanner{a: a, base: &state{}}).weigh(found)
		assert.Equal(t, c.led, e.hypothesis.cause == 0, c.root)
		assert.Equal(t, 7, e.onset)
		if c.led {
			assert.InDelta(t, c.root, e.single, 1e-12)
		} else {
			assert.InDelta(t, 30, e.single, 1e-12, c.root)
			assert.True(t, e.asks(), c.root)
		}
	}
}

// The evidence of as many dives is coarsened as there are since the likeliest cause began.
func TestCoarsenedSinceTheLikeliest(t *testing.T) {
	a := &analysis{n: 199, causes: []causes.Cause{{Quantity: "old", Step: 0.001}, {Quantity: "new", Step: 0.001}, {Quantity: "third", Step: 0.001}}}
	s := &scanner{a: a, base: &state{log: -20}}
	found := make([]evidenceOf, 3)
	found[0].stays.add(hypothesis{cause: 0, pattern: findings.Step, onset: 100}, math.Log(0.001)+4)
	found[1].stays.add(hypothesis{cause: 1, pattern: findings.Step, onset: 190}, math.Log(0.001)+6)
	found[2].stays.add(hypothesis{cause: 2, pattern: findings.Step, onset: 40}, math.Log(0.001)+5)
	e := s.weigh(found)
	assert.Equal(t, 1, e.cause)
	assert.InDelta(t, 2*coarse/(coarse+10), math.Log(e.stays[1]/e.stays[0]), 1e-9)
	assert.InDelta(t, 1, e.stays[0]+e.stays[1]+e.stays[2]+e.none+e.once, 1e-12)
}

// Of each onset what is as well so in all dives alike is left out, and is nothing that has changed; without a word of
// that it stays whole.
func TestDoubt(t *testing.T) {
	var e evidenceOf
	early, late := hypothesis{pattern: findings.Step, onset: 5}, hypothesis{pattern: findings.Step, onset: 12}
	e.add(early, math.Log(6))
	e.add(late, math.Log(2))
	require.True(t, math.IsInf(e.doubt(), -1))
	require.InDelta(t, math.Log(8), e.stays.total(), 1e-12)
	e.always.add(hypothesis{}, math.Log(2))
	taken := e.doubt()
	assert.InDelta(t, 6*6.0/8+2*2.0/4, math.Exp(e.stays.total()), 1e-12)
	assert.InDelta(t, 8, math.Exp(taken)+math.Exp(e.stays.total()), 1e-12)
	assert.Equal(t, early, e.stays.best)
	assert.InDelta(t, math.Log(4.5), e.onsets[0].log, 1e-12)
	e = evidenceOf{}
	e.add(late, math.Log(2))
	e.always.add(hypothesis{}, math.Log(6))
	s := &scanner{a: &analysis{n: 20, causes: []causes.Cause{{Quantity: "one", Step: 0.001}}}, base: &state{log: math.Log(0.5)}}
	assert.InDelta(t, (0.5+2*0.75)/2.5, s.weigh([]evidenceOf{e}).none, 1e-12)
}

// What has no weight at all adds none.
func TestWeightsOfNothing(t *testing.T) {
	var w weights
	for range 2 {
		w.add(hypothesis{}, math.Inf(-1))
	}
	assert.True(t, math.IsInf(w.total(), -1))
	w.add(hypothesis{onset: 3}, -2)
	w.add(hypothesis{}, math.Inf(-1))
	assert.InDelta(t, -2, w.total(), 1e-12)
	assert.Equal(t, 3, w.best.onset)
}

// An amplitude that goes against the way in which its cause is worse, or further than that cause can, counts for as
// little as its normal has there; levels and causes of several amplitudes go either way.
func TestBounds(t *testing.T) {
	one := []causes.Amplitude{{}}
	a := &analysis{n: 9, causes: []causes.Cause{{Worse: 1, Amplitudes: one}, {Worse: -1, Amplitudes: one}, {Amplitudes: one}, {Worse: 1, Amplitudes: []causes.Amplitude{{}, {}}}, {Worse: 1, Most: 40, Amplitudes: one}, {Most: 40, Amplitudes: one}}}
	cdf := distuv.UnitNormal.CDF
	for _, c := range []struct {
		column
		mean float64
		want float64
	}{
		{column{cause: 0}, -4, math.Log(2 * cdf(-2))}, {column{cause: 0}, 4, math.Log(2 * cdf(2))}, {column{cause: 1}, -4, math.Log(2 * cdf(2))},
		{column{cause: 2}, -4, 0}, {column{cause: 3}, -4, 0}, {column{cause: -1}, -4, 0},
		{column{cause: 4}, 30, math.Log(2 * cdf(15) * cdf(5))}, {column{cause: 4}, 44, math.Log(2 * cdf(22) * cdf(-2))},
		{column{cause: 5}, 30, math.Log(cdf(5) * cdf(35))}, {column{cause: 5}, -44, math.Log(cdf(-2) * cdf(42))},
		{column{cause: 4, pattern: findings.Ramp, onset: 0}, 5, math.Log(2 * cdf(2.5) * cdf(-0.5))},          // 40 over ten dives
		{column{cause: 4, pattern: findings.Ramp, onset: 0, until: 5}, 5, math.Log(2 * cdf(2.5) * cdf(1.5))}, // over five
	} {
		s := &state{n: 1, info: []float64{0.5}, lin: []float64{c.mean}} // solved: the triangle is one over the deviation
		assert.InDelta(t, c.want, a.inBounds(s, []column{c.column}, 0), 1e-9, "%+v", c)
	}
}
