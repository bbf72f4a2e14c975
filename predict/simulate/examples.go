package simulate

import (
	_ "embed" // the example vehicle
	"io"
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
