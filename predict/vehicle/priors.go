package vehicle

import (
	"cmp"
	"math"
	"slices"
)

// Typical values, for the medians of what the file leaves out: common practice, no source,
// unless a constant names one. Tests compare the results with momentum theory and copper.
const (
	typicalAh        = 12.0  // capacity of a battery that states none
	terminalsOhm     = 0.015 // fuse and holder, posts, and a metre of 2.5 mm² lead
	typicalJointsOhm = 0.04
	typicalAmps      = 5.0
	stallShare       = 0.35 // test current as a share of stall current
	noLoadShare      = 0.07 // no-load current as a share of test_a
	rpmPerVolt       = 600.0
	typicalPropMM    = 60.0
	pitchPerDiameter = 0.62
	momentumShare    = 0.33 // pull as a share of momentum theory's bound: a figure of merit of 0.19, small propellers on plain motors
	dragPerVolume    = 1.4  // drag area / volume^(2/3)
	climbPerSurge    = 1.5
	pullInShare      = 0.75
	armMM            = 100.0
)

// has reports whether the file states a key of element i of a list, or of no list.
func (v *Vehicle) has(path string, i int) bool {
	_, ok := v.stated[byPath[path].at(i)]
	return ok
}

// known is has, but true for a vehicle made in code.
func (v *Vehicle) known(path string, i int) bool { return v.stated == nil || v.has(path, i) }

// assumed returns the value of a key that the file leaves out.
func (k *key) assumed(v *Vehicle, i int) float64 {
	if x, ok := v.ofOthers(k, i); ok {
		return x
	}
	return k.prior.median(v, i)
}

// ofOthers returns the median of a key over the other thrusters that state it, or that state keys
// of its formula besides test_v. ok is false if thruster i states such a key itself, or if the
// median does not fit the test that it states.
func (v *Vehicle) ofOthers(k *key, i int) (x float64, ok bool) {
	if k.list() != "thruster" || k.prior.spread.sd == 0 || v.stated == nil || v.hasFormula(k, i) {
		return 0, false
	}
	var of []float64
	for j := range v.Thrusters {
		switch {
		case j == i:
		case v.isStated(k, j):
			if x := v.get(k, j); x > 0 {
				of = append(of, x)
			}
		case v.hasFormula(k, j):
			of = append(of, k.prior.median(v, j))
		}
	}
	if len(of) == 0 {
		return 0, false
	}
	slices.Sort(of)
	x = (of[(len(of)-1)/2] + of[len(of)/2]) / 2
	switch t := &v.Thrusters[i]; k.path {
	case "thruster.*.armature_ohm":
		return x, x*t.TestA < t.TestV/2
	case "thruster.*.no_load_a":
		return x, x < t.TestA/2
	}
	return x, true
}

// hasFormula reports whether thruster i states a key of k's formula besides test_v.
func (v *Vehicle) hasFormula(k *key, i int) bool {
	return slices.ContainsFunc(k.prior.from, func(path string) bool { return path != "thruster.*.test_v" && v.has(path, i) })
}

func batteryOhm(v *Vehicle, _ int) float64 {
	b := &v.Battery
	return terminalsOhm + b.cells()*b.chem().ohmAh/cmp.Or(b.CapacityAh, typicalAh)
}

// tetherMM returns the thickness of a two-core cord of the same copper.
func tetherMM(v *Vehicle, _ int) float64 {
	return 3 + 4*math.Sqrt(v.Tether.Power.Copper())
}

// signalJoints is as for the power loop if there is a signal pair, else 0.
func signalJoints(v *Vehicle, _ int) float64 {
	if s := &v.Tether.Signal; s.AWG == nil && s.AreaMM2 == 0 && s.OhmKM == 0 {
		return 0
	}
	return typicalJointsOhm
}

// testV returns the battery's label, or more if a stated winding and current need more.
func testV(v *Vehicle, i int) float64 {
	t, amps := &v.Thrusters[i], 0.0
	if v.has("thruster.*.test_a", i) {
		amps = t.TestA
	}
	if v.has("thruster.*.no_load_a", i) {
		amps = max(amps, t.NoLoadA)
	}
	if !v.has("thruster.*.armature_ohm", i) {
		amps = 0
	}
	return max(v.Battery.NominalV, 2*amps*t.ArmatureOhm)
}

// testA is 5 A at any voltage: a motor made for more volts draws less for the same watts, one run
// on more volts draws more, and the file does not say which it is. But all that drive ahead together
// draw no more than a short at the tether's end. A stated winding or no-load current is a better
// guide to the motor's size.
func testA(v *Vehicle, i int) float64 {
	t := &v.Thrusters[i]
	ahead := 0
	for j := range v.Thrusters {
		if v.Thrusters[j].Surge() {
			ahead++
		}
	}
	x := min(typicalAmps, v.Battery.NominalV/(v.Tether.CableOhm(20)*float64(max(ahead, 1))))
	switch {
	case v.has("thruster.*.armature_ohm", i):
		x = stallShare * t.TestV / t.ArmatureOhm
	case v.has("thruster.*.no_load_a", i):
		x = t.NoLoadA / noLoadShare
	}
	if v.has("thruster.*.no_load_a", i) {
		x = max(x, 1.5*t.NoLoadA)
	}
	return x
}

func armatureOhm(v *Vehicle, i int) float64 {
	t := &v.Thrusters[i]
	return stallShare * t.TestV / t.TestA
}

func noLoadA(v *Vehicle, i int) float64 { return noLoadShare * v.Thrusters[i].TestA }

func noLoadRPM(v *Vehicle, i int) float64 { return rpmPerVolt * v.Thrusters[i].TestV }

func propMM(v *Vehicle, i int) float64 {
	if v.has("thruster.*.prop_pitch_mm", i) {
		return v.Thrusters[i].PropPitchMM / pitchPerDiameter
	}
	return typicalPropMM
}

func pitchMM(v *Vehicle, i int) float64 { return pitchPerDiameter * v.Thrusters[i].PropDiameterMM }

func testN(v *Vehicle, i int) float64 {
	t := &v.Thrusters[i]
	return momentumShare * momentumLimitN(t.PropDiameterMM/1000, t.shaftW(), 1000)
}

// arm is 0 if some surge thruster states its arm. Otherwise the arms are chosen so that only all
// surge thrusters together run straight: 1, 2, 4 … times armMM to port, and for the last their sum
// to starboard.
func arm(v *Vehicle, i int) float64 {
	var surge []int
	for j := range v.Thrusters {
		if v.Thrusters[j].Surge() {
			if v.has("thruster.*.arm_mm", j) {
				return 0
			}
			surge = append(surge, j)
		}
	}
	switch n := slices.Index(surge, i); {
	case n < 0 || len(surge) < 2:
		return 0
	case n == len(surge)-1:
		return armMM * (math.Exp2(float64(n)) - 1)
	default:
		return -armMM * math.Exp2(float64(n))
	}
}

func dragArea(v *Vehicle, _ int) float64 {
	return dragPerVolume * math.Pow(v.Hull.DisplacedKG/1000, 2.0/3)
}

func climbDragArea(v *Vehicle, _ int) float64 { return climbPerSurge * v.Hull.DragAreaM2 }

func pullIn(v *Vehicle, _ int) float64 { return pullInShare * v.Relay.CoilV }
