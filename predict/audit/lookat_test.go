package audit

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Of a dive whose fit does not converge the reading that is farthest off is named, where there is one.
func TestLookAt(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:7]
	wrong := &log.Dives[5].Lines[2]
	read := &wrong.Readings[quantity.BatteryV]
	require.True(t, read.Measured())
	read.X, read.Entered = 10*read.X, 10*read.Entered
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	assert.Regexp(t, `^compare its lines with the notebook \(thrusters, units, decimal points\), first line `+fmt.Sprint(wrong.Number)+`, battery_v 1\d\d(\.\d+)?, where a sound vehicle reads 1\d(\.\d)?$`, lookAt(r, 5))
	assert.Equal(t, "no reading of it is far from a sound vehicle's: go by the dives beside it", lookAt(r, 1))
}
