package plotting

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session/quantity"
)

// Between 0.02 and 50 MΩ lies 1 MΩ, not 25.
func TestHalfway(t *testing.T) {
	assert.InDelta(t, 1.0, halfway(quantity.Insulation, 0.02, 50), 1e-12)
	assert.InDelta(t, 10.0, halfway(quantity.VehicleV, 9, 11), 1e-12)
}
