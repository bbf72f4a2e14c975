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
	"sagline/predict/vehicle"
)

// A dive that is explained by itself already, or is folded for good, is not explained by itself: by no
// cause, while that something begins there and stays still is weighed. A cause that begins at one dive
// may go on at another, not at the same once more.
func TestADiveIsExplainedByItselfOnce(t *testing.T) {
	a := &analysis{r: &fit.Result{}, n: 9, held: []block{{first: 4}}, causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Step: 1}}, Step: 0.001, Once: 0.002}}}
	s := &scanner{a: a, hs: []hypothesis{{pattern: findings.Once, onset: 7}, {pattern: findings.Step, onset: 5}}, base: &state{}}
	for dive, want := range map[int]struct{ once, stays int }{3: {0, 1}, 4: {1, 1}, 5: {0, 0}, 6: {1, 1}, 7: {0, 1}, 8: {1, 1}} {
		o := newOnsets(a.ofCause(hypothesis{pattern: findings.Step}), false, 0)
		o.steps.SetSym(0, 0, 4)
		o.single.SetSym(0, 0, 4)
		var out evidenceOf
		s.onset(&out, o, hypothesis{onset: dive}, dive+1)
		assert.Len(t, out.once, want.once*len(causes.Sizes), "dive %d", dive)
		assert.Len(t, out.onsets, want.stays*len(causes.Sizes), "dive %d", dive)
	}
}

// A contact with more resistance is not besides an open circuit of the same thruster: of another it may be, and besides another
// fault of its own.
func TestAFailureOfWhatIsExplained(t *testing.T) {
	a := &analysis{causes: causes.Table(vehicle.Example())}
	for of, want := range map[string]bool{"branch:port": true, "branch:starboard": false, "thrust:port": false, "power_loop": false} {
		s := &scanner{a: a, hs: []hypothesis{{cause: a.index(of), pattern: findings.Step, onset: 4}}}
		assert.Equal(t, want, s.isSame(a.index("open:port")), of)
		assert.False(t, s.isSame(a.index("branch:port")), "it may begin again")
		s.hs[0].pattern = findings.Once
		assert.False(t, s.isSame(a.index("open:port")), "of one dive")
	}
}

// A service's own dive is needed to know the level that it left: causes begin after it. What has
// no level, a jam, may begin there.
func TestFirst(t *testing.T) {
	level := causes.Cause{Amplitudes: make([]causes.Amplitude, 1)}
	a := &analysis{epoch: []int{3, 9, 9}, renewed: []bool{false, true, true}, causes: []causes.Cause{level, level, {Fails: causes.Failure{Thruster: 1}}}}
	assert.Equal(t, 3, a.first(0))
	assert.Equal(t, 10, a.first(1))
	assert.Equal(t, 9, a.first(2))
}

// An amplitude is that of a step, or a dive's of a ramp.
func TestSizes(t *testing.T) {
	a := &analysis{causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Step: 0.15, Ramp: 0.02}}}}}
	for pattern, want := range map[string]float64{findings.Step: 0.15, findings.Once: 0.15, findings.Ramp: 0.02} {
		cols := a.ofCause(hypothesis{pattern: pattern})
		require.Len(t, cols, 1)
		assert.Equal(t, want, cols[0].sd, pattern)
		assert.Equal(t, 4*want, a.ofCause(hypothesis{pattern: pattern, size: 1})[0].sd, "%s, far larger", pattern)
	}
}

// A size of far more than is usual is told by the larger prior, one that is usual by the other; all
// sizes together are certain.
func TestLargeSizes(t *testing.T) {
	all := 0.0
	for _, s := range causes.Sizes {
		all += s.P
	}
	assert.InDelta(t, 1, all, 1e-12)
	const info, sd = 400.0, 0.2
	for size, large := range map[float64]bool{0.1: false, 0.3: false, 1.2: true} {
		usual, far := marginal(info, info*size, sd, bounds{worse: 1}), marginal(info, info*size, 4*sd, bounds{worse: 1})
		assert.Equal(t, large, far+math.Log(0.1) > usual+math.Log(0.9), "%g", size)
	}
	// as a fit of two normals would have it
	assert.InDelta(t, 0.5*info*info*1.2*1.2/(info+1/sq(sd))-0.5*math.Log(1+info*sq(sd))+math.Log(2), marginal(info, info*1.2, sd, bounds{worse: 1}), 1e-6)
	assert.Less(t, marginal(info, -info*1.2, sd, bounds{worse: 1}), -4.0, "of the wrong sign")
}

