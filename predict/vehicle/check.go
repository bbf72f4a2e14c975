package vehicle

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"sagline/session/problem"
	"sagline/session/units"
)

// Check says what of a vehicle is impossible, after a key was changed.
func (v *Vehicle) Check() error {
	var all problem.List
	c := checker{v: v, file: FileName, all: &all}
	c.vehicle()
	return all.Err()
}

// A checker gathers what is missing or impossible; in is nil for a vehicle
// that comes from no file.
type checker struct {
	v    *Vehicle
	in   *keys
	file string
	all  *problem.List
}

// A place is a table: its path in the file and its name for a reader.
type place struct{ path, shown string }

func table(path string) place { return place{path, path} }

// named is an element of a list, shown by its name where it has one.
func named(list string, i int, name string) place {
	if name == "" {
		return place{join(list, i), fmt.Sprintf("%s %d", list, i+1)}
	}
	return place{join(list, i), list + " " + problem.Quote(name)}
}

func (c *checker) bad(at place, key, format string, args ...any) {
	line := c.line(at.path + "." + key)
	if line == 0 { // what is missing in a table is told where that begins
		line = c.line(at.path)
	}
	c.all.Add(c.file, line, at.shown+"."+key, format, args...)
}

// line is a key's line, 0 where there is none.
func (c *checker) line(path string) int {
	if c.in == nil {
		return 0
	}
	return c.in.line(path)
}

// missing tells a required key that the file lacks.
func (c *checker) missing(at place, key string) bool {
	if c.in == nil || c.in.has(at.path+"."+key) {
		return false
	}
	c.bad(at, key, "missing, want %s", wanted(at.path+"."+key))
	return true
}

// within wants lo <= x <= hi, which no NaN satisfies.
func (c *checker) within(at place, key string, x, lo, hi float64) bool {
	ok := x >= lo && x <= hi
	if !ok {
		c.bad(at, key, "found %g, want %g to %g", x, lo, hi)
	}
	return ok
}

// need is within for a required key.
func (c *checker) need(at place, key string, x, lo, hi float64) bool {
	return !c.missing(at, key) && c.within(at, key, x, lo, hi)
}

func (c *checker) oneOf(at place, key, word string, words ...string) bool {
	ok := slices.Contains(words, word)
	if !ok {
		c.bad(at, key, "found %s, want %s%s", problem.Quote(word), strings.Join(words, " or "), problem.Suggest(word, words))
	}
	return ok
}

// longest is how many characters a name may have.
const longest = 100

// printable says whether a text may stand in a table or a picture.
func printable(s string) bool { return problem.Plain(s) && utf8.RuneCountInString(s) <= longest }

func (c *checker) text(at place, key, s string) {
	if !printable(s) {
		c.bad(at, key, "found %s, want a line of plain text of at most %d characters", problem.Quote(s), longest)
	}
}

// least is the smallest of what must be above 0.
const least = 1e-6

// leastBackEMF is the share of a test's voltage that must be left for the
// back-EMF; below it the motor stood, and rounding is all there is.
const leastBackEMF = 1e-3

