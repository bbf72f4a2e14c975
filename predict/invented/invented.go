// Package invented makes vehicles for tests: one of plain numbers, and random ones.
package invented

import (
	"math"

	"pgregory.net/rapid"

	"sagline/predict/vehicle"
)

// Vehicle returns a vehicle with two surge thrusters and one heave thruster on 30 m of tether.
func Vehicle() *vehicle.Vehicle {
	th := func(name, axis string, arm float64) vehicle.Thruster {
		return vehicle.Thruster{Name: name, Axis: axis, TestV: 12, TestA: 7, TestN: 10, ArmatureOhm: 0.5, NoLoadA: 0.5,
			NoLoadRPM: 8000, PropPitchMM: 38, PropDiameterMM: 60, ArmMM: arm, BranchOhm: 0.03, Astern: 0.7}
	}
	return &vehicle.Vehicle{Name: "test", Battery: vehicle.Battery{NominalV: 12.6, ResistanceOhm: 0.04},
		Tether:    vehicle.Tether{LengthM: 30, DiameterMM: 9, WeightGM: -2, NormalDrag: 1.2, SkinDrag: 0.012, Power: vehicle.Conductor{AreaMM2: 2.5, Parallel: 1, JointsOhm: 0.04}},
		Thrusters: []vehicle.Thruster{th("port", "surge", -150), th("starboard", "surge", 150), th("vertical", "heave", 0)},
		Hull:      vehicle.Hull{DragAreaM2: 0.07, ClimbDragAreaM2: 0.08, DisplacedKG: 11, Wake: 0.1, TrimG: 60, FoamLossGM: 2, BallastDensityKGM3: 7850}}
}

// AnyVehicle returns a random vehicle with a static test that a motor could give. Its numbers are
// drawn from wide ranges, some a little beyond those that vehicle.Check allows.
func AnyVehicle(t *rapid.T) *vehicle.Vehicle {
	between := func(lo, hi float64, name string) float64 {
		return lo * math.Pow(hi/lo, rapid.Float64Range(0, 1).Draw(t, name))
	}
	v := &vehicle.Vehicle{Name: "any", Battery: vehicle.Battery{NominalV: between(3, 60, "volts"), ResistanceOhm: between(1e-3, 1, "battery")},
		Tether: vehicle.Tether{LengthM: between(1, 500, "length"), DiameterMM: between(1, 40, "diameter"), WeightGM: rapid.Float64Range(-50, 50).Draw(t, "weight"),
			NormalDrag: between(0.1, 3, "normal"), SkinDrag: between(1e-3, 0.1, "skin"),
			Power: vehicle.Conductor{AreaMM2: between(0.05, 50, "area"), Parallel: rapid.IntRange(1, 4).Draw(t, "parallel"), JointsOhm: between(1e-3, 5, "joints")}},
		Hull: vehicle.Hull{DragAreaM2: between(1e-3, 5, "drag"), ClimbDragAreaM2: between(1e-3, 5, "climb drag"), DisplacedKG: between(0.5, 500, "displaced"),
			Wake: rapid.Float64Range(0, 0.6).Draw(t, "wake"), TrimG: rapid.Float64Range(-2000, 2000).Draw(t, "trim"), BallastDensityKGM3: 7850}}
	switch rapid.IntRange(0, 3).Draw(t, "lights") {
	case 0:
		v.Lights = vehicle.Lights{CurrentA: between(0.01, 30, "light"), Supply: "power"}
	case 1:
		v.Lights = vehicle.Lights{LEDV: between(1, 40, "LED"), ResistorOhm: []float64{between(0.1, 1000, "resistor")}, Supply: "power"}
	}
	for i := range rapid.IntRange(1, 5).Draw(t, "thrusters") {
		th := vehicle.Thruster{Name: string(rune('a' + i)), Axis: rapid.SampledFrom([]string{"surge", "heave"}).Draw(t, "axis"),
			TestV: between(3, 60, "test v"), NoLoadA: between(0.01, 3, "no load"), TestN: between(0.05, 300, "test n"),
			NoLoadRPM: between(2000, 30000, "rpm"), PropPitchMM: between(15, 300, "pitch"), Astern: rapid.Float64Range(0, 1.5).Draw(t, "astern"), BranchOhm: between(1e-4, 2, "branch")}
		th.TestA = th.NoLoadA * between(1.05, 40, "load")
		th.ArmatureOhm = th.TestV / th.TestA * rapid.Float64Range(0.02, 0.95).Draw(t, "armature")
		v.Thrusters = append(v.Thrusters, th)
	}
	return v
}