// A bounded cause is weighed in its usual size alone, since a dive or in all.
func TestBounded(t *testing.T) {
	for bounded, want := range map[bool]int{false: len(causes.Sizes), true: 1} {
		a := &analysis{r: &fit.Result{}, n: 9, held: make([]block, 1), causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Step: 1}}, Step: 0.001, Bounded: bounded}}}
		s := &scanner{a: a, base: &state{}}
		o := newOnsets(a.ofCause(hypothesis{pattern: findings.Step}), false, 0)
		o.steps.SetSym(0, 0, 4)
		var out evidenceOf
		s.onset(&out, o, hypothesis{onset: 5}, 6)
		s.always(&out, o, 0, 0)
		assert.Len(t, out.onsets, want)
		assert.Equal(t, want > 1, out.always.sum > 1)
	}
}

// Each pattern has its own prior; that a cause is gone again without a word, which
// few are, takes from it.
func TestPrior(t *testing.T) {
	a := &analysis{r: &fit.Result{Baseline: 5}, n: 12, causes: []causes.Cause{{Step: 0.001, Ramp: 0.004, Once: 0.0002, Turns: 0.0005}, {Amplitudes: make([]causes.Amplitude, 1), Turns: 0.0005}},
		renewed: make([]bool, 2), epoch: make([]int, 2)}
	step, ramp, once := hypothesis{pattern: findings.Step, onset: 9}, hypothesis{pattern: findings.Ramp, onset: 9}, hypothesis{pattern: findings.Once, onset: 9}
	jams, turns, gone := hypothesis{pattern: findings.Turns, onset: 9}, hypothesis{cause: 1, pattern: findings.Turns, onset: 9}, step
	gone.until = 11
	fromStart := hypothesis{cause: 1, pattern: findings.Turns}
	for _, c := range []struct {
		hs   []hypothesis
		want float64
	}{
		{nil, 1}, {[]hypothesis{step}, 0.001}, {[]hypothesis{ramp}, 0.004}, {[]hypothesis{once}, 0.0002},
		{[]hypothesis{turns}, 0.0005 / 16 * causes.Sizes[0].P}, {[]hypothesis{fromStart}, 0.0005 / (1 << 13) * causes.Sizes[0].P * unsound}, {[]hypothesis{jams}, 0.0005}, {[]hypothesis{gone}, 0.001 * goes}, {[]hypothesis{once, ramp}, 0.0002 * 0.004},
	} {
		assert.InEpsilon(t, c.want, math.Exp(a.prior(c.hs)), 1e-9, "%+v", c.hs)
	}
	assert.Less(t, a.prior([]hypothesis{gone}), a.prior([]hypothesis{step})-math.Log(20))
	a.renewed[0], a.epoch[0] = true, 11
	assert.Equal(t, a.prior([]hypothesis{step}), a.prior([]hypothesis{gone}), "a service says why")
}

// A level that a service set anew is none where what it was to end goes on; others stay set anew.
func TestWhatPersistsKeepsItsLevel(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0)
	loop, friction := a.r.Space.Place[predict.LoopOhm], a.r.Space.Place[predict.FrictionA]
	for _, at := range []int{loop, friction} {
		a.levels[at].since, a.levels[at].sd = a.n, 0.2
	}
	h := hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline}
	a.epoch[h.cause] = a.n
	anew := func() (places []int) {
		for _, c := range a.columns([]hypothesis{h}) {
			if c.setAnew() {
				places = append(places, c.terms[0].at)
			}
		}
		return places
	}
	assert.ElementsMatch(t, []int{loop, friction}, anew())
	a.mayPersist = []hypothesis{h}
	assert.Equal(t, []int{friction}, anew())
}

