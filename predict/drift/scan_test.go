package drift

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
)

// A dive that is explained by itself already is not explained by itself once more: by no
// cause, while that something begins there and stays still is weighed.
func TestADiveIsExplainedByItselfOnce(t *testing.T) {
	a := &analysis{n: 9, causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Step: 1}}, Step: 0.001, Once: 0.002}}}
	s := &scanner{a: a, hs: []hypothesis{{pattern: Once, onset: 7}, {pattern: Step, onset: 5}}, base: &state{}}
	for dive, want := range map[int]int{5: 1, 6: 1, 7: 0, 8: 1} {
		o := newOnsets(a.ofCause(hypothesis{pattern: Step}), false, 0)
		o.steps.SetSym(0, 0, 4)
		o.single.SetSym(0, 0, 4)
		var out evidenceOf
		s.onset(&out, o, hypothesis{onset: dive}, dive+1)
		assert.Len(t, out.once, want, "dive %d", dive)
		assert.Len(t, out.onsets, 1, "dive %d", dive)
	}
}

// A service's own dive is needed to know the level that it left: causes begin after it.
func TestFirst(t *testing.T) {
	a := &analysis{epoch: []int{3, 9}, renewed: []bool{false, true}}
	assert.Equal(t, 3, a.first(0))
	assert.Equal(t, 10, a.first(1))
}

// An amplitude is that of a step, or a dive's of a ramp.
func TestSizes(t *testing.T) {
	a := &analysis{causes: []causes.Cause{{Amplitudes: []causes.Amplitude{{Step: 0.15, Ramp: 0.02}}}}}
	for pattern, want := range map[string]float64{Step: 0.15, Once: 0.15, Ramp: 0.02} {
		cols := a.ofCause(hypothesis{pattern: pattern})
		require.Len(t, cols, 1)
		assert.Equal(t, want, cols[0].sd, pattern)
	}
}

// Each pattern has its own prior; that a cause is gone again without a word, which
// few are, takes from it.
func TestPrior(t *testing.T) {
	a := &analysis{n: 12, causes: []causes.Cause{{Step: 0.001, Ramp: 0.004, Once: 0.0002, Turns: 0.0005}}}
	step, ramp, once := hypothesis{pattern: Step, onset: 9}, hypothesis{pattern: Ramp, onset: 9}, hypothesis{pattern: Once, onset: 9}
	turns, gone := hypothesis{pattern: Turns, onset: 9}, step
	gone.until = 11
	for _, c := range []struct {
		hs   []hypothesis
		want float64
	}{
		{nil, 1}, {[]hypothesis{step}, 0.001}, {[]hypothesis{ramp}, 0.004}, {[]hypothesis{once}, 0.0002},
		{[]hypothesis{turns}, 0.0005 / 16}, {[]hypothesis{gone}, 0.001 * goes}, {[]hypothesis{once, ramp}, 0.0002 * 0.004},
	} {
		assert.InEpsilon(t, c.want, math.Exp(a.prior(c.hs)), 1e-9, "%+v", c.hs)
	}
	assert.Less(t, a.prior([]hypothesis{gone}), a.prior([]hypothesis{step})-math.Log(20))
}
