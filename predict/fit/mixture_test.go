package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The interval holds 95 % of all parts, and its value, which a faint part far
// off would else draw out of it.
func TestIntervalOfAMixtureHoldsItsValue(t *testing.T) {
	for _, c := range []struct{ weight, mean, low, high, value float64 }{
		{0.01, 100, -0.01956, 0.02166, 0.02166}, // its 2.5/99 and 97.5/99 points, by NormalDist of Python 3.11
		{1e-5, 1, -0.0196, 0.0196, 1e-5},
		{0.5, 1, -0.01645, 1.01645, 0.5},
	} {
		i := mix([]part{{weight: 1 - c.weight, mean: []float64{0}, sd: []float64{0.01}}, {weight: c.weight, mean: []float64{c.mean}, sd: []float64{0.01}}}, 0, true)
		assert.InDelta(t, c.low, i.Low, 1e-5)
		assert.InDelta(t, c.high, i.High, 1e-5)
		assert.InDelta(t, c.value, i.Value, 1e-5)
		assert.LessOrEqual(t, i.Low, i.Value)
		assert.LessOrEqual(t, i.Value, i.High)
	}
}
