package normal

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A mixture has its mean, its standard deviation and its 95 % points whatever its weights add up to: of two halves far
// apart those points are the 5 % and 95 % ones of either.
func TestMix(t *testing.T) {
	for _, total := range []float64{1, 4} {
		got := Mix([]Part{{0.5 * total, 0, 1}, {0.5 * total, 20, 2}})
		assert.InDelta(t, 10, got.Value, 1e-9)
		assert.InDelta(t, 10.124228, got.SD, 1e-6, "√((1 + 4)/2 + 100)")
		assert.InDelta(t, -1.644854, got.Low, 1e-3)
		assert.InDelta(t, 20+2*1.644854, got.High, 1e-3)
		one := Mix([]Part{{total, 3, 0.5}})
		assert.InDeltaSlice(t, []float64{3, 0.5, 3 - 0.5*1.959964, 3 + 0.5*1.959964}, []float64{one.Value, one.SD, one.Low, one.High}, 1e-4)
	}
}
