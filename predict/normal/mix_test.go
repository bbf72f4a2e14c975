package normal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A mixture has its mean, its standard deviation and its 95 % points whatever its weights add up to: of two halves far
// apart those points are the 5 % and 95 % ones of either.
func TestMix(t *testing.T) {
	for _, total := range []float64{1, 4} {
		got := Mix([]Component{{0.5 * total, 0, 1}, {0.5 * total, 20, 2}})
		assert.InDelta(t, 10, got.Value, 1e-9)
		assert.InDelta(t, 10.124228, got.SD, 1e-6, "√((1 + 4)/2 + 100)")
		assert.InDelta(t, -1.644854, got.Low, 1e-3)
		assert.InDelta(t, 20+2*1.644854, got.High, 1e-3)
		one := Mix([]Component{{total, 3, 0.5}})
		assert.InDeltaSlice(t, []float64{3, 0.5, 3 - 0.5*1.959964, 3 + 0.5*1.959964}, []float64{one.Value, one.SD, one.Low, one.High}, 1e-4)
	}
}

// A point of a normal is found in a few steps, also from far off; one that is a number and no more has no width.
func TestQuantile(t *testing.T) {
	for _, from := range []float64{1.9, -1, 7} {
		calls := 0
		got := quantile(-8, 8, from, func(x float64) (c, slope, bend float64) {
			calls++
			density := math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
			return 0.5*math.Erfc(-x/math.Sqrt2) - 0.975, density, -x * density
		})
		assert.InDelta(t, 1.959964, got, 1e-6)
		assert.LessOrEqual(t, calls, map[float64]int{1.9: 2, -1: 6, 7: 9}[from], "from %g", from)
	}
	for _, x := range []float64{0, 3, -4000} {
		one := Mix([]Component{{1, x, 0}})
		assert.InDeltaSlice(t, []float64{x, x, x, 0}, []float64{one.Value, one.Low, one.High, one.SD}, 1e-7)
	}
	faint := Mix([]Component{{0.99, 0, 1}, {0.01, 1000, 1}})
	assert.Equal(t, faint.High, faint.Value, "a faint part far off leaves the value in the interval")
}

// A 95 % interval is 1.96 standard deviations either side.
func TestOf(t *testing.T) {
	got := Of(3, 0.5)
	assert.InDeltaSlice(t, []float64{3, 3 - 0.5*1.959964, 3 + 0.5*1.959964, 0.5}, []float64{got.Value, got.Low, got.High, got.SD}, 1e-6)
}
