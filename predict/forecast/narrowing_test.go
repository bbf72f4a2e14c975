package forecast_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// The key that is named is the one that is known least and enters most: a test
// current first, then the pull; and what is measured narrows the readings.
func TestNarrowings(t *testing.T) {
	v := vehicle.Example()
	held := predict.Condition{Sign: []int8{1, 1, 0}, Electrical: true, Held: true, WaterC: 15, TetherOutM: 20}
	width := func(v *vehicle.Vehicle) float64 {
		m := predict.NewModel(v)
		amps := func(p predict.Params) []float64 {
			var pt predict.Point
			m.Solve(&held, p, &pt, nil)
			return []float64{pt.Out[quantity.CurrentA]}
		}
		p := m.NewParams()
		p[predict.OpenCircuitV] = v.Battery.RestV()
		x := forecast.AsBuilt(v).Readings(amps(p), []quantity.Quantity{quantity.CurrentA}, nil, amps)[0]
		assert.Less(t, x.Low, x.Value)
		assert.Less(t, x.Value, x.High)
		return x.High - x.Low
	}
	before := width(v)
	keys := forecast.Narrowings(v, []predict.Condition{held})
	assert.Regexp(t, `^thruster\..*\.test_a$`, keys[0].Path)
	assert.Greater(t, keys[0].Share, 0.3)
	all := 0.0 // a measurement leaves its own tolerance; what the file gives hardly enters
	for _, k := range keys {
		b := v.Belief(k.Path)
		all += k.Share / (1 - b.Tolerance*b.Tolerance/(b.Residual*b.Residual))
	}
	assert.InDelta(t, 1, all, 0.02)
	for _, name := range []string{"port", "starboard", "vertical"} {
		require.NoError(t, v.Set("thruster."+name+".test_a=5"))
		require.NoError(t, v.Set("thruster."+name+".test_v=12"))
	}
	keys = forecast.Narrowings(v, []predict.Condition{held})
	assert.Regexp(t, `^thruster\..*\.test_n$`, keys[0].Path)
	assert.Less(t, width(v), before/2)
	for _, k := range keys {
		b := v.Belief(k.Path)
		assert.Equal(t, vehicle.Prior, b.Origin, k.Path)
		assert.Greater(t, b.Residual, b.Tolerance, "%s: a measurement tells more", k.Path)
	}
	assert.Empty(t, forecast.Narrowings(v, nil), "of nothing")
}
