package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
)

// The slope of a change may change at up to twelve dives, evenly from the newest back, never before the
// dive after its onset; its variance over them is that of the walk.
func TestKinks(t *testing.T) {
	for _, c := range []struct{ onset, last, by, first, n int }{
		{5, 6, 1, 6, 1}, {5, 17, 1, 6, 12}, {5, 18, 2, 6, 7}, {5, 41, 3, 8, 12}, {5, 5, 1, 0, 0},
	} {
		ks := (&column{onset: c.onset, pattern: findings.Step, cause: 3, of: 2, sd: 9}).kinks(5, c.last)
		if !assert.Len(t, ks, c.n, "%+v", c) || c.n == 0 {
			continue
		}
		variance := 0.0
		for i, k := range ks {
			assert.Equal(t, c.last-i*c.by, k.onset)
			assert.Equal(t, findings.Ramp, k.pattern)
			assert.Equal(t, -1, k.cause, "either way")
			assert.Equal(t, 5, k.by)
			variance += sq(k.share * float64(c.last-c.onset+1)) // against the mean slope of a unit
		}
		assert.Equal(t, c.first, ks[len(ks)-1].onset)
		assert.InDelta(t, 1, variance*float64(c.last-c.onset)/float64(c.n*c.by), 1e-9)
	}
}

// What a change that grows ever slower leaves over is its own, also after it is gone; a straight one is as likely as it
// is straight, and leaves as much to another.
func TestWhatBendsIsNoOtherCause(t *testing.T) {
	const sd = 0.01
	var slower, straight []float64
	for n := 1.0; n <= 12; n++ {
		slower, straight = append(slower, 0.6*(1-math.Exp(-n/3))), append(straight, 0.05*n)
	}
	gone := slices.Concat(slower, make([]float64, 4))
	for name, c := range map[string]struct {
		xs   []float64
		bent bool
	}{"slower": {slower, true}, "slower, then gone": {gone, true}, "straight": {straight, false}} {
		a := plain(predict.LoopOhm, sd, c.xs...)
		a.also(predict.BatteryOhm, sd, make([]float64, len(c.xs))...) // no meter was moved
		h := hypothesis{cause: a.index("power_loop"), pattern: findings.Ramp, onset: a.r.Baseline}
		if len(c.xs) > len(slower) {
			h.until = h.onset + len(slower)
		}
		hs := []hypothesis{h}
		s, _, ok := a.likeliestBends(a.gatherBends(hs, a.n, anyColumn), hs)
		require.True(t, ok)
		if assert.Equal(t, c.bent, s.log > a.logOf(hs)+5, name); !c.bent {
			assert.InDelta(t, a.logOf(hs)+math.Log(bendSizes[0].prior), s.log, 0.3, name)
		}
		assert.InDelta(t, s.log, a.worth(hs)-a.prior(hs), 1e-9, name)
		left, ok := (&weighings{a: a}).of(hs)
		require.True(t, ok)
		assert.Greater(t, left.none, 0.9, name)
	}
	a := plain(predict.LoopOhm, sd, straight...)
	a.also(predict.UnloggedA, 0.1, slices.Concat(make([]float64, 6), slices.Repeat([]float64{0.9}, 6))...)
	left, ok := (&weighings{a: a}).of([]hypothesis{{cause: a.index("power_loop"), pattern: findings.Ramp, onset: a.r.Baseline}})
	require.True(t, ok)
	assert.Less(t, left.none, 0.01)
	assert.Equal(t, "not_logged:lights", a.causes[left.cause].Name)
}
