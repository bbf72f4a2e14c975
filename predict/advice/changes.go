package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// A Change is something that a builder can do. Apply changes a vehicle and the parameters it is
// judged with; Assumes words what that takes for granted.
type Change struct {
	Name, Assumes string
	Apply         func(v *vehicle.Vehicle, p predict.Params)
}

// nominalAreas are the conductor areas that are sold, mm² (IEC 60228).
var nominalAreas = []float64{0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16}

// The pitch exponents of static thrust and torque: Wageningen B-series at
// rest, two to four blades, pitch ratios 0.6 to 1.
const (
	thrustByPitch = 1.1
	torqueByPitch = 1.85

	byPitch = "same diameter; static thrust as pitch^1.1, torque as pitch^1.85 (B-series at rest)"
)

// Changes returns what a builder could try on this vehicle. copperShare is the share of a thicker
// tether's added cross-section that is copper.
func Changes(v *vehicle.Vehicle, copperShare float64) []Change {
	var out []Change
	area, legs, sizes := v.Tether.Power.Area(), max(v.Tether.Power.Parallel, 1), Sizes(SoldIn(&v.Tether.Power, v.Units))
	for i, s := range sizes {
		up := s.AreaMM2 > area*1.05 && (i == 0 || sizes[i-1].AreaMM2 <= area*1.05)
		down := s.AreaMM2 < area*0.95 && (i+1 == len(sizes) || sizes[i+1].AreaMM2 >= area*0.95)
		if up || down {
			out = append(out, resize(v, s.AreaMM2, legs, copperShare))
		}
	}
	for _, cut := range []float64{5, 10} {
		if v.Tether.LengthM > cut+5 {
			out = append(out, Change{fmt.Sprintf("tether %s shorter", v.Units.Plain(cut, "m")), "the dives still fit on it",
				func(v *vehicle.Vehicle, p predict.Params) { v.Tether.LengthM -= cut }})
		}
	}
	out = append(out, Change{"joints re-made", "no excess resistance left in the loop", func(v *vehicle.Vehicle, p predict.Params) {
		p[predict.LoopOhm] = min(p[predict.LoopOhm], 0)
	}})
	if volts := v.Battery.NextV(); volts > 0 && volts <= vehicle.MostInWaterV {
		out = append(out, Change{"battery of " + units.Digits(volts, 3) + " V", "motors, relays and lights bear it; same chemistry and Ah, resistance by its cells",
			func(v *vehicle.Vehicle, p predict.Params) { rebattery(v, volts) }})
	}
	if v.Battery.CapacityAh > 0 {
		out = append(out, onBoard(v))
	}
	for _, k := range []float64{1.15, 0.85} {
		out = append(out, Change{fmt.Sprintf("propellers of %+.0f %% pitch", 100*(k-1)),
			byPitch, func(v *vehicle.Vehicle, p predict.Params) { repitch(v, k) }})
	}
	return out
}

// rebattery gives the vehicle a battery of another label, V, of the same cells.
func rebattery(v *vehicle.Vehicle, volts float64) {
	times := volts / v.Battery.NominalV
	v.Battery.NominalV = volts
	v.Battery.ResistanceOhm *= times
	v.Battery.MinimumV *= times
}

// CopperShare is the share of a thicker tether's added cross-section that is copper: 0.11 from 7.0
// to 9.5 mm, the two-core PVC cords to IEC 60227 of 0.75 and 2.5 mm² on which vehicle.toml's prior
// of a tether's thickness rests.
const CopperShare = 0.11

// filled words a copper share.
func filled(share float64) string {
	return fmt.Sprintf("copper fills %.0f %% of the added cross-section", 100*share)
}

// resize changes the conductors, parallel of them in each leg, and with them the tether's diameter.
func resize(v *vehicle.Vehicle, area float64, parallel int, share float64) Change {
	t := &v.Tether
	more := 2 * (float64(parallel)*area - t.Power.Copper())
	now := math.Pi / 4 * t.DiameterMM * t.DiameterMM
	section := max(now+more/share, now/4)
	diameter := math.Sqrt(4 / math.Pi * section)
	return Change{"conductors of " + sizeName(SoldIn(&t.Power, v.Units), area, parallel),
		fmt.Sprintf("%s: tether of %s; same weight in water", filled(share), v.Units.Show(diameter, "mm", 1)),
		func(v *vehicle.Vehicle, p predict.Params) {
			v.Tether.Power.AreaMM2, v.Tether.Power.AWG, v.Tether.Power.OhmKM, v.Tether.Power.Parallel = area, nil, 0, parallel
			v.Tether.DiameterMM = diameter
		}}
}

