package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// Of a battery that the file says nothing of the limit is twice what its first dives have; one that is stated stays.
func TestLimitOfABatteryThatIsNotStated(t *testing.T) {
	s := simulatedLog(3, simulate.Season{Dives: 7, Drift: func(_ int, p predict.Params) { p[predict.BatteryOhm] += 0.1 }})
	limit := func(change ...string) (limit, sound float64) {
		v := required(t, s.vehicle)
		for _, set := range change {
			require.NoError(t, v.Set(set))
		}
		before := v.Limits.BatteryResistanceOhm
		r := s.fit(t, v)
		assert.Equal(t, before, v.Limits.BatteryResistanceOhm, "the file's own is left alone")
		return r.Model.Vehicle.Limits.BatteryResistanceOhm, r.Departure(0, predict.BatteryOhm).Value
	}
	got, sound := limit()
	assert.Greater(t, sound, 2*required(t, s.vehicle).Battery.ResistanceOhm, "the guess is of another battery")
	assert.InDelta(t, 2*sound, got, 0.1*sound)
	got, _ = limit("limits.battery_resistance_ohm=0.1")
	assert.Equal(t, 0.1, got)
	v := required(t, s.vehicle)
	assert.True(t, v.BatteryLimitGuessed())
	require.NoError(t, v.Set("battery.resistance_ohm=0.03"))
	assert.False(t, v.BatteryLimitGuessed())
	assert.False(t, vehicle.Example().BatteryLimitGuessed() && vehicle.Example().Belief("battery.resistance_ohm").Origin != vehicle.Prior)
}
