// Package fit finds which losses explain a logbook's readings. It believes in
// three things: the baseline dives say how this vehicle differs from its
// file; each later dive differs from that by a few drifts; and a cell that no
// drift could produce is a slip of the pen, to be named and set aside.
package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
)

// A Cell is one reading with what the model says of it.
type Cell struct {
	Line      *session.Line
	Quantity  quantity.Quantity
	Output    quantity.Quantity
	Value, SD float64
	Aside     bool // not believed

	obs    int     // index into the dive's observations
	weight float64 // of the squared residual
	slip   bool    // a decimal point away from what is expected
}

// observation is a line under which at least one cell is compared.
type observation struct {
	cond predict.Condition
	line *session.Line
}

// A dive is one dive's lines, ready for the model.
type dive struct {
	log   *session.Dive
	obs   []observation
	cells []Cell
	rest  float64 // V, from the lines at rest; the nominal voltage without any
}

// outputs pairs what is read with what is predicted.
var outputs = [...]struct {
	q quantity.Quantity
	o quantity.Quantity
}{
	{quantity.BatteryV, quantity.BatteryV}, {quantity.CurrentA, quantity.CurrentA},
	{quantity.VehicleV, quantity.VehicleV}, {quantity.Speed, quantity.Speed},
	{quantity.Climb, quantity.Climb}, {quantity.Trim, quantity.Trim},
	{quantity.Pull, quantity.Pull}, {quantity.LoopOhm, quantity.LoopOhm},
}

// slowest keeps a percentage of a speed from shrinking to nothing, m/s.
const slowest = 0.03

// deviation is one standard deviation of a reading, in its base unit.
func deviation(in *vehicle.Instruments, q quantity.Quantity, x float64) float64 {
	switch q {
	case quantity.BatteryV:
		return in.BatteryV
	case quantity.CurrentA:
		return in.CurrentA
	case quantity.VehicleV:
		return in.VehicleV
	case quantity.Speed:
		return in.SpeedPercent / 100 * max(math.Abs(x), slowest)
	case quantity.Climb:
		return in.ClimbPercent / 100 * max(math.Abs(x), slowest)
	case quantity.Trim:
		return in.TrimG
	case quantity.Pull:
		return in.PullN
	default:
		return in.LoopOhm
	}
}

// match turns a log into observations of the vehicle. Its error lists every
// name in the log that the vehicle does not have.
func match(m *predict.Model, log *session.Log) ([]dive, error) {
	var problems problem.List
	names := thrusterNames(m)
	dives := make([]dive, len(log.Dives))
	for k := range log.Dives {
		dives[k] = matchDive(m, &log.Dives[k], names, log.File, &problems)
	}
	return dives, problems.Err()
}

func thrusterNames(m *predict.Model) []string {
	names := make([]string, len(m.Vehicle.Thrusters))
	for i := range names {
		names[i] = m.Vehicle.Thrusters[i].Name
	}
	return names
}

func matchDive(m *predict.Model, d *session.Dive, names []string, file string, problems *problem.List) dive {
	out := dive{log: d, obs: make([]observation, 0, len(d.Lines)), cells: make([]Cell, 0, 4*len(d.Lines))}
	for i := range d.Lines {
		l := &d.Lines[i]
		o := observation{line: l, cond: Circumstances(m, l)}
		signs(names, l, o.cond.Sign, file, problems)
		before := len(out.cells)
		out.addCells(m, &o)
		if len(out.cells) > before {
			out.obs = append(out.obs, o)
		}
	}
	out.rest = restVoltage(m, &out)
	return out
}

// signs fills in which thrusters ran on a line, and tells of those that the
// vehicle does not have.
func signs(names []string, l *session.Line, sign []int8, file string, problems *problem.List) {
	for _, drive := range l.Drives {
		at := slices.Index(names, drive.Name)
		if at < 0 {
			problems.Add(file, l.Number, `column "thrusters"`, "found %s, want a thruster of vehicle.toml%s",
				problem.Quote(drive.Name), problem.Suggest(drive.Name, names))
			continue
		}
		sign[at] = 1
		if drive.Reversed {
			sign[at] = -1
		}
	}
}

// Circumstances are a line's conditions without its thrusters.
func Circumstances(m *predict.Model, l *session.Line) predict.Condition {
	c := predict.Condition{
		Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: l.Electrical, Lights: l.Lights, Held: l.Held,
		Climbing: l.Readings[quantity.Climb].Measured(), Minute: l.Minute.X, DepthM: l.Depth.X,
		TetherOutM: m.Vehicle.Tether.LengthM, WaterC: 15, Salinity: l.Salinity, BallastG: l.BallastG,
	}
	if l.TetherOut.Measured() {
		c.TetherOutM = l.TetherOut.X
	}
	if l.WaterC.Measured() {
		c.WaterC = l.WaterC.X
	}
	return c
}

func (d *dive) addCells(m *predict.Model, o *observation) {
	known := m.Known(&o.cond)
	for _, pair := range outputs {
		v := o.line.Readings[pair.q]
		if v.Measured() && known[pair.o] {
			d.cells = append(d.cells, Cell{Line: o.line, Quantity: pair.q, Output: pair.o, Value: v.X,
				SD: deviation(&m.Vehicle.Instruments, pair.q, v.X), obs: len(d.obs), weight: 1})
		}
	}
}
