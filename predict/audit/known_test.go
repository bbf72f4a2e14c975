package audit_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// A range that is as good as nothing is kept as it is, and one that is as good as a number is one.
func TestKeysNextToNothing(t *testing.T) {
	text := regexp.MustCompile(`joints_ohm = .*`).ReplaceAllString(simulate.VehicleText, "joints_ohm = [2.4e-263, 1.7e-152]")
	text = regexp.MustCompile(`(?m)^resistance_ohm = .*`).ReplaceAllString(text, "resistance_ohm = [0.03, 0.030000000001]")
	v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	_, log, _ := simulate.FleetLog(3, simulate.Season{Dives: 6})
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	found := false
	for _, k := range audit.Keys(r, r.OfBaseline()) {
		assert.False(t, math.IsNaN(k.Now.Low+k.Now.High+k.Left), k.Path)
		found = found || k.Path == "tether.power.joints_ohm"
	}
	assert.True(t, found)
	x := r.Departure(5, predict.BatteryOhm)
	assert.Less(t, x.Low, 0.03)
	assert.Greater(t, x.High, 0.03)
}
