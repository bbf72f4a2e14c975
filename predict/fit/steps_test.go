package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Cells that are many take fewer steps, so that their work is no more, but never fewer than the least.
func TestStepsOfManyCells(t *testing.T) {
	for cells, want := range map[int]int{0: 400, 48: 400, 400: 400, 800: 200, 4000: 40, 12000: 30} {
		assert.Equal(t, want, stepsOf(400, 30, 400, cells), "%d cells", cells)
	}
}
