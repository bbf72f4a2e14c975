package vehicle

import (
	"fmt"
	"math"

	"sagline/session/problem"
	"sagline/session/tomlfile"
	"sagline/session/units"
)

// Places tells where the keys of a vehicle.toml stand.
type Places struct {
	File string
	in   *tomlfile.File
}

// Line returns the line of a key such as "instruments.trim_g" or "thruster.0.arm_mm", 0 if the file
// leaves it out.
func (p *Places) Line(key string) int { return p.in.Line(key) }

// farVolts is how many times a thruster's test voltage the battery may have before the test says
// little about how the thruster runs; common practice, no source.
const farVolts = 2

// labelOff is how far a label may lie from the voltage of its cells, as a share; common practice,
// no source.
const labelOff = 0.1

// spoiltBelow is the share of the voltage at which a cell is empty below which it is spoilt: makers
// of lithium-ion cells, empty at 3.0 V, state 2.5 V; from memory.
const spoiltBelow = 2.5 / 3.0

// MostInWaterV is the highest direct voltage in V allowed in water where people swim, natural
// waters included: extra-low voltage in zone 0 of a pool, IEC 60364-7-702, from memory.
const MostInWaterV = 30.0

// Remarks returns what is odd in a vehicle.toml that was read without an error.
func (v *Vehicle) Remarks(p *Places) problem.List {
	r := remarker{v, checker{v: v, in: p.in}, problem.Remarks{File: p.File}}
	r.turning()
	r.thrusters()
	r.tether()
	r.supply()
	r.floating()
	r.unjudged()
	r.upkeep()
	return r.all.List()
}

type remarker struct {
	v   *Vehicle
	c   checker
	all problem.Remarks
}

// add adds a remark on a key, given by its path in the file.
func (r *remarker) add(path, format string, args ...any) {
	line, label := r.c.locate(path)
	r.all.Add(path, line, label, format, args...)
}

// turning finds surge thrusters that together would turn the vehicle. No speed is predicted for
// them, however little their arms differ.
func (r *remarker) turning() {
	sum, first := 0.0, -1
	for i := range r.v.Thrusters {
		if t := &r.v.Thrusters[i]; t.Surge() {
			sum += t.ArmMM
			if first < 0 {
				first = i
			}
		}
	}
	switch {
	case first < 0:
		r.all.Add("surge", 0, "thruster", `none is of axis "surge": no speed is predicted`)
	case math.Abs(sum) >= Straight:
		r.all.Add("surge", r.c.in.Line(join("thruster", first, "arm_mm")), "thruster.arm_mm",
			"those of the surge thrusters add up to %+.6g mm, not 0: all of them ahead would turn the vehicle, so no speed with them is compared", sum)
	}
}

func (r *remarker) thrusters() {
	for i := range r.v.Thrusters {
		if t := &r.v.Thrusters[i]; r.v.Battery.NominalV > farVolts*t.TestV {
			r.add(join("thruster", i, "test_v"), "%g V is far from the battery's %g V: a test nearer to that says more", t.TestV, r.v.Battery.NominalV)
		}
		if t := &r.v.Thrusters[i]; !t.Surge() && t.ArmMM != 0 {
			r.add(join("thruster", i, "arm_mm"), "counts for nothing: a heave thruster does not turn the vehicle about its height")
		}
	}
	for i := range r.v.Thrusters {
		r.lowered(i)
	}
	for _, i := range r.v.BeyondMomentum() {
		t, d := &r.v.Thrusters[i], r.v.mostPropMM(i)
		r.add(join("thruster", i, "test_n"), "%g N is more than momentum theory allows, %.3g N for %.3g W through %.3g mm: check test_n and prop_diameter_mm",
			t.TestN, momentumLimitN(d/1000, t.shaftW(), 1000), t.shaftW(), d)
	}
}

// stated returns what the file states of a key, a range or one number; if nothing, the value that
// is assumed.
func (r *remarker) stated(path string, i int) stated {
	k := byPath[path]
	if e := r.c.in.Find(k.id(i)); e != nil {
		if s, ok := k.number(e.Value); ok {
			return s
		}
	}
	x := r.v.get(k, i)
	return stated{low: x, high: x}
}

// lowered remarks on a test whose given current and resistance no motor has together, so that they
// were lowered.
func (r *remarker) lowered(i int) {
	given := func(path string) float64 {
		if s := r.stated(path, i); s.low == s.high {
			return s.low
		}
		return r.v.get(byPath[path], i)
	}
	t, amps, ohms := &r.v.Thrusters[i], given(testAPath), given(armaturePath)
	if amps != t.TestA || ohms != t.ArmatureOhm {
		r.add(join("thruster", i, "armature_ohm"), "%g Ω with test_a, %g A, takes %.0f %% of test_v, %g V, where a third is usual: %.3g Ω and %.3g A are assumed; measure both",
			ohms, amps, 100*amps*ohms/t.TestV, t.TestV, t.ArmatureOhm, t.TestA)
	}
}

