package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/invented"
)

// With a tether as thin as a thread the vehicle holds against its own drag
// alone: ½·999.1·0.07·0.3² N, and against its buoyancy.
func TestHoldWithoutTetherIsHullDrag(t *testing.T) {
	v := invented.Vehicle()
	v.Tether.DiameterMM, v.Tether.WeightGM = 0.001, 0
	m := predict.NewModel(v)
	s := Station{CurrentMS: 0.3, DepthM: 4, OffsetM: 3, TetherOutM: 20, WaterC: 15}
	h, err := Hold(m, s, m.NewParams())
	require.NoError(t, err)
	assert.InDelta(t, 0.5*predict.WaterDensity(15, 0)*0.07*0.09, h.ForceUpN, 0.01)
	assert.InDelta(t, (60-2*4)*predict.Gravity/1000, h.ForceDownN, 0.01)
	assert.True(t, h.CanHold)
}

// A stronger current wants more force, and the strongest that can be held is
// where holding ends.
func TestStrongestIsTheEdge(t *testing.T) {
	m := predict.NewModel(invented.Vehicle())
	p := m.NewParams()
	s := Station{DepthM: 4, OffsetM: 6, TetherOutM: 15, WaterC: 15}
	u := Strongest(m, s, p, 3)
	assert.Greater(t, u, 0.1)
	for _, c := range []struct {
		current float64
		can     bool
	}{{u - 0.01, true}, {u + 0.01, false}} {
		s.CurrentMS = c.current
		h, err := Hold(m, s, p)
		require.NoError(t, err)
		assert.Equal(t, c.can, h.CanHold, "%g m/s", c.current)
	}
}
