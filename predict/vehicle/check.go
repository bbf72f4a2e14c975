package vehicle

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// Check returns an error that lists what is impossible of a vehicle, for use after a key was
// changed.
func (v *Vehicle) Check() error {
	c := checker{v: v, file: FileName}
	v.each(func(k *key, i int) { // a key that is left out and means none passes
		if k.kind > countKind {
			return
		}
		x := v.get(k, i)
		if _, ok := v.stated[k.at(i)]; !k.allows(x) && (ok || x != 0) {
			c.bad(k.id(i), "found %g, want %s", x, k.between())
		}
	})
	c.shape()
	c.tests()
	return c.all.Err()
}

// A checker collects what is missing or impossible; in is nil for a vehicle that comes from no
// file.
type checker struct {
	v    *Vehicle
	in   *tomlfile.File
	file string
	all  problem.List

	meant []string // paths that are named in problems with other keys
}

// leastBackEMF is the least share of a test's voltage that must be left for the back-EMF; with less
// the motor stood still.
const leastBackEMF = 1e-3

func (c *checker) bad(path, format string, args ...any) {
	line, label := c.locate(path)
	c.all.Add(c.file, line, label, format, args...)
}

// locate returns the line of a key, or that of its table if the key is missing, and its label.
func (c *checker) locate(path string) (line int, label string) {
	parts := strings.Split(path, ".")
	if line = c.in.Line(path); line == 0 {
		line = c.in.Line(strings.Join(parts[:len(parts)-1], "."))
	}
	return line, c.label(parts)
}

// label returns a key's path as a person reads it: `thruster "port".test_a`, with elements without
// a name by their number from 1.
func (c *checker) label(parts []string) string {
	var b strings.Builder
	for i, p := range parts {
		path := strings.Join(parts[:i], ".")
		if n, err := strconv.Atoi(p); err == nil && lists[path] > 0 {
			name := strconv.Itoa(n + 1)
			if path == "thruster" && n < len(c.v.Thrusters) && c.v.Thrusters[n].Name != "" {
				name = problem.Quote(c.v.Thrusters[n].Name)
			}
			b.WriteString(" " + name)
			continue
		}
		if i > 0 {
			b.WriteString(".")
		}
		b.WriteString(tomlfile.Spelt([]string{p}))
	}
	return b.String()
}

// shape finds stated values that do not fit together.
func (c *checker) shape() {
	v := c.v
	c.size("tether.power", &v.Tether.Power, true)
	c.size("tether.signal", &v.Tether.Signal, false)
	for i := range v.Tether.Floats {
		if f := &v.Tether.Floats[i]; f.ToM > 0 && f.ToM <= f.FromM {
			c.bad(join("tether.floats", i, "to_m"), "found %g, want more than from_m %g", f.ToM, f.FromM)
		}
	}
	for i := range v.Tubes {
		if t := &v.Tubes[i]; t.OuterMM > 0 && 2*t.WallMM >= t.OuterMM {
			c.bad(join("tube", i, "wall_mm"), "found %g, want less than half of outer_mm %g", t.WallMM, t.OuterMM)
		}
	}
	for i := range v.Thrusters {
		c.thrusterName(i)
	}
	for i := range v.Joints {
		name := v.Joints[i].Name
		if name != "" && slices.ContainsFunc(v.Joints[:i], func(j Joint) bool { return j.Name == name }) {
			c.bad(join("joint", i, "name"), "found %s twice, want a name of its own", problem.Quote(name))
		}
	}
}

// steadyLoads finds constant currents that the battery cannot carry.
func (c *checker) steadyLoads() {
	b := &c.v.Battery
	most := b.NominalV / 2 / b.ResistanceOhm
	for _, l := range []struct {
		path  string
		amps  float64
		drawn bool
	}{
		{"camera.current_a", c.v.Camera.CurrentA, c.v.Camera.OnVehicle()},
		{"lights.current_a", c.v.Lights.CurrentA, len(c.v.Lights.ResistorOhm) == 0},
	} {
		if l.drawn && l.amps > most {
			c.bad(l.path, "found %g, want less than the %.3g A at which half of battery.nominal_v falls in battery.resistance_ohm, %.3g Ω", l.amps, most, b.ResistanceOhm)
		}
	}
}

// size finds a conductor whose size is stated in several ways or, if it is needed, in none.
func (c *checker) size(path string, w *Conductor, needed bool) {
	n := 0
	for i, is := range []bool{w.AWG != nil, w.AreaMM2 != 0, w.OhmKM != 0} {
		if is || c.in != nil && c.in.Find(path+"."+sizes[i]) != nil {
			n++
		}
	}
	if n > 1 || needed && n == 0 && !c.isMeant(path) {
		c.all.Add(c.file, c.in.Line(path), path, "found %d of awg, area_mm2 and ohm_km, want exactly one", n)
	}
}