// tether compares the copper with the cable's cross-section, and the weight in water with the
// lightest and heaviest possible: copper with nothing but air, and solid copper.
func (r *remarker) tether() {
	const weight = "tether.weight_g_m"
	t := &r.v.Tether
	copper := 2 * t.Power.Copper()
	room := math.Pi / 4 * t.DiameterMM * t.DiameterMM
	if copper > room {
		r.add("tether.diameter_mm", "%g mm have no room for the power conductors' %.3g mm² of copper", t.DiameterMM, copper)
		return
	}
	// a metre of 1 mm² holds 1 cm³
	said := r.stated(weight, 0)
	if light, heavy := CopperGCM3*copper-room, (CopperGCM3-1)*room; said.high < light || said.low > heavy {
		words := fmt.Sprintf("%g g/m", said.low)
		switch {
		case r.c.in.Line(weight) == 0:
			words += " is assumed, the file has none; it"
		case said.low < said.high:
			words = fmt.Sprintf("%g to %g g/m", said.low, said.high)
		}
		r.add(weight, "%s cannot be: %g mm with %.3g mm² of copper weigh from %.3g to %.3g g/m in water", words, t.DiameterMM, copper, light, heavy)
	}
}

func (r *remarker) supply() {
	b := &r.v.Battery
	if b.NominalV > MostInWaterV {
		r.add("battery.nominal_v", "%g V is more than the %g V direct current that IEC 60364-7-702 allows where people are in the water: keep them out of it", b.NominalV, MostInWaterV)
	}
	if cells := b.wholeCells(); b.offLabel(cells) {
		r.add("battery.nominal_v", "%g V is no label of %s, whose %.0f cells would have about %.3g V", b.NominalV, b.Chemistry, cells, cells*b.chem().cells)
	}
	if of, cells := b.chem(), b.cells(); b.MinimumV > 0 && b.MinimumV < spoiltBelow*of.empty*cells {
		r.add("battery.minimum_v", "%g V is %.3g V a cell, and %s is empty at %g V: a cell drawn so low is spoilt, and a lithium one may burn when it is charged again", b.MinimumV, b.MinimumV/cells, of.name, of.empty)
	}
	for _, need := range []struct {
		path string
		x    float64
	}{{"battery.minimum_v", b.MinimumV}, {"camera.minimum_v", r.v.Camera.MinimumV}, {"relay.pull_in_v", r.v.Relay.PullInV}} {
		if rest := b.RestV(); need.x >= rest {
			r.add(need.path, "%g V is not below the full battery's %.1f V at rest", need.x, rest)
		}
	}
}

// unjudged remarks on parts about which the file states too little to judge their margin.
func (r *remarker) unjudged() {
	v, s := r.v, &r.v.Tether.Signal
	wired := s.AWG != nil || s.AreaMM2 > 0 || s.OhmKM > 0
	coils := v.Relay.CoilOhm > 0 || v.Relay.CoilV > 0
	switch {
	case coils && v.Relay.CoilOhm == 0:
		r.add("relay.coil_ohm", "not stated: whether relays pull in is not judged")
	case coils && v.Relay.CoilV == 0:
		r.add("relay.coil_v", "not stated: whether relays pull in is not judged")
	case coils && !wired:
		r.add("relay.coil_ohm", "tether.signal states no size: whether relays pull in is not judged")
	}
	if v.Lights.Any() && v.Lights.Supply == "signal" && !wired {
		r.add("lights.supply", "tether.signal states no size: what its conductors lose and bear is not judged")
	}
	if v.Camera.OnVehicle() && v.Camera.MinimumV == 0 {
		r.add("camera.supply", "minimum_v is not stated: whether the picture stays is not judged")
	}
}

// floating compares the lift of the tether's floats with the trim and thrust that hold the vehicle
// down.
func (r *remarker) floating() {
	v := r.v
	if kg := math.Abs(v.Hull.TrimG) / 1000; kg > v.Hull.DisplacedKG {
		r.add("hull.trim_g", "%g g is more than the %g kg that the vehicle displaces", v.Hull.TrimG, v.Hull.DisplacedKG)
	}
	if trim, limit := v.Hull.TrimG, v.Limits.IngressG; trim > 0 && trim < limit && r.c.in.Line("limits.ingress_g") > 0 {
		r.add("limits.ingress_g", "%g g is more than the %g g by which the vehicle floats: it sinks before that limit", limit, trim)
	}
	lift, down, newtonsPerKG := 0.0, -v.Hull.TrimG, units.Find("kgf").Factor
	for _, f := range v.Tether.Floats {
		lift += (f.LiftGM - v.Tether.WeightGM) * max(0, min(f.ToM, v.Tether.LengthM)-f.FromM)
	}
	for _, t := range v.Thrusters {
		if !t.Surge() {
			down += 1000 * t.TestN / newtonsPerKG * t.Astern
		}
	}
	if len(v.Tether.Floats) > 0 && lift > max(down, 0) {
		r.add("tether.floats", "they lift %.0f g, and the vertical thrusters and the trim hold down %.0f g: the vehicle could not stay under", lift, max(down, 0))
	}
}
