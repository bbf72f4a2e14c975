package vehicle

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/units"
)

// least is what an owner must know.
const leastKnown = `name = "x"
[battery]
nominal_v = 12
[tether]
length_m = 20
[tether.power]
area_mm2 = 2.5
[[thruster]]
name = "port"
axis = "surge"
`

func reads(t *testing.T, text string) *Vehicle {
	t.Helper()
	v, err := read(text)
	require.NoError(t, err)
	return v
}

func TestBeliefByOrigin(t *testing.T) {
	v := reads(t, leastKnown+
		"test_a = [4, 9]\nno_load_a = 0.4\nprop_pitch_mm = 40  # learnt from 5 dives\n[hull]\ntrim_g = 50\n")
	b := v.Belief("thruster.port.test_a")
	assert.Equal(t, Range, b.Origin)
	assert.True(t, b.Log)
	assert.InDeltaSlice(t, []float64{6, 4, 9}, []float64{b.Value, b.Low, b.High}, 1e-9)
	assert.InDelta(t, math.Log(1.5)/1.959964, b.SD, 1e-6)

	b = v.Belief("thruster.port.no_load_a")
	assert.Equal(t, Given, b.Origin)
	assert.InDelta(t, 0.2, b.SD, 1e-12)
	assert.InDelta(t, 0.4*math.Exp(0.2*1.959964), b.High, 1e-6)
	assert.Equal(t, Learnt, v.Belief("thruster.port.prop_pitch_mm").Origin)
	b = v.Belief("hull.trim_g")
	assert.InDeltaSlice(t, []float64{50, 40, 40, 50 - 40*1.959964, 50 + 40*1.959964}, []float64{b.Value, b.SD, b.Residual, b.Low, b.High}, 1e-4)
	assert.False(t, b.Log)

	b = v.Belief("hull.displaced_kg")
	assert.Equal(t, Prior, b.Origin)
	assert.InDelta(t, math.Log(1.8), b.SD, 1e-12)
	assert.Equal(t, practice, b.Source)

	assert.Equal(t, Belief{}, v.Belief("thruster.prot.test_a"))
	assert.Equal(t, Belief{}, v.Belief("name"))
}

// A formula's prior is as doubtful as its own spread and what it is a formula
// of: armature_ohm = 0.35·test_v/test_a of a test current known to a factor.
func TestBeliefOfFormula(t *testing.T) {
	v := reads(t, leastKnown)
	b := v.Belief("thruster.port.armature_ohm")
	assert.InDelta(t, math.Log(1.4), b.Residual, 1e-12)
	assert.InDelta(t, math.Sqrt(math.Pow(math.Log(1.4), 2)+math.Pow(math.Log(1.8), 2)+0.05*0.05*2), b.SD, 0.01)
	known := reads(t, leastKnown+"test_v = 12\ntest_a = 5\n").Belief("thruster.port.armature_ohm")
	assert.InDelta(t, math.Sqrt(math.Pow(math.Log(1.4), 2)+0.1*0.1+0.01*0.01), known.SD, 1e-3)
	assert.Less(t, known.SD, b.SD)
}

// A motor of which nothing is known takes 5 A, unless all that drive ahead together then drew more than the shorted tether.
func TestTestCurrentByTheTether(t *testing.T) {
	thin := strings.Replace(leastKnown, "area_mm2 = 2.5", "area_mm2 = 0.2", 1)
	const others = "[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\n[[thruster]]\nname = \"lift\"\naxis = \"heave\"\n"
	short := 12 / reads(t, thin).Tether.CableOhm(20)
	for text, want := range map[string]float64{leastKnown: 5, leastKnown + others: 5, thin: min(5, short), thin + others: short / 2} {
		assert.InDelta(t, want, reads(t, text).Thrusters[0].TestA, 1e-9)
	}
	assert.Less(t, short/2, 4.0)
}

