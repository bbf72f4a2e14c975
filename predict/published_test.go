package predict

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/invented"
	"sagline/predict/published"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// Unesco 44 (1983) p. 19, at one atmosphere.
func TestWaterAgainstUnesco44(t *testing.T) {
	for _, row := range published.Rows(t, "testdata/eos80_unesco44.csv") {
		if row["p_dbar"] == 0 {
			assert.InDelta(t, row["rho"], WaterDensity(row["t68"], row["S"]), 5e-6)
		}
	}
}

// A stalled thruster is a resistor: two of 2.2 Ω, one of 3.0 Ω and one of
// 50 Ω on the tether of testdata/tether.cir, as ngspice 39 solves it
// (testdata/tether.out).
func TestCircuitAgainstSpice(t *testing.T) {
	v := invented.Vehicle()
	v.Battery = vehicle.Battery{NominalV: 12.6, ResistanceOhm: 0.03}
	v.Tether.LengthM = 1
	v.Tether.Power = vehicle.Conductor{OhmKM: 210, Parallel: 1, JointsOhm: 0.02}
	v.Thrusters = nil
	for i, ohm := range []float64{2.2, 2.2, 3, 50} {
		v.Thrusters = append(v.Thrusters, vehicle.Thruster{Name: strconv.Itoa(i), Axis: "surge", TestV: 1000, TestA: 101, TestN: 1, ArmatureOhm: ohm / 1000 * 999, NoLoadA: 100, NoLoadRPM: 1000, PropPitchMM: 10, BranchOhm: ohm / 1000})
	}
	m := NewModel(v)
	pt := Point{}
	m.Solve(&Condition{Sign: []int8{1, 1, 1, 1}, Electrical: true, Held: true, WaterC: 20}, m.NewParams(), &pt, nil)
	assert.InDelta(t, 9.983149550591, pt.Out[quantity.CurrentA], 1e-9)
	assert.InDelta(t, 12.30050551348, pt.Out[quantity.BatteryV], 1e-9)
	assert.InDelta(t, 7.907919711222, pt.Out[quantity.VehicleV], 1e-9)
	assert.InDelta(t, 3.594508959646, pt.Amps[0], 1e-9)
	assert.InDelta(t, 0.158158394224, pt.Amps[3], 1e-9)
}

// Two 100 Ω resistors in parallel are 50 Ω: common practice, no source.
func TestTwoStalledInParallel(t *testing.T) {
	v := invented.Vehicle()
	v.Battery = vehicle.Battery{NominalV: 10}
	v.Tether.Power = vehicle.Conductor{OhmKM: 1e-9, Parallel: 1}
	v.Thrusters = v.Thrusters[:2]
	for i := range v.Thrusters {
		v.Thrusters[i].ArmatureOhm, v.Thrusters[i].BranchOhm, v.Thrusters[i].NoLoadA, v.Thrusters[i].TestA, v.Thrusters[i].TestV = 100, 0, 1, 2, 300
	}
	m := NewModel(v)
	pt := Point{}
	m.Solve(&Condition{Sign: []int8{1, 1}, Electrical: true, Held: true}, m.NewParams(), &pt, nil)
	assert.InDelta(t, 10.0/50, pt.Out[quantity.CurrentA], 1e-9)
}

// Unesco 44 (1983) p. 28: 10000 dbar at 30° is 9712.653 m; in shallow water the
// formula agrees with ρ·g·h of sea water within 0.6 %.
func TestDepthAgainstUnesco44(t *testing.T) {
	for _, row := range published.Rows(t, "testdata/unesco44_depth.csv") {
		assert.InDelta(t, row["depth_m"], DepthOfPressure(row["p_dbar"], row["lat"]), 5e-4, "%g dbar at %g°", row["p_dbar"], row["lat"])
	}
	assert.InDelta(t, 9712.653, DepthOfPressure(10000, 30), 5e-4)
	assert.InEpsilon(t, 1e5/(1025*Gravity), DepthOfPressure(10, 45), 6e-3)
}
