package instrument

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
}

// What the file says of an instrument is worth 60 readings, what is usual 6; a speed's is a percentage.
func TestNoiseOfAFile(t *testing.T) {
	const file = `name = "tub"
[battery]
nominal_v = 12
[tether]
length_m = 20
[tether.power]
area_mm2 = 1.5
[[thruster]]
name = "port"
axis = "surge"
[instruments]
speed_percent = 7
current_a = 0.3
`
	v, err := vehicle.Read(strings.NewReader(file), vehicle.FileName)
	require.NoError(t, err)
	n := NewNoise(v)
	assert.InDelta(t, 0.07*0.5, n.SD(quantity.Speed, 0.5), 1e-12)
	assert.InDelta(t, 0.3, n.SD(quantity.CurrentA, 8), 1e-12)
	assert.InDelta(t, 0.3, n.SD(quantity.Insulation, 2), 1e-12, "of the logarithm")
	for q, worth := range map[quantity.Quantity]float64{quantity.Speed: 60, quantity.CurrentA: 60, quantity.Climb: 6, quantity.VehicleV: 6} {
		assert.InDelta(t, worth, n.Doubt[q], 1e-12, "%v", q)
		assert.InDelta(t, worth, n.Worth[q], 1e-12, "%v", q)
	}
}

// Speeds scatter by a share, of 0.03 m/s at least; climbs, whose squares are compared, by twice that of the square.
func TestNoiseOfSpeeds(t *testing.T) {
	n := &Noise{}
	for q := range quantity.Count {
		n.Stated[q], n.Factor[q] = 0.02, 1.5
	}
	for _, c := range []struct {
		q       quantity.Quantity
		x, want float64
	}{
		{quantity.CurrentA, 8, 0.03}, {quantity.Speed, 0.5, 0.015}, {quantity.Speed, -0.5, 0.015}, {quantity.Speed, 0.01, 0.0009},
		{quantity.Climb, 0.5, 0.015}, {quantity.Climb, -0.5, 0.015}, {quantity.Climb, 0, 5.4e-5},
	} {
		assert.InDelta(t, c.want, n.SD(c.q, c.x), 1e-12, "%+v", c)
	}
}

// What Learn finds is the likeliest factor: its prior density and the residuals' are together the highest there.
func TestLearnIsTheLikeliest(t *testing.T) {
	const q, squares, readings = quantity.CurrentA, 40.0, 15.0
	n := NewNoise(&vehicle.Vehicle{})
	var s, f [quantity.Count]float64
	s[q], f[q] = squares, readings
	loss := func(factor float64) float64 {
		m := *n
		m.Factor[q] = factor
		return m.Loss() + squares/(factor*factor) + 2*readings*math.Log(factor)
	}
	learnt := *n
	learnt.Learn(s, f)
	at := learnt.Factor[q]
	assert.Greater(t, at, 1.0)
	assert.Less(t, loss(at), loss(at*1.01))
	assert.Less(t, loss(at), loss(at*0.99))
}