// Every number once, by the path that Set and Belief take.
func TestBeliefsAreAllNumbers(t *testing.T) {
	v := reads(t, leastKnown)
	var paths []string
	for _, b := range v.Beliefs() {
		assert.Equal(t, b, v.Belief(b.Path))
		paths = append(paths, b.Path)
	}
	assert.Contains(t, paths, "tether.power.area_mm2")
	assert.NotContains(t, paths, "tether.power.awg", "not the size that is stated")
	assert.NotContains(t, paths, "lights.current_a", "there are none")
	assert.Contains(t, paths, "thruster.port.armature_ohm")
	assert.Contains(t, paths, "instruments.battery_v")
	assert.Len(t, slices.Compact(slices.Sorted(slices.Values(paths))), len(paths))
}

// A vehicle made in code is as given.
func TestBeliefOfVehicleInCode(t *testing.T) {
	v := &Vehicle{Tether: Tether{LengthM: 20}}
	assert.Equal(t, Given, v.Belief("tether.length_m").Origin)
	assert.InDelta(t, 0.01, v.Belief("tether.length_m").SD, 1e-12)
}

// Drawn vehicles scatter as the beliefs say, formulas included, and their
// thrusters are alike.
func TestDraw(t *testing.T) {
	v := reads(t, leastKnown+"[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\n[hull]\ntrim_g = [20, 100]\n")
	normal := rand.New(rand.NewPCG(1, 2)).NormFloat64
	const n = 2000
	inside := map[string]int{}
	for range n {
		w := v.Draw(normal)
		require.Equal(t, w.Thrusters[0].TestA, w.Thrusters[1].TestA)
		require.InDelta(t, 20, w.Tether.LengthM, 1)
		for _, path := range []string{"thruster.port.test_a", "thruster.port.armature_ohm", "hull.trim_g", "hull.climb_drag_area_m2"} {
			if b, x := v.Belief(path), w.Belief(path).Value; b.Low <= x && x <= b.High {
				inside[path]++
			}
		}
	}
	for path, count := range inside {
		assert.InDelta(t, 0.95, float64(count)/n, 0.02, path)
	}
}

// What is left out follows a key that it is a formula of, and no other; thrusters vary alike, but one that leaves out
// what another states besides on its own.
func TestVaried(t *testing.T) {
	v := reads(t, leastKnown+"test_a = [4, 9]\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n")
	b := v.Belief("thruster.port.test_a")
	assert.Equal(t, v.Thrusters[0].TestA, v.Thrusters[1].TestA, "of the same make")
	w := v.Varied(map[string]float64{"thruster.*.test_a": 1})
	assert.InDelta(t, b.Value*math.Exp(b.SD), w.Thrusters[0].TestA, 1e-9)
	assert.InDelta(t, w.Thrusters[0].TestA, w.Thrusters[1].TestA, 1e-9)
	assert.InDelta(t, w.Thrusters[0].ArmatureOhm, w.Thrusters[1].ArmatureOhm, 1e-9)
	assert.Equal(t, v.Hull, w.Hull)
	assert.Equal(t, v.Thrusters[1].NoLoadRPM, w.Thrusters[1].NoLoadRPM)

	w = v.Varied(map[string]float64{v.Belief("thruster.up.test_a").Doubt: 1})
	assert.Equal(t, v.Thrusters[0], w.Thrusters[0])
	assert.InDelta(t, v.Thrusters[1].TestA*1.8, w.Thrusters[1].TestA, 1e-9)
	assert.InDelta(t, v.Thrusters[1].ArmatureOhm/1.8, w.Thrusters[1].ArmatureOhm, 1e-9)
}

