package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What may be passed already is not said to have dives left.
func TestLeft(t *testing.T) {
	for want, e := range map[string]Estimate{
		"none: passed": {0, 0, 0.2}, "1 (to 3; may be passed)": {1, 0, 3}, "0 (to 12; may be passed)": {0, 0, 12}, "6 (3 to 12)": {6, 3, 12}, "40 (12 or more)": {40, 12, farAhead},
	} {
		assert.Equal(t, want, Left(&e))
	}
}
