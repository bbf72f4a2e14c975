package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/session"
)

// Readings that no such vehicle could make, such as a loop of 861 kΩ under a
// pull of 99 990 N, are told of with the place of the dive, not as a fault of
// the arithmetic.
func TestAbsurdReadings(t *testing.T) {
	v, err := predict.OpenVehicle("testdata/absurd")
	require.NoError(t, err)
	log, err := session.Open("testdata/absurd")
	require.NoError(t, err)
	_, err = fit.Fit(v, log, nil)
	require.Error(t, err)
	assert.Regexp(t, `dives.csv:14: dive "7": found readings, .* beyond all that vehicle.toml could do; want them looked through$`, err.Error())
}