// Where no thruster's test is stated, one of another axis may be of another size than the first; where one's is, or along the
// same axis, there is nothing besides what they share.
func TestThrustersOfAnotherAxis(t *testing.T) {
	const more = "[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n"
	v := reads(t, leastKnown+more)
	first, second, up := v.Belief("thruster.port.test_a"), v.Belief("thruster.starboard.test_a"), v.Belief("thruster.up.test_a")
	assert.Empty(t, first.OfAxis+second.OfAxis)
	assert.Equal(t, "thruster.*.test_a of heave", up.OfAxis)
	assert.InDelta(t, math.Hypot(first.SD, 0.3), up.SD, 1e-12)
	assert.Empty(t, v.Belief("thruster.up.test_v").OfAxis)

	w := v.Varied(map[string]float64{up.OfAxis: -1})
	assert.Equal(t, v.Thrusters[:2], w.Thrusters[:2])
	assert.InDelta(t, v.Thrusters[2].TestA*math.Exp(-0.3), w.Thrusters[2].TestA, 1e-9)
	assert.InDelta(t, v.Thrusters[2].ArmatureOhm*math.Exp(0.3), w.Thrusters[2].ArmatureOhm, 1e-9)
	w = v.Varied(map[string]float64{up.Doubt: 1, up.OfAxis: 1})
	assert.InDelta(t, w.Thrusters[0].TestA*math.Exp(0.3), w.Thrusters[2].TestA, 1e-9)

	stated := reads(t, leastKnown+"test_a = 5\n"+more)
	assert.Empty(t, stated.Belief("thruster.up.test_a").OfAxis)
	assert.InDelta(t, first.SD, stated.Belief("thruster.up.test_a").SD, 1e-12)
}

// A rebuilt vehicle keeps what it was not rebuilt in, although formulas of its new numbers would say another: unmoved it is
// itself, and what follows moves along from there.
func TestVariedAfterARebuild(t *testing.T) {
	v := reads(t, leastKnown+"test_a = 6\n[[change]]\ndive = \"5\"\n\"thruster.port.test_a\" = 9\n").At("5", []string{"1", "5"})
	require.Equal(t, 9.0, v.Thrusters[0].TestA)
	same := v.Varied(nil)
	for _, path := range []string{"thruster.port.test_a", "thruster.port.armature_ohm", "thruster.port.no_load_a", "thruster.port.test_n", "hull.drag_area_m2"} {
		assert.InEpsilon(t, v.Belief(path).Value, same.Belief(path).Value, 1e-9, path)
	}
	assert.Equal(t, v.Thrusters[0].NoLoadA, same.Thrusters[0].NoLoadA)
	w := v.Varied(map[string]float64{v.Belief("thruster.port.test_a").Doubt: 1})
	assert.InDelta(t, v.Thrusters[0].ArmatureOhm*9/w.Thrusters[0].TestA, w.Thrusters[0].ArmatureOhm, 1e-9)
}

// A thruster is like the others in what it leaves out, where nothing else that it states tells better.
func TestLikeTheOthers(t *testing.T) {
	const others = leastKnown + "test_a = 0.8\nno_load_rpm = 2300\nastern = 0\n[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\ntest_a = 1\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n"
	up := reads(t, others).Thrusters[2]
	assert.InDelta(t, 0.9, up.TestA, 1e-12)
	assert.Equal(t, 2300.0, up.NoLoadRPM)
	assert.Equal(t, 0.7, up.Astern, "that another cannot be reversed is no number")
	assert.Contains(t, reads(t, others).Belief("thruster.up.test_a").Source, "as the other thrusters")

	up = reads(t, others+"armature_ohm = 2\n").Thrusters[2]
	assert.InDelta(t, 0.35*12/2, up.TestA, 1e-12, "its own winding tells its size")
	assert.Equal(t, 5.0, reads(t, leastKnown).Thrusters[0].TestA)
}

