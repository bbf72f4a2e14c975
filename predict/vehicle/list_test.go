package vehicle

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Set takes every key that is listed, and giving each the value that it has
// changes nothing.
func TestKeysAreWhatSetTakes(t *testing.T) {
	text, err := os.ReadFile("testdata/every_key.toml")
	require.NoError(t, err)
	v, err := read(string(text))
	require.NoError(t, err)
	w := v.Clone()
	for _, k := range v.Keys() {
		if k.Value != "" {
			assert.NoError(t, w.Set(k.Name+"="+k.Value), k.Name)
		}
	}
	assert.Equal(t, v, w)
	assert.Contains(t, v.Keys(), Key{"thruster.port.arm_mm", "-160"})
	assert.Contains(t, v.Keys(), Key{"tether.power.awg", "0"})
	assert.Contains(t, v.Keys(), Key{"tether.signal.awg", ""})
	assert.Contains(t, v.Keys(), Key{"units", "imperial"})
}
