package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// The card offers what the log reads, its ranges hold what is expected, and
// every reading narrows the drift it is said to tell of.
func TestCardOffersReadingsThatTell(t *testing.T) {
	v := simulate.Fleet(3)
	r, err := fit.Fit(v, simulate.Log(v, simulate.Season{Dives: 8, Start: start, Seed: 2}), nil)
	require.NoError(t, err)
	open := make([]float64, len(r.Drift))
	for i := range open {
		open[i] = 1
	}
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV] = v.Battery.NominalV
	c := predict.Condition{DepthM: 3, TetherOutM: 10, WaterC: 15}
	card := r.Card(p, c, open, 8)
	require.Len(t, card, 8)
	told := map[int]bool{}
	for _, x := range card {
		assert.True(t, x.Low < x.Expected && x.Expected < x.High)
		assert.Less(t, x.After, x.Before)
		assert.NotEqual(t, quantity.LoopOhm, x.Quantity, "never read in this log")
		told[x.Drift] = true
	}
	assert.GreaterOrEqual(t, len(told), 4, "different questions, not the same one again")
	// what is open comes first
	open[at(r, predict.BatteryOhm)] = 1000
	assert.Equal(t, at(r, predict.BatteryOhm), firstBattery(r.Card(p, c, open, 4), at(r, predict.BatteryOhm)))
}

func firstBattery(card []fit.Reading, want int) int {
	for _, x := range card {
		if x.Drift == want {
			return x.Drift
		}
	}
	return -1
}

// A corroded joint is told from a sound one by the voltage at the vehicle, and
// the limit lies between what the two would read.
func TestDecidesTellsAJoint(t *testing.T) {
	v := simulate.Fleet(3)
	r, err := fit.Fit(v, simulate.Log(v, simulate.Season{Dives: 8, Start: start, Seed: 2}), nil)
	require.NoError(t, err)
	sound := append(predict.Params(nil), r.Base...)
	sound[predict.OpenCircuitV] = v.Battery.NominalV
	bad := append(predict.Params(nil), sound...)
	bad[predict.LoopOhm] += 0.2
	x, limit, apart, ok := r.Decides(bad, sound, predict.Condition{DepthM: 3, TetherOutM: 10, WaterC: 15})
	require.True(t, ok)
	assert.Equal(t, quantity.VehicleV, x.Quantity)
	assert.Greater(t, limit, x.Expected, "a sound joint leaves more at the vehicle")
	assert.Greater(t, apart, 5.0)
	_, _, _, ok = r.Decides(sound, sound, predict.Condition{WaterC: 15})
	assert.False(t, ok)
}