// What the tool has written is as its owner had it: a range, or left out, and
// then its prior by what its formula is of.
func TestUnlearnt(t *testing.T) {
	v := reads(t, leastKnown+"test_a = 5.2  # learnt from 5 dives, was [4, 9]; by ear\nno_load_a = 0.2  # learnt from 5 dives\nprop_diameter_mm = 70\n[lights]\ncurrent_a = [1, 2]  # learnt from 5 dives\n")
	v.Units = units.Imperial
	w := v.Unlearnt()
	assert.Equal(t, units.Imperial, w.Units, "as --units set them")
	assert.Zero(t, w.Lights.CurrentA, "nothing is assumed of lights that are left out")
	b := w.Belief("thruster.port.test_a")
	assert.Equal(t, Range, b.Origin)
	assert.InDeltaSlice(t, []float64{6, 4, 9}, []float64{b.Value, b.Low, b.High}, 1e-9)
	assert.Equal(t, Prior, w.Belief("thruster.port.no_load_a").Origin)
	assert.InDelta(t, 0.07*6, w.Thrusters[0].NoLoadA, 1e-9)
	assert.Equal(t, Given, w.Belief("thruster.port.prop_diameter_mm").Origin)
	assert.InDelta(t, 5.2, v.Thrusters[0].TestA, 1e-9, "v itself stays")
}

// A motor's current is assumed alike at any voltage: those made for more volts draw less.
func TestTestCurrentAtAnyVoltage(t *testing.T) {
	for _, volts := range []string{"6", "12", "24"} {
		b := reads(t, leastKnown+"test_v = "+volts+"\n").Belief("thruster.port.test_a")
		assert.Equal(t, 5.0, b.Value, volts)
		assert.Greater(t, b.High/b.Low, 9.0)
	}
}

// A thruster is on a side where no other is.
func TestSides(t *testing.T) {
	surge := func(name string, arm float64) Thruster { return Thruster{Name: name, Axis: "surge", ArmMM: arm} }
	lift := Thruster{Name: "c", Axis: "heave"}
	for _, c := range []struct {
		thrusters []Thruster
		want      map[string]string
	}{
		{[]Thruster{surge("a", -100), surge("b", 100), lift}, map[string]string{"port": "a", "starboard": "b", "both": "a + b", "vertical": "c"}},
		{[]Thruster{surge("a", -100), surge("b", 100), surge("d", 0), lift, lift}, map[string]string{"port": "a", "starboard": "b"}},
		{[]Thruster{surge("a", 0), surge("b", 0)}, map[string]string{"both": "a + b"}},
		{[]Thruster{surge("a", -100), surge("b", -50), surge("d", 120)}, map[string]string{"starboard": "d"}},
	} {
		assert.Equal(t, c.want, (&Vehicle{Thrusters: c.thrusters}).Sides())
	}
	assert.Empty(t, (*Vehicle)(nil).Sides())
}

// A battery's charge may be a range, as that of an old one is; its label alone is known to a tenth.
func TestCapacityRange(t *testing.T) {
	for text, want := range map[string][3]float64{"[6, 9]": {6, math.Sqrt(6 * 9), 9}, "8": {8 * math.Exp(-0.196), 8, 8 * math.Exp(0.196)}} {
		v := reads(t, strings.Replace(leastKnown, "nominal_v = 12", "nominal_v = 12\ncapacity_ah = "+text, 1))
		b := v.Belief("battery.capacity_ah")
		assert.InDeltaSlice(t, want[:], []float64{b.Low, v.Battery.CapacityAh, b.High}, 0.01, text)
	}
}

// Lights of a stated current draw it at any voltage, those behind resistors by what is above their own.
func TestAmpsOfLights(t *testing.T) {
	assert.Equal(t, 0.5, (&Lights{CurrentA: 0.5, Supply: "signal"}).AmpsAt(9))
	of := Lights{LEDV: 9, ResistorOhm: []float64{10, 10}, Supply: "signal"}
	assert.InDelta(t, 0.6, of.AmpsAt(12), 1e-12)
	assert.Zero(t, of.AmpsAt(8))
}
