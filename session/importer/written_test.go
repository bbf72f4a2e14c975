package importer

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
)

// A word stands for a thruster of this vehicle or for none, also where no
// thruster has a usual name.
func TestThruster(t *testing.T) {
	usual := []string{"port", "starboard", "vertical"}
	for word, want := range map[string]string{"LEFT": "port", "r": "starboard", "none": "off", "down": "vertical down", "both": "port + starboard", "left astern": "port astern", "x": ""} {
		assert.Equal(t, want, Thruster(word, usual), word)
	}
	for _, word := range []string{"left", "both", "x", ""} {
		assert.Empty(t, Thruster(word, []string{"alpha", "beta", "gamma"}), word)
	}
}

func TestInUnit(t *testing.T) {
	for _, c := range []struct {
		number, unit, column, want string
		same                       bool
	}{
		{"12.3", "V", "battery_v", "12.3", true}, {"8100", "mA", "current_a", "8.1", false}, {"14", "ft", "depth_m", "4.2672", false}, {"0.5", "min", "run_s", "30", false},
	} {
		column, _ := session.Find(c.column)
		got, same, ok := InUnit(c.number, c.unit, column)
		assert.True(t, ok, c.unit)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.same, same, c.unit)
	}
	depth, _ := session.Find("depth_m")
	_, _, ok := InUnit("12", "V", depth)
	assert.False(t, ok)
}

// Only work that was done counts.
func TestServices(t *testing.T) {
	for note, want := range map[string]string{"new propeller": "propeller", "weed near the propeller": "", "must replace the seal": "", "cleaned hull and prop": "propeller+hull", "added 200 g ballast": ""} {
		assert.Equal(t, want, Services(note), note)
	}
}
