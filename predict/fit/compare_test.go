package fit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

// A reading of a sound vehicle lies apart by what its instrument scatters, and by what the baseline left open: of voltages
// at the vehicle that no baseline dive read, hardly one in a hundred is far.
func TestComparisonOfWhatTheBaselineLeavesOpen(t *testing.T) {
	far, bare, all := 0, 0, 0
	for seed := range uint64(6) {
		s := simulatedLog(seed+1, simulate.Season{Dives: 12})
		for d := range 5 {
			for i := range s.log.Dives[d].Lines {
				s.log.Dives[d].Lines[i].Readings[quantity.VehicleV] = session.Value{}
			}
		}
		r := s.fit(t, nil)
		sound := r.NewComparison()
		for d := 5; d < 12; d++ {
			alone := r.Compare(d, r.Sound(d))
			for i, c := range sound.Dive(d) {
				if c.Quantity != quantity.VehicleV || c.Outlier {
					continue
				}
				all++
				assert.InDelta(t, alone[i].Z*alone[i].SD, c.Z*c.SD, 1e-9)
				if math.Abs(c.Z) > 3 {
					far++
				}
				if math.Abs(alone[i].Z) > 3 {
					bare++
				}
			}
		}
	}
	assert.Less(t, float64(far), 0.01*float64(all))
	assert.Greater(t, float64(bare), 0.05*float64(all))
}