func (c *checker) thrusterName(i int) {
	path, name := join("thruster", i, "name"), c.v.Thrusters[i].Name
	switch {
	case name == "": // reported already
	case slices.ContainsFunc(c.v.Thrusters[:i], func(t Thruster) bool { return t.Name == name }):
		c.bad(path, "found twice, want a name of its own")
	case slices.ContainsFunc(c.v.Thrusters[:i], func(t Thruster) bool { return strings.EqualFold(t.Name, name) }):
		c.bad(path, "found %s beside one that differs in capitals alone, want a name of its own", problem.Quote(name))
	case !ThrusterName(name):
		c.bad(path, "found %s, want a name without + or comma and with single blanks, not off, no astern or down at its end", problem.Quote(name))
	}
}

// ThrusterName reports whether a thruster may have a name: dives.csv joins names by +, off means
// none of them, astern or down may follow a name, and blanks and signs that look alike count as
// equal there.
func ThrusterName(s string) bool {
	words := strings.Fields(s)
	if len(words) == 0 || strings.Join(words, " ") != s || !printable(s) || strings.EqualFold(s, "off") {
		return false
	}
	last := words[len(words)-1]
	return !(len(words) > 1 && (strings.EqualFold(last, "astern") || strings.EqualFold(last, "down"))) && !strings.HasPrefix(s, "'") && !strings.ContainsAny(s, "+,\u2212\ufeff")
}

func (c *checker) tests() {
	for i := range c.v.Thrusters {
		c.v.reconcile(i)
		c.test(i)
	}
	c.steadyLoads()
}

// mostOfTest is the share of a test's voltage that its current and the armature may take together.
// A propeller loads a motor to about a third of its stall current; common practice, no source.
const mostOfTest = 0.8

// farFromGiven is the number of its tolerances beyond which a given number is a mistake in writing;
// common practice, no source.
const farFromGiven = 3.0

// ofRounding is the rounding error allowed in a logarithm.
const ofRounding = 1e-12

// The numbers of a test that together leave no back-EMF where they are too high.
const (
	testAPath    = "thruster.*.test_a"
	armaturePath = "thruster.*.armature_ohm"
)

// reconcile lowers the current and the resistance of a thruster's test where together they take
// more than mostOfTest of its voltage, as in no motor. It first lowers ranges, down to their low
// ends. Where that is not enough it lowers given numbers by up to farFromGiven tolerances, as they
// may be copied from another motor's sheet. Given numbers that would have to fall further stay as
// written.
func (v *Vehicle) reconcile(i int) {
	t := &v.Thrusters[i]
	for _, given := range []bool{false, true} {
		by := math.Log(t.TestA * t.ArmatureOhm / (mostOfTest * t.TestV))
		if !(by > ofRounding) {
			return
		}
		down, all := map[*key]float64{}, 0.0 // ln of how far each may fall
		for _, path := range []string{testAPath, armaturePath} {
			k := byPath[path]
			switch s, ok := v.stated[k.at(i)]; {
			case !ok || s.low <= 0 || (s.low == s.high) != given:
			case given:
				down[k] = max(0, min(farFromGiven*k.tol.sd, math.Log(v.get(k, i)/k.low)))
			default:
				down[k] = max(0, math.Log(v.get(k, i)/s.low))
			}
			all += down[k]
		}
		if all < ofRounding || given && (by > all || t.TestA*math.Exp(-down[byPath[testAPath]]*by/all) <= t.NoLoadA) {
			continue
		}
		for k, ln := range down {
			s, x := v.stated[k.at(i)], v.get(k, i)*math.Exp(-ln*by/all)
			switch {
			case given:
				s.low, s.high = x, x
				v.stated[k.at(i)] = s
			case by >= all-ofRounding:
				x = s.low
			}
			v.put(k, i, x)
		}
	}
}

// test finds a static test that no motor could give.
func (c *checker) test(i int) {
	t := &c.v.Thrusters[i]
	impossible := func(key, format string, args ...any) {
		c.bad(join("thruster", i, key), "impossible test: "+format, args...)
	}
	if t.TestA <= t.NoLoadA {
		impossible("test_a", "%g A is not above no_load_a, %g A", t.TestA, t.NoLoadA)
	}
	key, amps := "test_a", t.TestA
	if t.NoLoadA > t.TestA {
		key, amps = "no_load_a", t.NoLoadA
	}
	if t.TestV-amps*t.ArmatureOhm <= leastBackEMF*t.TestV {
		impossible("armature_ohm", "%s %g A through %g Ω takes all of test_v, %g V", key, amps, t.ArmatureOhm, t.TestV)
	}
}
