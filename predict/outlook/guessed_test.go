package outlook_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
	"sagline/session/units"
)

// A battery that the file says nothing of is a guess until two dives tell it, and stays one where they read no volts.
func TestABatteryIsAGuessUntilDivesTellIt(t *testing.T) {
	real := simulate.Fleet(4)
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"x\"\n[battery]\nnominal_v = %g\ncapacity_ah = 2\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n", real.Battery.NominalV, real.Tether.LengthM, real.Tether.Power.AreaMM2)
	for i := range real.Thrusters {
		fmt.Fprintf(&b, "[[thruster]]\nname = %q\naxis = %q\n", real.Thrusters[i].Name, real.Thrusters[i].Axis)
	}
	v, err := vehicle.Read(strings.NewReader(b.String()), vehicle.FileName)
	require.NoError(t, err)
	guessed := func(dives int, without ...quantity.Quantity) bool {
		log := season(t, real, 4, simulate.Season{Dives: dives, Without: without})
		a := judged(t, v, log)
		m := outlook.Margins(a.Model.Vehicle, a.Result, a.Report, log, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0, "")
		return strings.Contains(fmt.Sprint(m.Lines(units.Metric)), "on a guess of the battery's resistance")
	}
	assert.True(t, guessed(1), "one dive")
	assert.False(t, guessed(2), "the baseline need not be full")
	assert.False(t, guessed(7))
	assert.True(t, guessed(1, quantity.BatteryV, quantity.VehicleV, quantity.CurrentA))
	assert.True(t, guessed(7, quantity.BatteryV, quantity.VehicleV, quantity.CurrentA))
}
