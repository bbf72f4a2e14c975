package normal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Mean and standard deviation of a few readings are drawn to what is usual, as so many readings of that.
func TestMoments(t *testing.T) {
	var m Moments
	assert.Equal(t, 5.0, m.Mean(5, 0.5))
	assert.Equal(t, 2.0, m.SD(2, 3))
	for _, x := range []float64{1, 3, 8} {
		m.Add(x)
	}
	assert.InDelta(t, (12+0.5*5)/3.5, m.Mean(5, 0.5), 1e-12)
	assert.InDelta(t, math.Sqrt((9+1+16+3*4)/(2+3.0)), m.SD(2, 3), 1e-12)
}
