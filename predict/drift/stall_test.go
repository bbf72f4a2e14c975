package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/simulate"
)

// A motor that stands has a resistance of its own, less or more than while it runs, and the same in all dives: it is
// jammed and nothing else, and its wiring no worse.
func TestAStandingMotorsResistance(t *testing.T) {
	for _, ohm := range []float64{-0.33, 0.5} {
		s := scenario{season: jammed(port), change: at(predict.OfThruster(port, predict.BranchOhm), ohm)}
		r := s.try(t, 81)
		assert.Equal(t, []string{"stall:port"}, named(r.Report), "%g Ω", ohm)
		level := trendOf(t, r.Report, "branch_excess_ohm:port").Level
		assert.InDelta(t, 0, level.Value, 0.08, "%g Ω", ohm)
		assert.True(t, inside(level, 0), "%g Ω: %v", ohm, level)
	}
}

// A thruster may be jammed since the first dive after the baseline.
func TestAJamSinceTheFirstDive(t *testing.T) {
	const first = 6
	v, log, truth := scenario{season: func(s *simulate.Season) {
		s.Jam = func(d int) int {
			if d < first {
				return 0
			}
			return port + 1
		}
	}}.simulated(83, first+2, onset)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, first+2)
	assert.Equal(t, []string{"stall:port"}, named(rep))
	assert.Equal(t, "6", rep.Findings[0].SinceDive)
}
