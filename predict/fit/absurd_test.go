package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// Readings that no such vehicle could make are told of with the place of the
// dive, not as a fault of the arithmetic: a loop of 861 kΩ under a pull of
// 99 990 N; a propeller's thrust gone up by more than numbers hold.
func TestAbsurdReadings(t *testing.T) {
	for _, c := range []struct {
		folder, place string
		noLoadA       float64 // that no file may state
	}{{"testdata/absurd", `14: dive "7"`, 1.1501250120427793e-09}, {"testdata/absurd-factor", `18: dive "7"`, 9.944562139156306e-299}} {
		folder, place := c.folder, c.place
		v, err := vehicle.Open(folder)
		require.NoError(t, err)
		v.Thrusters[0].NoLoadA = c.noLoadA
		log, err := session.Open(folder)
		require.NoError(t, err)
		_, err = fit.Fit(v, log, nil)
		require.Error(t, err)
		assert.Regexp(t, `dives.csv:`+place+`: found readings, .* beyond all that vehicle.toml could do; want them looked through$`, err.Error())
	}
}
