package forecast

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Two neighbouring digits of a number swap, also across the point; like ones do not.
func TestSwaps(t *testing.T) {
	for x, want := range map[float64][]float64{12.3: {21.3, 13.2}, 1.5: {5.1}, 11.2: {12.1}, 100: {10}, 0.45: {4.05, 0.54}, 7: nil} {
		assert.Equal(t, want, swaps(x), "%g", x)
	}
}