func (c *checker) vehicle() {
	v := c.v
	switch {
	case c.in != nil && !c.in.has("name"):
		c.all.Add(c.file, 0, "name", "missing, want %s", wanted("name"))
	case c.in != nil && (strings.TrimSpace(v.Name) == "" || !printable(v.Name)):
		c.all.Add(c.file, c.in.line("name"), "name", "found %s, want a name, a line of plain text of at most %d characters", problem.Quote(v.Name), longest)
	}
	if v.Units != "" && !v.Units.Valid() {
		c.all.Add(c.file, c.line("units"), "units", "found %s, want %s%s", problem.Quote(string(v.Units)),
			strings.Join(units.Names, " or "), problem.Suggest(string(v.Units), units.Names))
	}
	at := table("battery")
	c.need(at, "nominal_v", v.Battery.NominalV, 1, 60)
	c.within(at, "capacity_ah", v.Battery.CapacityAh, 0, 1e4)
	c.within(at, "resistance_ohm", v.Battery.ResistanceOhm, 0, 10)
	c.within(at, "fuse_a", v.Battery.FuseA, 0, 1000)
	c.within(at, "minimum_v", v.Battery.MinimumV, 0, 60)
	c.text(at, "chemistry", v.Battery.Chemistry)
	c.tether()
	at = table("relay")
	c.within(at, "coil_ohm", v.Relay.CoilOhm, 0, 1e5)
	c.within(at, "coil_v", v.Relay.CoilV, 0, 60)
	c.within(at, "pull_in_v", v.Relay.PullInV, 0, 60)
	c.consumers()
	for i := range v.Tubes {
		c.tube(named("tube", i, v.Tubes[i].Name), &v.Tubes[i])
	}
	if len(v.Thrusters) == 0 {
		c.all.Add(c.file, 0, "thruster", "missing, want at least one [[thruster]]")
	}
	seen := map[string]bool{}
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		c.thruster(named("thruster", i, t.Name), t, seen[t.Name])
		seen[t.Name] = true
	}
	at = table("hull")
	c.need(at, "drag_area_m2", v.Hull.DragAreaM2, 1e-5, 100)
	c.need(at, "climb_drag_area_m2", v.Hull.ClimbDragAreaM2, 1e-5, 100)
	c.need(at, "displaced_kg", v.Hull.DisplacedKG, 0.01, 1e4)
	c.within(at, "wake", v.Hull.Wake, 0, 0.9)
	c.need(at, "trim_g", v.Hull.TrimG, -1e6, 1e6)
	c.within(at, "foam_loss_g_m", v.Hull.FoamLossGM, 0, 1e4)
	c.within(at, "ballast_density_kg_m3", v.Hull.BallastDensityKGM3, 1001, 25000)
	c.readings()
	c.within(table("baseline"), "dives", float64(v.Baseline.Dives), 2, 50)
}

func (c *checker) tether() {
	at, t := table("tether"), &c.v.Tether
	c.need(at, "length_m", t.LengthM, 0.1, 2000)
	c.need(at, "diameter_mm", t.DiameterMM, 0.1, 200)
	c.within(at, "weight_g_m", t.WeightGM, -5000, 5000)
	c.within(at, "normal_drag", t.NormalDrag, 0, 10)
	c.within(at, "skin_drag", t.SkinDrag, 0, 1)
	c.conductor(table("tether.power"), &t.Power, true)
	c.conductor(table("tether.signal"), &t.Signal, false)
	for i := range t.Floats {
		f, at := &t.Floats[i], named("tether.floats", i, "")
		c.within(at, "from_m", f.FromM, 0, 2000)
		if c.within(at, "to_m", f.ToM, 0, 2000) && f.ToM <= f.FromM {
			c.bad(at, "to_m", "found %g, want more than from_m %g", f.ToM, f.FromM)
		}
		c.within(at, "lift_g_m", f.LiftGM, -5000, 5000)
	}
}

func (c *checker) conductor(at place, w *Conductor, needed bool) {
	given := 0
	size := func(key string, set bool, x, lo, hi float64) {
		if set || c.in != nil && c.in.has(at.path+"."+key) {
			given++
			c.within(at, key, x, lo, hi)
		}
	}
	awg := 0.0
	if w.AWG != nil {
		awg = *w.AWG
	}
	size("awg", w.AWG != nil, awg, -3, 40)
	size("area_mm2", w.AreaMM2 != 0, w.AreaMM2, 0.005, 500)
	size("ohm_km", w.OhmKM != 0, w.OhmKM, 0.01, 1e5)
	if given > 1 || needed && given == 0 {
		c.all.Add(c.file, c.line(at.path), at.shown, "found %d of awg, area_mm2 and ohm_km, want exactly one", given)
	}
	c.within(at, "parallel", float64(w.Parallel), 1, 100)
	c.within(at, "joints_ohm", w.JointsOhm, 0, 100)
	c.within(at, "shared_return", float64(w.SharedReturn), 0, 100)
}

func (c *checker) consumers() {
	at, l := table("lights"), &c.v.Lights
	c.within(at, "current_a", l.CurrentA, 0, 1000)
	c.within(at, "led_v", l.LEDV, 0, 60)
	for _, r := range l.ResistorOhm {
		if !c.within(at, "resistor_ohm", r, 1e-3, 1e7) {
			break
		}
	}
	c.oneOf(at, "supply", l.Supply, "power", "signal")
	at = table("camera")
	c.within(at, "current_a", c.v.Camera.CurrentA, 0, 1000)
	c.within(at, "minimum_v", c.v.Camera.MinimumV, 0, 60)
	c.oneOf(at, "supply", c.v.Camera.Supply, "own", "shared")
}

