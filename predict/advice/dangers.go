package advice

import (
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// DiveDangers are the readings of a dive that say stop, of each kind the last: a
// wet power pair, a battery too low under load or at rest, a tube too deep.
func DiveDangers(v *vehicle.Vehicle, dive *session.Dive) (out []Line) {
	for i := range dive.Lines {
		for _, d := range LineDangers(v, dive.Lines[:i+1]) {
			out = append(slices.DeleteFunc(out, func(o Line) bool { return o.Name == d.Name }), d)
		}
	}
	return out
}

// LineDangers are those of the last of a dive's lines so far: a battery is at rest
// before the dive's first load, and not between loads.
func LineDangers(v *vehicle.Vehicle, lines []session.Line) (out []Line) {
	l, loaded := &lines[len(lines)-1], func(l session.Line) bool { return len(l.Drives) > 0 || l.Lights }
	add := func(x session.Value, judge func(*vehicle.Vehicle, float64) Line) {
		if x.Measured() {
			if d := judge(v, x.X); !d.Met {
				out = append(out, d)
			}
		}
	}
	add(l.Readings[quantity.Insulation], Insulation)
	switch {
	case !l.Electrical:
	case len(l.Drives) > 0:
		add(l.Readings[quantity.BatteryV], underLoad)
	case !slices.ContainsFunc(lines, loaded):
		add(l.Readings[quantity.BatteryV], atRest)
	}
	if l.Depth.Measured() {
		for _, t := range Tubes(v, predict.WaterDensity(15, l.Salinity), l.Depth.X) {
			if !t.Met() {
				out = append(out, t.Line(v.Units))
			}
		}
	}
	return out
}
