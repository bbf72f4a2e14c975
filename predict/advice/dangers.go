package advice

import (
	"fmt"
	"slices"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// DiveDangers returns the readings of a dive that say stop, the last of each kind: a wet power
// pair, a battery too low under load or at rest, a tube too deep.
func DiveDangers(v *vehicle.Vehicle, dive *session.Dive) (out []Line) {
	for i := range dive.Lines {
		for _, d := range LineDangers(v, dive.Lines[:i+1]) {
			out = append(slices.DeleteFunc(out, func(o Line) bool { return o.Name == d.Name }), d)
		}
	}
	return out
}

// LineDangers returns the dangers in the last of a dive's lines so far. A battery counts as at rest
// only before the dive's first load.
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

// lowCharge is the share of charge below which a lead-acid battery ages if left so, and a dive may
// end early; common practice, no source.
const lowCharge = 0.5

// Insulation judges a reading from the power pair to the water against
// limits.insulation_megohm.
func Insulation(v *vehicle.Vehicle, megohm float64) Line {
	text := fmt.Sprintf("%s MΩ from the power pair to the water, want %s MΩ or more", units.Digits(megohm, 3), units.Digits(v.Limits.InsulationMegohm, 3))
	met := megohm >= v.Limits.InsulationMegohm
	if !met {
		text += ": out of the water with it, battery unplugged, and find the wet plug or cut jacket"
	}
	return Line{"insulation", true, met, text}
}

// underLoad judges a battery's voltage under load against minimum_v.
func underLoad(v *vehicle.Vehicle, volts float64) Line {
	least := v.Battery.MinimumV
	return Line{"battery", true, volts >= least, fmt.Sprintf("%s V under load, it may not fall below %s V: end the dive", units.Digits(volts, 4), units.Digits(least, 3))}
}

// Charged reports whether a battery that rests at a voltage has at least half of its charge.
func Charged(v *vehicle.Vehicle, volts float64) bool { return v.Battery.Charge(volts) >= lowCharge }

// atRest judges a battery's charge by its voltage an hour after its last load.
func atRest(v *vehicle.Vehicle, volts float64) Line {
	charge := v.Battery.Charge(volts)
	return Line{"charge", true, Charged(v, volts), fmt.Sprintf("%s V with all off: a battery (%s) that rested for an hour has about %.0f %% of its charge, under half: charge it before the next dive",
		units.Digits(volts, 4), v.Battery.Chemistry, 100*charge)}
}
