package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
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
