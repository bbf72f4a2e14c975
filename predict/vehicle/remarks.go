package vehicle

import (
	"math"

	"sagline/session/problem"
)

// Places are where the keys of a vehicle.toml stand.
type Places struct {
	File string
	in   *keys
}

// Line is the line of a key, as "instruments.trim_g" or
// "thruster.0.arm_mm", 0 where the file leaves it out.
func (p *Places) Line(key string) int { return p.in.line(key) }

// farVolts is how many times a thruster's test voltage a battery may have
// before its test says little of how it runs; common practice, no source.
const farVolts = 2

// Remarks are what is odd in a sound vehicle.toml.
func (v *Vehicle) Remarks(p *Places) problem.List {
	r := remarker{v, p, problem.Remarks{File: p.File}}
	r.turning()
	r.thrusters()
	r.tether()
	if v.Battery.FuseA == 0 {
		r.add("battery.fuse_a", "no fuse stated: fuse at the battery, and say for how much")
	}
	return r.all.List()
}

type remarker struct {
	v   *Vehicle
	p   *Places
	all problem.Remarks
}

func (r *remarker) add(key, format string, args ...any) {
	r.all.Add(key, r.p.Line(key), key, format, args...)
}

// turning tells of surge thrusters that would turn the vehicle: its speed is
// then predicted on no line, however little the arms are apart.
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
		r.all.Add("surge", 0, "thruster", `none is of axis "surge": no speed or pull is predicted`)
	case math.Abs(sum) >= Straight:
		r.all.Add("surge", r.p.Line(join("thruster", first, "arm_mm")), "thruster.arm_mm",
			"those of the surge thrusters add up to %+.6g mm, not 0: all of them ahead would turn the vehicle, so no speed with them is compared", sum)
	}
}

func (r *remarker) thrusters() {
	for i := range r.v.Thrusters {
		t := &r.v.Thrusters[i]
		at := named("thruster", i, t.Name)
		if r.v.Battery.NominalV > farVolts*t.TestV {
			r.all.Add(at.path, r.p.Line(at.path+".test_v"), at.shown+".test_v",
				"%g V is far from the battery's %g V: a test nearer to that says more", t.TestV, r.v.Battery.NominalV)
		}
	}
	for _, i := range r.v.boasts() {
		at := named("thruster", i, r.v.Thrusters[i].Name)
		r.all.Add(at.path, r.p.Line(at.path+".test_n"), at.shown+".test_n",
			"claims more pull than momentum theory allows for its power: check test_n and prop_diameter_mm")
	}
}

// tether holds the copper against the room for it.
func (r *remarker) tether() {
	t := &r.v.Tether
	copper := 2 * float64(max(t.Power.Parallel, 1)) * t.Power.Area()
	if room := math.Pi / 4 * t.DiameterMM * t.DiameterMM; copper > room {
		r.add("tether.diameter_mm", "%g mm have no room for the power conductors' %.3g mm² of copper", t.DiameterMM, copper)
	}
}
