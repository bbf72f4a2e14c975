package plotting

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A line ends where it leaves the picture, above or below; one that stays is drawn whole.
func TestLinesEndWhereTheyLeave(t *testing.T) {
	f := frame{left: 0, right: 100, top: 0, foot: 100, x0: 0, x1: 1, y0: 0, y1: 10}
	x := []float64{0, 20, 40}
	for _, c := range []struct{ v, want []float64 }{
		{[]float64{2, 6, 10}, []float64{0, 80, 20, 40, 40, 0}},
		{[]float64{2, 6, 14}, []float64{0, 80, 20, 40, 30, 0}},
		{[]float64{2, 12, 14}, []float64{0, 80, 16, 0}},
		{[]float64{4, -4, 4}, []float64{0, 60, 10, 100}},
		{[]float64{12, 14, 16}, []float64{0, 0}},
	} {
		assert.InDeltaSlice(t, c.want, f.clipped(x, c.v), 1e-9, "%v", c.v)
	}
}
