package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A reading that is set aside as a slip ends no dive, and what is left out of the
// file is assumed.
func TestCheckFearsNoSlip(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"vehicle.toml", "dives.csv"} {
		text, err := os.ReadFile(filepath.Join("../../examples/sound", name))
		require.NoError(t, err)
		lines := strings.Split(string(text), "\n")
		if name == "vehicle.toml" {
			for i := range lines { // a thin tether whose weight the file leaves out
				switch {
				case strings.HasPrefix(lines[i], "weight_g_m"):
					lines[i] = ""
				case strings.HasPrefix(lines[i], "diameter_mm"):
					lines[i] = "diameter_mm = 4.0"
				}
			}
		}
		for i := len(lines) - 1; i > 0 && name == "dives.csv"; i-- {
			if cells := strings.Split(lines[i], ","); len(cells) > 5 && strings.HasPrefix(cells[3], "port") && strings.HasPrefix(cells[5], "12.") {
				cells[5] = strings.Replace(cells[5], "12.", "1.2", 1)
				lines[i] = strings.Join(cells, ",")
				break
			}
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(strings.Join(lines, "\n")), 0o600))
	}
	out := printedBy(t, "check", dir)
	assert.Contains(t, out, "it is set aside")
	assert.NotContains(t, out, "end the dive")
	assert.Contains(t, out, "tether.weight_g_m: 0 g/m is assumed, the file has none; it cannot be")
}
