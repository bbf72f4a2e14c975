package main

import (
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The numbers of README's worked question are those of the example.
func TestReadmeNumbers(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	loop := regexp.MustCompile(`excess loop resistance +(\S+) Ω +(\S+) +(\S+)`).FindStringSubmatch(printedBy(t, "fit", "../../examples/joint", "20"))
	require.Len(t, loop, 4)
	assert.Contains(t, string(readme), loop[1]+" Ω of excess resistance in the power loop (95 %: "+loop[2]+" to "+loop[3]+")")
	trend := printedBy(t, "trend", "../../examples/joint")
	water := regexp.MustCompile(`water taken in is (\S+) `).FindStringSubmatch(trend)
	require.Len(t, water, 2)
	assert.Contains(t, string(readme), water[1]+" g of water taken in")
	assert.Contains(t, trend, "alarm at dive 12: excess loop resistance, ramp since dive 10 (cleared by the service at dive 21)")
}