// onBoard carries the battery in a neutral housing: no loss in the tether, but more to push.
func onBoard(v *vehicle.Vehicle) Change {
	kg := v.Battery.WeightKG()
	grown := math.Pow((v.Hull.DisplacedKG+kg)/v.Hull.DisplacedKG, 2.0/3)
	return Change{"battery carried on board",
		fmt.Sprintf("%s of battery in a housing that floats it; drag areas %.0f %% larger, as displacement^(2/3); no electronics or charging on board thought of. %s", v.Units.Show(kg, "kg", 1), 100*(grown-1), strings.Join(Batteries[:2], " ")),
		func(v *vehicle.Vehicle, p predict.Params) {
			v.Tether.Power = vehicle.Conductor{AreaMM2: 1000, Parallel: 1}
			p[predict.LoopOhm] = 0
			v.Hull.DragAreaM2 *= grown
			v.Hull.ClimbDragAreaM2 *= grown
			v.Hull.DisplacedKG += kg
		}}
}

// repitch scales the propellers' pitch: pitch speed, and the test's thrust and torque as in the
// B-series at rest.
func repitch(v *vehicle.Vehicle, k float64) {
	for i := range v.Thrusters {
		v.Thrusters[i].PropPitchMM *= k
		retest(&v.Thrusters[i], k)
	}
}

// retest changes a thruster's static test to that of a propeller of k times the pitch.
func retest(t *vehicle.Thruster, k float64) {
	u := t.TestV - t.TestA*t.ArmatureOhm
	t.OtherTestW = cmp.Or(t.OtherTestW, t.TestV*t.TestA)
	t.TestN *= math.Pow(k, thrustByPitch)
	// the same back-EMF with more load wants a higher test voltage
	t.TestA = t.NoLoadA + (t.TestA-t.NoLoadA)*math.Pow(k, torqueByPitch)
	before := t.TestV
	t.TestV = u + t.TestA*t.ArmatureOhm
	// no-load speed is stated at the test voltage: keep revolutions per volt
	t.NoLoadRPM *= (t.TestV - t.NoLoadA*t.ArmatureOhm) / (before - t.NoLoadA*t.ArmatureOhm)
}

// Follow changes in after, which is before with another pitch or another battery, what follows from
// them and stands as it was: the static test by the propellers' pitch, resistance and least voltage
// by the battery's cells. It words what that assumes.
func Follow(before, after *vehicle.Vehicle) (assumes []string) {
	if a, b := &after.Battery, &before.Battery; a.NominalV != b.NominalV && a.Chemistry == b.Chemistry {
		times := a.NominalV / b.NominalV
		for _, x := range [][2]*float64{{&a.ResistanceOhm, &b.ResistanceOhm}, {&a.MinimumV, &b.MinimumV}} {
			if *x[0] == *x[1] {
				*x[0] *= times
			}
		}
		assumes = append(assumes, "same chemistry and Ah, resistance and least voltage by its cells")
	}
	for _, i := range Repitched(before, after) {
		retest(&after.Thrusters[i], after.Thrusters[i].PropPitchMM/before.Thrusters[i].PropPitchMM)
		if !slices.Contains(assumes, byPitch) {
			assumes = append(assumes, byPitch)
		}
	}
	return assumes
}

// InSeries returns how many of the battery before, in series, that after a change is, so that what a
// log says of its resistance beyond the file's goes for each: 0 if it is of other cells or has a
// resistance of its own.
func InSeries(before, after *vehicle.Vehicle) float64 {
	a, b := &after.Battery, &before.Battery
	times := a.NominalV / b.NominalV
	if a.Chemistry != b.Chemistry || math.Abs(a.ResistanceOhm-times*b.ResistanceOhm) > 1e-9 {
		return 0
	}
	return times
}

// RestsAt returns the rest voltage of the battery after a change, V: of one of the same cells as the
// battery before, each.
func RestsAt(before, after *vehicle.Vehicle) float64 {
	if after.Battery.Chemistry != before.Battery.Chemistry {
		return after.Battery.RestV()
	}
	return before.Battery.RestV() * after.Battery.NominalV / before.Battery.NominalV
}

// SetBattery sets in p what follows from the battery after a change. soundOhm is by how much the sound
// battery's resistance exceeds the file's before it, Ω.
func SetBattery(before, after *vehicle.Vehicle, p predict.Params, soundOhm float64) {
	p[predict.OpenCircuitV] = RestsAt(before, after)
	if times := InSeries(before, after); times != 1 {
		p[predict.BatteryOhm] = soundOhm * times
	}
}

// Repitched returns the thrusters that have another pitch after a change and the static test of
// before.
func Repitched(before, after *vehicle.Vehicle) (out []int) {
	for i := range after.Thrusters {
		if a, b := &after.Thrusters[i], &before.Thrusters[i]; a.PropPitchMM != b.PropPitchMM && a.TestN == b.TestN && a.TestA == b.TestA {
			out = append(out, i)
		}
	}
	return out
}
