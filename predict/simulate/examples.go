package simulate

import (
	_ "embed" // the example vehicle
	"io"
	"math/rand/v2"
	"strings"
	"time"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// VehicleText is an invented vehicle's vehicle.toml, commented.
//
//go:embed otter.toml
var VehicleText string

// Columns are the columns that the examples use.
var Columns = []string{"dive", "date", "minute", "thrusters", "held", "battery_v", "current_a", "vehicle_v", "depth_m", "tether_out_m",
	"speed_m_s", "climb_m_s", "trim_g", "pull_n", "water_c", "salinity_psu", "serviced", "note"}

// VoltsOnly are the quantities that go unread with only a voltmeter at the battery and a stopwatch.
var VoltsOnly = []quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.Pull}

// An Example is a logbook that ships with the project.
type Example struct {
	Name, Story string
	Season      Season
}

// Examples returns the three that ship, all of them simulated.
func Examples() []Example {
	start := time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC)
	joint := Season{Dives: 30, Start: start, Seed: 4, Service: map[int][]string{21: {"joint"}},
		Drift: func(d int, p predict.Params) {
			if d >= 10 && d < 21 {
				p[predict.LoopOhm] += 0.022 * float64(d-9)
			}
			if d >= 23 {
				p[predict.TrimG] -= 7 * float64(d-22)
			}
		}}
	return []Example{
		{"joint", "a tether joint corrodes from dive 10, is re-made before dive 21; a buoyancy tube weeps from dive 23", joint},
		{"sound", "nothing is wrong", Season{Dives: 24, Start: start, Seed: 8}},
		{"volts-only", "a joint corrodes from dive 8 and is re-made before dive 17, logged with a voltmeter and a stopwatch alone", Season{Dives: 24, Start: start, Seed: 12, Without: VoltsOnly,
			Service: map[int][]string{17: {"joint"}},
			Drift: func(d int, p predict.Params) {
				if d >= 8 && d < 17 {
					p[predict.LoopOhm] += 0.06 * float64(d-7)
				}
			}}},
	}
}

// WriteLog writes an example's dives.csv. Its first line says that it is simulated.
func (e Example) WriteLog(w io.Writer) error {
	v, err := vehicle.Read(strings.NewReader(VehicleText), "vehicle.toml")
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, "# simulated: an invented vehicle in invented water; "+e.Story+"\n"); err != nil {
		return err
	}
	return session.Write(w, Columns, Log(v, e.Season))
}

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