// What a service was to end is looked for after it, in each size and pattern, until the next service of the same or the dives
// since have shown that it ended; what goes on is kept. Of what was not written down a service is the missing line.
func TestWhatAServiceWasToEnd(t *testing.T) {
	of := func(name string, kind causes.Kind, part string) causes.Cause {
		return causes.Cause{Name: name, Kind: kind, Cleared: []string{part}, Step: 0.001, Ramp: 0.001, Amplitudes: []causes.Amplitude{{Step: 1, Ramp: 0.1}}}
	}
	a := &analysis{causes: []causes.Cause{of("loop", causes.Vehicle, "joint"), of("clamp", causes.Instrument, "clamp"), of("ballast", causes.NotLogged, "joint")}, epoch: []int{12, 3, 12}, n: 12}
	best := []hypothesis{{cause: 0, pattern: findings.Ramp, onset: 6}, {cause: 1, pattern: findings.Step, onset: 7}, {cause: 2, pattern: findings.Step, onset: 6}}
	now := &explanation{components: []component{{hypothesis: best[0], stays: []float64{0.6, 0.2, 0.2}, best: best}}}
	a.notePersistent([]string{"joint"}, now)
	require.Len(t, a.mayPersist, 2*len(causes.Sizes), "of the loop alone")
	for _, h := range a.mayPersist {
		assert.Equal(t, []int{0, 6}, []int{h.cause, h.onset})
		assert.True(t, a.persists(h))
	}
	assert.False(t, a.persists(hypothesis{cause: 0, pattern: findings.Step, onset: 7}), "it did not begin then")
	a.n = 12 + seenSince - 1
	a.dropEnded(&explanation{})
	assert.NotEmpty(t, a.mayPersist)
	a.n++
	a.dropEnded(now)
	assert.Equal(t, best[:1], a.mayPersist, "it goes on")
	a.notePersistent([]string{"joint"}, &explanation{})
	assert.Empty(t, a.mayPersist)
}

// What is explained already is weighed no more: a cause that comes and goes, a dive under a second regime, what a service was to end
// beside its own cause.
func TestWhatIsExplainedIsWeighedNoMore(t *testing.T) {
	a := plain(predict.UnloggedA, 0.1, 0.8, 0, 0.8, 0, 0.8, 0)
	lights := hypothesis{cause: a.index("not_logged:lights"), pattern: findings.Turns, onset: a.r.Baseline, on: "101010"}
	for _, hs := range [][]hypothesis{nil, {lights}} {
		s, ok := a.scanner(hs)
		require.True(t, ok)
		s.allCrossTerms()
		var out evidenceOf
		s.amplitudes(&out, lights.cause)
		assert.Equal(t, len(hs) == 0, len(out.onsets) > 0)
	}

	a = learnt(3, 1, []int{0, 1}, nil)
	for d := range 3 {
		a.worse[a.n-d] = []int{predict.LoopOhm}
	}
	jam := hypothesis{cause: a.index("stall:starboard"), pattern: findings.Step, onset: a.r.Baseline, until: a.r.Baseline + 2}
	for _, hs := range [][]hypothesis{nil, {jam}} {
		s, ok := a.scanner(hs)
		require.True(t, ok)
		var out evidenceOf
		s.regimes(&out, a.index("intermittent_contact"))
		assert.Len(t, out.onsets, 3-2*len(hs))
	}

	a = plain(predict.LoopOhm, 0.01, 0, 0.2, 0.2, 0.2, 0.2)
	was := hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline + 1}
	a.epoch[was.cause], a.renewed[was.cause], a.mayPersist = a.n-1, true, []hypothesis{was}
	for _, hs := range [][]hypothesis{nil, {{cause: was.cause, pattern: findings.Step, onset: a.n}}} {
		s, ok := a.scanner(hs)
		require.True(t, ok)
		weighed := slices.ContainsFunc(s.scan()[was.cause].onsets, func(w weighed) bool { return w.h == was })
		assert.Equal(t, len(hs) == 0, weighed)
	}
}

// Onsets are weighed dive by dive as far back as dives are held, before that at as many as perAge for each doubling of their age, in step
// with the baseline's end; never before the first that is asked for, and at those of the explanation in any case.
func TestEarlierOnsets(t *testing.T) {
	s := &scanner{a: &analysis{r: &fit.Result{Baseline: 5}, n: 204}}
	for _, c := range []struct {
		before, first int
		onsets        []int
		want          int
	}{
		{205, 5, nil, 204}, {158, 5, nil, 157}, // of age 48
		{149, 5, nil, 145}, {145, 5, nil, 141}, // by four, of age 56 and 60
		{141, 5, nil, 133}, {137, 5, nil, 133}, {133, 5, nil, 125}, // by eight, of age 64 and more
		{133, 128, nil, 128}, {133, 5, []int{130, 3, 133, 140}, 130}, {133, 5, []int{120}, 125},
	} {
		s.a.onsets = c.onsets
		assert.Equal(t, c.want, s.earlier(c.before, c.first), "%+v", c)
	}
}
