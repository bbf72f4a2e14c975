package instrument

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/session/quantity"
)

// A climb is compared by its square with its sign, insulation by its logarithm, all else as it is; and back again.
func TestScales(t *testing.T) {
	for _, c := range []struct {
		q        quantity.Quantity
		x, y, by float64
	}{
		{quantity.CurrentA, -3, -3, 1}, {quantity.Climb, 0.3, 0.09, 0.6}, {quantity.Climb, -0.3, -0.09, 0.6}, {quantity.Climb, 0, 0, 0}, {quantity.Insulation, 20, math.Log(20), 1},
	} {
		assert.InDelta(t, c.y, OnScale(c.q, c.x), 1e-12, "%+v", c)
		assert.InDelta(t, c.x, OffScale(c.q, c.y), 1e-12, "%+v", c)
		assert.InDelta(t, c.by, Slope(c.q, c.x), 1e-12, "%+v", c)
	}
	assert.InDelta(t, math.Log(1e-4), OnScale(quantity.Insulation, 0), 1e-12)
	assert.InDelta(t, 0.2, Spread(quantity.CurrentA, 8, 0.2), 1e-12)
	assert.InDelta(t, 20*0.3, Spread(quantity.Insulation, math.Log(20), 0.3), 1e-12)
	assert.InDelta(t, 0.1, Spread(quantity.Climb, 0.09, 0.07), 1e-12, "0.3 and 0.4 m/s")
	assert.InDelta(t, 0.1, Spread(quantity.Climb, -0.09, 0.07), 1e-12)
}

// The derivatives of a climb become those of its square, all others stay.
func TestStraighten(t *testing.T) {
	pt := &predict.Point{}
	pt.Out[quantity.Climb] = -0.3
	grad := make([][]float64, quantity.Count)
	for q := range grad {
		grad[q] = []float64{2, -1}
	}
	Straighten(pt, grad)
	assert.InDeltaSlice(t, []float64{1.2, -0.6}, grad[quantity.Climb], 1e-12)
	assert.Equal(t, []float64{2, -1}, grad[quantity.CurrentA])
}
