//go:build !windows

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Margins of a battery carried on board are judged without the joint that it no longer goes through.
func TestOnBoardWithoutTheJoints(t *testing.T) {
	dir := t.TempDir()
	file, err := os.ReadFile("../../examples/joint/vehicle.toml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "vehicle.toml"), append(file, "\n[camera]\ncurrent_a = 0.2\nminimum_v = 9\nsupply = \"shared\"\n"...), 0o600))
	log, err := os.ReadFile("../../examples/joint/dives.csv")
	require.NoError(t, err)
	corroded, _, found := strings.Cut(string(log), "\n21,") // before the joint was re-made
	require.True(t, found)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), []byte(corroded+"\n"), 0o600))
	out, err := sagline("whatif", dir, "--rank").Output()
	require.NoError(t, err)
	assert.Regexp(t, `(?m)^margins not met, as it is now: .*camera`, string(out))
	assert.Regexp(t, `(?m)^margins not met, battery carried on board: [^c\n]*$`, string(out), "no camera")
}
