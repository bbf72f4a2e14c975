package wording

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A word stands for a thruster of this vehicle or for none, also where no
// thruster has a usual name.
func TestThruster(t *testing.T) {
	usual := []string{"port", "starboard", "vertical"}
	for word, want := range map[string]string{"LEFT": "port", "r": "starboard", "none": "off", "down": "vertical down", "both": "port + starboard", "left astern": "port astern", "StB": "starboard", "x": ""} {
		assert.Equal(t, want, Thruster(word, usual), word)
	}
	for _, word := range []string{"left", "both", "x", ""} {
		assert.Empty(t, Thruster(word, []string{"alpha", "beta", "gamma"}), word)
	}
}
