package drift_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// One bad dive among those that count as sound moves their mean, which every
// estimate stays relative to, but raises nothing later, and the estimates'
// intervals know where the other dives lie.
func TestOneBadBaselineDiveIsNoYardstick(t *testing.T) {
	inside, all := 0, 0
	for seed := range uint64(12) {
		v := simulate.Fleet(seed)
		log, truth := simulate.LogTruth(v, simulate.Season{Dives: 24, Seed: seed, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC),
			Drift: func(d int, p predict.Params) {
				if d == 3 {
					p[predict.LoopOhm], p[predict.LogThrust], p[predict.TrimG] = p[predict.LoopOhm]+0.15, p[predict.LogThrust]-0.15, p[predict.TrimG]-40
				}
			}})
		r, err := fit.Fit(v, log, nil)
		require.NoError(t, err)
		rep := drift.Analyse(r)
		assert.Empty(t, rep.Alarms, "seed %d", seed)
		for d := r.Baseline; d < len(truth); d++ {
			want := truths(truth, d, r.Baseline, v)
			for _, q := range []string{"excess_resistance_ohm", "thrust_factor", "ingress_g"} {
				e := rep.Dives[d].Estimates[q]
				all++
				if e.Low <= want[q] && want[q] <= e.High {
					inside++
				}
			}
		}
	}
	assert.InDelta(t, 0.95, float64(inside)/float64(all), 0.03)
}
