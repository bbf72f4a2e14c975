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
		for _, d := range LineDangers(v, &dive.Lines[i]) {
			out = append(slices.DeleteFunc(out, func(o Line) bool { return o.Name == d.Name }), d)
		}
	}
	return out
}

// LineDangers are those of one line.
func LineDangers(v *vehicle.Vehicle, l *session.Line) (out []Line) {
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
		add(l.Readings[quantity.BatteryV], UnderLoad)
	case !l.Lights:
		add(l.Readings[quantity.BatteryV], AtRest)
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
