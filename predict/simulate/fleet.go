package simulate

import (
	"math/rand/v2"
	"strings"
	"time"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
)

// Fleet returns an invented vehicle for each seed, with battery, tether, thrusters and hull of the
// sizes that clubs and hobby builders use.
func Fleet(seed uint64) *vehicle.Vehicle {
	v, err := vehicle.Read(strings.NewReader(VehicleText), vehicle.FileName)
	if err != nil {
		panic(err) // the embedded vehicle is valid
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	v.Battery.NominalV = []float64{12, 12.8, 14.8}[rng.IntN(3)]
	v.Battery.ResistanceOhm = between(0.02, 0.055)
	v.Limits.BatteryResistanceOhm = 2 * v.Battery.ResistanceOhm
	v.Tether.LengthM, v.Tether.DiameterMM, v.Tether.WeightGM = between(20, 50), between(7, 11), between(-5, 5)
	v.Tether.Power.AreaMM2, v.Tether.Power.JointsOhm = []float64{1.5, 2.5, 4}[rng.IntN(3)], between(0.02, 0.05)
	amps, newtons, ohm, idle := between(5.5, 8.5), between(6, 12), between(0.4, 0.7), between(0.3, 0.55)
	rpm, pitch := between(6000, 9000), between(32, 42)
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		t.TestA, t.TestN, t.ArmatureOhm, t.NoLoadA, t.NoLoadRPM, t.PropPitchMM = amps, newtons, ohm, idle, rpm, pitch
	}
	v.Hull.DragAreaM2, v.Hull.ClimbDragAreaM2 = between(0.05, 0.1), between(0.06, 0.12)
	v.Hull.DisplacedKG, v.Hull.TrimG, v.Hull.FoamLossGM = between(9, 15), between(45, 100), between(0, 2)
	return v
}

// FleetLog returns a vehicle of the fleet, a season of it, and the true parameters of each dive.
func FleetLog(seed uint64, s Season) (*vehicle.Vehicle, *session.Log, []predict.Params) {
	v := Fleet(seed)
	s.Start, s.Seed = time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), seed*104729
	log, truth := LogTruth(v, s)
	return v, log, truth
}
