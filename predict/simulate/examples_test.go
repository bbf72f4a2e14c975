package simulate

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

var update = flag.Bool("update", false, "write the examples anew")

// The shipped examples are what the simulator makes.
func TestExamplesAreWhatTheSimulatorMakes(t *testing.T) {
	for _, e := range Examples() {
		dir := filepath.Join("..", "..", "examples", e.Name)
		var log bytes.Buffer
		require.NoError(t, e.WriteLog(&log))
		if *update {
			require.NoError(t, os.MkdirAll(dir, 0o755))
			require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), log.Bytes(), 0o644))
			require.NoError(t, os.WriteFile(filepath.Join(dir, "vehicle.toml"), []byte(VehicleText), 0o644))
		}
		got, err := os.ReadFile(filepath.Join(dir, "dives.csv"))
		require.NoError(t, err)
		assert.Equal(t, log.String(), string(got), e.Name)
		assert.Contains(t, log.String()[:60], "simulated")
	}
}

func analyse(t *testing.T, name string) *findings.Report {
	dir := filepath.Join("..", "..", "examples", name)
	v, err := vehicle.Open(dir)
	require.NoError(t, err)
	log, err := session.Open(dir)
	require.NoError(t, err)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return drift.Analyse(r)
}

// The joint that corrodes from dive 10 raises its alarm, the service clears
// it, and the weeping tube is what is open at the end.
func TestJointExampleIsFound(t *testing.T) {
	rep := analyse(t, "joint")
	require.NotEmpty(t, rep.Alarms)
	assert.Equal(t, "excess_resistance_ohm", rep.Alarms[0].Quantity)
	require.NotNil(t, rep.Alarms[0].ClearedDive)
	assert.Equal(t, "21", *rep.Alarms[0].ClearedDive)
	require.Len(t, rep.Findings, 1)
	assert.Equal(t, "ingress", rep.Findings[0].Fault)
}

func TestSoundExampleIsSilent(t *testing.T) {
	rep := analyse(t, "sound")
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, rep.Findings)
}

// With a voltmeter alone the fit says what it cannot tell.
func TestVoltsOnlyExampleSaysWhatIsMissing(t *testing.T) {
	rep := analyse(t, "volts-only")
	require.NotEmpty(t, rep.Remarks)
	assert.Regexp(t, `resistance and thrust hardly separate; .* would take (its )?±[\d.]+ Ω to ±[\d.]+ Ω`, rep.Remarks[0])
}
