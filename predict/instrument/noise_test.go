package instrument

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// What an instrument is taken to scatter by is drawn from what is said of it, worth 60 readings where the file says it
// and 6 where it is usual, to what the readings show; by neither a quarter nor four times that and more.
func TestNoiseLearns(t *testing.T) {
	for _, c := range []struct{ doubt, was, squares, freedom, want float64 }{
		{6, 1, 100, 25, math.Sqrt(106.0 / 31)}, {60, 1, 100, 25, math.Sqrt(160.0 / 85)}, {6, 2, 25, 25, math.Sqrt(106.0 / 31)}, // squares in twice as large units
		{6, 1, 0, 0, 1}, {6, 1, 6, -3, math.Sqrt(2)}, {6, 1, 1e4, 20, 4}, {6, 1, 0, 500, 0.25},
	} {
		n := &Noise{}
		var squares, freedom [quantity.Count]float64
		for q := range quantity.Count {
			n.Factor[q], n.Doubt[q] = 1, 6
		}
		n.Factor[quantity.Pull], n.Doubt[quantity.Pull], squares[quantity.Pull], freedom[quantity.Pull] = c.was, c.doubt, c.squares, c.freedom
		changed := n.Learn(squares, freedom)
		assert.InDelta(t, c.want, n.Factor[quantity.Pull], 1e-12, "%+v", c)
		assert.Equal(t, math.Abs(c.want-c.was) > 0.02, changed, "%+v", c)
		assert.InDelta(t, c.doubt+max(c.freedom, 0), n.Worth[quantity.Pull], 1e-12)
	}
	v := vehicle.Example()
	assert.InDelta(t, 0.3, NewNoise(v).SD(quantity.Insulation, 2), 1e-12, "of the logarithm")
}