func (c *checker) tube(at place, t *Tube) {
	c.text(at, "name", t.Name)
	outer := c.within(at, "outer_mm", t.OuterMM, 0, 2000)
	if c.within(at, "wall_mm", t.WallMM, 0, 200) && outer && t.OuterMM > 0 && 2*t.WallMM >= t.OuterMM {
		c.bad(at, "wall_mm", "found %g, want less than half of outer_mm %g", t.WallMM, t.OuterMM)
	}
	c.within(at, "length_mm", t.LengthMM, 0, 1e4)
	if t.Material != "" {
		c.oneOf(at, "material", t.Material, "pvc", "abs", "acrylic", "aluminium")
	}
}

func (c *checker) thruster(at place, t *Thruster, twice bool) {
	switch {
	case c.missing(at, "name"):
	case twice:
		c.bad(at, "name", "found twice, want a name of its own")
	case strings.TrimSpace(t.Name) == "" || strings.EqualFold(t.Name, "off") || strings.ContainsAny(t.Name, "+,"):
		c.bad(at, "name", "found %s, want a name without + or comma, not off", problem.Quote(t.Name))
	default:
		c.text(at, "name", t.Name)
	}
	if !c.missing(at, "axis") {
		c.oneOf(at, "axis", t.Axis, "surge", "heave")
	}
	testV := c.need(at, "test_v", t.TestV, 0.1, 60)
	testA := c.need(at, "test_a", t.TestA, least, 1000)
	c.need(at, "test_n", t.TestN, least, 1e5)
	ohm := c.need(at, "armature_ohm", t.ArmatureOhm, least, 1000)
	idle := c.need(at, "no_load_a", t.NoLoadA, 0, 1000)
	c.need(at, "no_load_rpm", t.NoLoadRPM, 1, 1e6)
	c.need(at, "prop_pitch_mm", t.PropPitchMM, 0.1, 1e4)
	c.within(at, "prop_diameter_mm", t.PropDiameterMM, 0, 1e4)
	c.within(at, "arm_mm", t.ArmMM, -1e5, 1e5)
	c.within(at, "branch_ohm", t.BranchOhm, 0, 100)
	c.within(at, "astern", t.Astern, 0, 1.5)
	impossible := func(key, format string, args ...any) { c.bad(at, key, "impossible test: "+format, args...) }
	if testA && idle && t.TestA <= t.NoLoadA {
		impossible("test_a", "%g A is not above no_load_a, %g A", t.TestA, t.NoLoadA)
	}
	for _, r := range []struct {
		known bool
		key   string
		a     float64
	}{{testA, "test_a", t.TestA}, {idle, "no_load_a", t.NoLoadA}} {
		if r.known && testV && ohm && t.TestV-r.a*t.ArmatureOhm <= leastBackEMF*t.TestV {
			impossible("armature_ohm", "%s %g A through %g Ω takes all of test_v, %g V", r.key, r.a, t.ArmatureOhm, t.TestV)
		}
	}
}

func (c *checker) readings() {
	at, in := table("instruments"), &c.v.Instruments
	c.within(at, "battery_v", in.BatteryV, least, 100)
	c.within(at, "current_a", in.CurrentA, least, 1000)
	c.within(at, "vehicle_v", in.VehicleV, least, 100)
	c.within(at, "speed_percent", in.SpeedPercent, least, 100)
	c.within(at, "climb_percent", in.ClimbPercent, least, 100)
	c.within(at, "trim_g", in.TrimG, least, 1e4)
	c.within(at, "pull_n", in.PullN, least, 1e4)
	c.within(at, "loop_ohm", in.LoopOhm, least, 100)
	at = table("limits")
	l := &c.v.Limits
	c.within(at, "excess_resistance_ohm", l.ExcessResistanceOhm, least, 100)
	c.within(at, "thrust_factor", l.ThrustFactor, 0, 1)
	c.within(at, "friction_a", l.FrictionA, least, 1000)
	c.within(at, "ingress_g", l.IngressG, least, 1e6)
	c.within(at, "battery_resistance_ohm", l.BatteryResistanceOhm, 0, 100)
	c.within(at, "branch_excess_ohm", l.BranchExcessOhm, least, 100)
}
