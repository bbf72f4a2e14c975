package outlook_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/outlook"
)

// What a trend does to the speed: a joint takes it, a leak does not.
func TestProject(t *testing.T) {
	r := simulated(t, 11, func(p predict.Params, n float64) { p[predict.LoopOhm] += 0.02 * n })
	found := false
	for i := range r.Trends {
		p, ok := outlook.Project(r.Result, r.Report, i)
		switch r.Trends[i].Quantity {
		case "excess_resistance_ohm":
			found = true
			require.True(t, ok)
			assert.Greater(t, p.Sound, 1.05*p.Now)
			// half the speed is gone some dives after the limit is reached
			assert.Greater(t, p.DivesToHalf, r.Trends[i].DivesToLimit.Value)
			assert.Less(t, p.DivesToHalf, 200.0)
		case "ingress_g":
			assert.False(t, ok)
		case "thrust_factor":
			require.True(t, ok)
			assert.True(t, math.IsNaN(p.DivesToHalf), "it is no ramp")
		}
	}
	assert.True(t, found)
}
