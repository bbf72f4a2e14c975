package vehicle

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/units"
)

// sound has only what is required; the tables below spoil it.
const sound = `name = "x"
[battery]
nominal_v = 12
[tether]
length_m = 20
diameter_mm = 8
[tether.power]
awg = 14
[hull]
drag_area_m2 = 0.1
climb_drag_area_m2 = 0.1
displaced_kg = 10
trim_g = 50
[[thruster]]
name = "port"
axis = "surge"
test_v = 12.0
test_a = 7.2
test_n = 9.8
armature_ohm = 0.5
no_load_a = 0.5
no_load_rpm = 7800
prop_pitch_mm = 38
`

func read(text string) (*Vehicle, error) {
	return Read(strings.NewReader(text), FileName)
}

// What is left out gets its prior's median.
func TestReadLeftOut(t *testing.T) {
	v, err := read("\ufeff" + strings.ReplaceAll(sound, "\n", "\r\n"))
	require.NoError(t, err)
	assert.Equal(t, units.Metric, v.Units)
	assert.Equal(t, "lead-acid", v.Battery.Chemistry)
	assert.Zero(t, v.Battery.FuseA)
	assert.InDelta(t, 0.015+6*0.029/12, v.Battery.ResistanceOhm, 1e-12)
	assert.InDelta(t, 10.5, v.Battery.MinimumV, 1e-12)
	assert.Equal(t, 1.2, v.Tether.NormalDrag)
	assert.Equal(t, 1, v.Tether.Signal.Parallel)
	assert.InDelta(t, 38/0.62, v.Thrusters[0].PropDiameterMM, 1e-12)
	assert.Equal(t, 0.7, v.Thrusters[0].Astern)
	assert.Equal(t, 5, v.Baseline.Dives)
	assert.Equal(t, 2*v.Battery.ResistanceOhm, v.Limits.BatteryResistanceOhm)
	assert.Equal(t, 1.3, v.Limits.DragFactor)

	v, err = read(sound + "[relay]\ncoil_v = 12\n[[tube]]\nouter_mm = 20\n")
	require.NoError(t, err)
	assert.InDelta(t, 9.0, v.Relay.PullInV, 1e-12)
	assert.True(t, *v.Tubes[0].Sealed)
}

// The least that an owner must know, and all that is assumed beside it.
func TestReadLeast(t *testing.T) {
	v, err := read("name = \"x\"\n[battery]\nnominal_v = 12\n[tether]\nlength_m = 20\n[tether.power]\nawg = 14\n" +
		"[[thruster]]\nname = \"port\"\naxis = \"surge\"\n[[thruster]]\nname = \"starboard\"\naxis = \"surge\"\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n")
	require.NoError(t, err)
	p := &v.Thrusters[0]
	assert.InDeltaSlice(t, []float64{12, 5, 0.84, 0.35, 7200, 60, 37.2, 0.03, 0.7},
		[]float64{p.TestV, p.TestA, p.ArmatureOhm, p.NoLoadA, p.NoLoadRPM, p.PropDiameterMM, p.PropPitchMM, p.BranchOhm, p.Astern}, 1e-12)
	assert.InDelta(t, 0.33*momentumLimitN(0.06, 7.8*4.65, 1000), p.TestN, 1e-9)
	assert.Equal(t, []float64{-100, 100, 0}, []float64{p.ArmMM, v.Thrusters[1].ArmMM, v.Thrusters[2].ArmMM}, "together they run straight, alone they turn")
	assert.InDelta(t, 1.4*0.04, v.Hull.DragAreaM2, 1e-12)
	assert.InDelta(t, 1.5*1.4*0.04, v.Hull.ClimbDragAreaM2, 1e-12)
	assert.InDelta(t, 3+4*math.Sqrt(AWGArea(14)), v.Tether.DiameterMM, 1e-12)
	assert.NoError(t, v.Check())
}

// A range gives its middle: geometric where factors count.
func TestReadRange(t *testing.T) {
	v, err := read(strings.NewReplacer("test_a = 7.2", "test_a = [4, 9]", "trim_g = 50", "trim_g = [-20, 100]").Replace(sound) + "[tether.signal]\nawg = 24\njoints_ohm = [0, 0.1]\n")
	require.NoError(t, err)
	assert.InDelta(t, 6, v.Thrusters[0].TestA, 1e-12)
	assert.InDelta(t, 40, v.Hull.TrimG, 1e-12)
	assert.InDelta(t, 0.05, v.Tether.Signal.JointsOhm, 1e-12, "a range from 0 is no matter of factors")
}

func TestReadEveryKey(t *testing.T) {
	text, err := os.ReadFile("testdata/every_key.toml")
	require.NoError(t, err)
	for j := range keys {
		if name := keys[j].name(); name != "area_mm2" { // awg and ohm_km stand for it
			assert.Contains(t, string(text), "\n"+name+" = ", "the file should have every key")
		}
	}
	v, err := read(string(text))
	require.NoError(t, err)
	assert.Equal(t, units.Imperial, v.Units)
	assert.InDelta(t, math.Sqrt(0.02*0.05), v.Battery.ResistanceOhm, 1e-12)
	assert.Zero(t, *v.Tether.Power.AWG)
	assert.Equal(t, []Float{{2, 5, 20}}, v.Tether.Floats)
	assert.Zero(t, v.Relay.PullInV, "a written 0 stays")
	assert.Equal(t, Lights{1.5, 3.2, []float64{10, 10.5}, "signal"}, v.Lights)
	assert.Equal(t, Camera{0.2, 9, "shared"}, v.Camera)
	assert.False(t, *v.Tubes[0].Sealed)
	assert.True(t, *v.Tubes[1].Sealed)
	assert.Zero(t, v.Thrusters[0].Astern, "a written 0 stays")
	assert.Equal(t, 0.7, v.Thrusters[1].Astern)
	assert.Zero(t, v.Hull.Wake)
	assert.Equal(t, Instruments{0.01, 0.1, 0.02, 3, 5, 7, 0.2, 0.01}, v.Instruments)
	assert.Equal(t, Limits{0.2, 0.7, 0.2, 50, 0.2, 0.2, 1.2, 2}, v.Limits)
	assert.Equal(t, 4, v.Baseline.Dives)
	assert.Equal(t, []bool{false, true}, []bool{v.Joints[0].Reached(), v.Joints[1].Reached()}, "reached unless the file says no")
	assert.Equal(t, 12.5, v.Joints[1].AtM)
	assert.Equal(t, []Interval{{"seal", 10, 180}}, v.Maintenance)
	require.Len(t, v.Changes, 2)
	assert.Equal(t, "20", v.Changes[1].Dive)
	assert.Equal(t, []string{"tether.power.area_mm2"}, v.Changes[1].Paths)
	assert.NoError(t, v.Check())
	assert.NoError(t, v.Next([]string{"20"}).Check())
}

func TestReadBad(t *testing.T) {
	for _, c := range []struct{ what, old, new, want string }{
		{"two joints of a name", "[hull]", "[[joint]]\nname = \"a\"\nat_m = 1\n[[joint]]\nname = \"a\"\nat_m = 2\n[hull]", `:13: joint 2.name: found "a" twice, want a name of its own`},
		{"a label's word", "nominal_v = 12", "nominal_v = 12\nchemistry = \"LiFePO4\"", `:4: battery.chemistry: found "LiFePO4", want lead-acid or agm or gel or lithium-iron or lithium-ion (nearest: "lithium-iron")`},
		{"misspelt key", "length_m =", "lenght_m =", `:5: tether.lenght_m: unknown key (nearest: "length_m")`},
		{"wrong unit", "displaced_kg = 10", "displaced_g = 10000", `:12: hull.displaced_g: unknown key (nearest: "displaced_kg")`},
		{"two unknown keys", "test_v = 12.0\ntest_a", "test_w = 12.0\nzzzzzzzzzz", ":17: thruster \"port\".test_w: unknown key (nearest: \"test_v\")\n:18: thruster \"port\".zzzzzzzzzz: unknown key"},
		{"unknown table", "[hull]", "[hulk]", `:9: hulk: unknown key (nearest: "hull")`},
		{"text for a number", "nominal_v = 12", `nominal_v = "12"`, `:3: battery.nominal_v: found "12", want a number, 2 to 60 V`},
		{"curly quotes", `name = "x"`, "name = “x”", `:1: found "name = “x”", want plain quotes, "…"`},
		{"number for a text", `name = "x"`, "name = 5", `:1: name: found 5, want a text in quotes, one line of 1 to 100 characters`},
		{"fraction for a count", "awg = 14", "awg = 14\nparallel = 1.5", `:9: tether.power.parallel: found 1.5, want a whole number, 1 to 20`},
		{"list for a number", "trim_g = 50", "trim_g = [50]", `:13: hull.trim_g: found [50], want a number, -50000 to 50000 g, or its range [low, high]`},
		{"table for a list", "[[thruster]]", "[thruster]", `:14: thruster: found a table, want tables, each under [[thruster]]`},
		{"broken line", "trim_g = 50", "trim_g 50", `:13: found "trim_g 50", want key = value`},
		{"carriage return", "trim_g = 50", "trim_g = 50 # \r of a comment", `:13: found a carriage return that ends no line, want lines that end in LF or CR LF`},
		{"key twice", "trim_g = 50", "trim_g = 50\ntrim_g = 51", `:14: trim_g: found "trim_g = 51", want it once: key trim_g is already defined`},
		{"no name", `name = "x"`, "", `: name: missing, want a text in quotes, one line of 1 to 100 characters`},
		{"units", `name = "x"`, "name = \"x\"\nunits = \"imperal\"", `:2: units: found "imperal", want metric or imperial (nearest: "imperial")`},
		{"units' kind", `name = "x"`, "name = \"x\"\nunits = 2", `:2: units: found 2, want metric or imperial`},
		{"empty name", `name = "x"`, `name = " "`, `:1: name: found " ", want a text in quotes, one line of 1 to 100 characters`},
		{"missing keys", "length_m = 20\ndiameter_mm = 8\n", "", `:4: tether.length_m: missing, want a number, 0.5 to 1000 m, or its range [low, high]`},
		{"missing in a thruster", "axis = \"surge\"\n", "", `:14: thruster "port".axis: missing, want surge or heave`},
		{"thruster without name", "name = \"port\"\n", "", `:14: thruster 1.name: missing, want a text in quotes, one line of 1 to 100 characters`},
		{"no conductor", "awg = 14\n", "", `:7: tether.power: found 0 of awg, area_mm2 and ohm_km, want exactly one`},
		{"no conductor's table", "[tether.power]\nawg = 14\n", "", `: tether.power: found 0 of awg, area_mm2 and ohm_km, want exactly one`},
		{"two conductors", "awg = 14", "awg = 14\nohm_km = 8", `:7: tether.power: found 2 of awg, area_mm2 and ohm_km, want exactly one`},
		{"no area", "awg = 14", "area_mm2 = 0", `:8: tether.power.area_mm2: found 0, want 0.02 to 120 mm²`},
		{"no thruster", sound[strings.Index(sound, "[[thruster]]"):], "", `: thruster: missing, want at least one [[thruster]]`},
		{"mains", "nominal_v = 12", "nominal_v = 230", `:3: battery.nominal_v: found 230, want 2 to 60 V`},
		{"no number", "nominal_v = 12", "nominal_v = nan", `:3: battery.nominal_v: found nan, want 2 to 60 V`},
		{"endless", "length_m = 20", "length_m = inf", `:5: tether.length_m: found inf, want 0.5 to 1000 m`},
		{"wake", "trim_g = 50", "trim_g = 50\nwake = 0.95", `:14: hull.wake: found 0.95, want 0 to 0.6`},
		{"one baseline dive", "[hull]", "[baseline]\ndives = 1\n[hull]", `:10: baseline.dives: found 1, want 2 to 50`},
		{"axis", `"surge"`, `"sway"`, `:16: thruster "port".axis: found "sway", want surge or heave`},
		{"name with +", `"port"`, `"a+b"`, `:15: thruster "a+b".name: found "a+b", want a name without + or comma and with single blanks, not off, no astern or down at its end`},
		{"name off", `"port"`, `"off"`, `:15: thruster "off".name: found "off", want a name without + or comma and with single blanks, not off, no astern or down at its end`},
		{"a name that steers a terminal", `"port"`, `"\u001b[2J"`, `:15: thruster 1.name: found "\x1b[2J", want a text in quotes, one line of 1 to 100 characters`},
		{"a name from right to left", `name = "x"`, `name = "\u202ex"`, `:1: name: found "\u202ex", want a text in quotes, one line of 1 to 100 characters`},
		{"astern", "test_n = 9.8", "test_n = 9.8\nastern = 1.6", `:20: thruster "port".astern: found 1.6, want 0 to 1.3`},
		{"test below no load", "test_a = 7.2", "test_a = 0.3", `:18: thruster "port".test_a: impossible test: 0.3 A is not above no_load_a, 0.5 A`},
		{"no back-EMF", "armature_ohm = 0.5", "armature_ohm = 5", `:20: thruster "port".armature_ohm: impossible test: test_a 7.2 A through 5 Ω takes all of test_v, 12 V`},
		{"no back-EMF at no load", "armature_ohm = 0.5\nno_load_a = 0.5", "armature_ohm = 2\nno_load_a = 7",
			`:20: thruster "port".armature_ohm: impossible test: test_a 7.2 A through 2 Ω takes all of test_v, 12 V`},
		{"lights' supply", "[hull]", "[lights]\nsupply = \"own\"\n[hull]", `:10: lights.supply: found "own", want power or signal`},
		{"resistor", "[hull]", "[lights]\nresistor_ohm = [10, 0]\n[hull]", `:10: lights.resistor_ohm: found [10, 0], want a list of numbers, 0.1 to 100000 Ω`},
		{"a camera that the battery cannot feed", "nominal_v = 12\n", "nominal_v = 12\nresistance_ohm = 0.5\n[camera]\nsupply = \"shared\"\ncurrent_a = 20\n",
			`:7: camera.current_a: found 20, want less than the 12 A at which half of battery.nominal_v falls in battery.resistance_ohm, 0.5 Ω`},
		{"solid tube", "[hull]", "[[tube]]\nouter_mm = 20\nwall_mm = 10\n[hull]", `:11: tube 1.wall_mm: found 10, want less than half of outer_mm 20`},
		{"material", "[hull]", "[[tube]]\nmaterial = \"steal\"\n[hull]", `:10: tube 1.material: found "steal", want pvc or abs or acrylic or aluminium`},
		{"float the wrong way", "[hull]", "[[tether.floats]]\nfrom_m = 5\nto_m = 2\nlift_g_m = 9\n[hull]", `:11: tether.floats 1.to_m: found 2, want more than from_m 5`},
		{"inline tables", "[battery]\nnominal_v = 12", "battery = {nominal_v = 99}", `:2: battery.nominal_v: found 99, want 2 to 60 V`},
		{"float without lift", "[hull]", "[[tether.floats]]\nfrom_m = 1\nto_m = 2\n[hull]", `:9: tether.floats 1.lift_g_m: missing, want a number, -500 to 2000 g/m, or its range [low, high]`},
		{"range upside down", "trim_g = 50", "trim_g = [60, 40]", `:13: hull.trim_g: found [60, 40], want a number, -50000 to 50000 g, or its range [low, high]`},
		{"range of a label", "nominal_v = 12", "nominal_v = [11, 13]", `:3: battery.nominal_v: found [11, 13], want a number, 2 to 60 V`},
		{"range out of range", "test_a = 7.2", "test_a = [7, 7000]", `:18: thruster "port".test_a: found [7, 7000], want a number, 0.05 to 150 A, or its range [low, high]`},
		{"thin tether", "diameter_mm = 8", "diameter_mm = 0.3", `:6: tether.diameter_mm: found 0.3, want 1 to 100 mm`},
		{"heater for a motor", "armature_ohm = 0.5", "armature_ohm = 1000", `:20: thruster "port".armature_ohm: found 1000, want 0.005 to 100 Ω`},
		{"chemistry", "nominal_v = 12", "nominal_v = 12\nchemistry = \"Lithium iron\"", `:4: battery.chemistry: found "Lithium iron", want lead-acid or agm or gel or lithium-iron or lithium-ion (nearest: "lithium-iron")`},
		{"key under another table", "trim_g = 50", "trim_g = 50\ncapacity_ah = 20", `:14: hull.capacity_ah: unknown key, want it as battery.capacity_ah`},
		{"shared return of the power pair", "awg = 14", "awg = 14\nshared_return = 2", `:9: tether.power.shared_return: unknown key, want it as tether.signal.shared_return`},
		{"quoted path", `name = "x"`, "name = \"x\"\n\"battery.fuse_a\" = 5", `:2: "battery.fuse_a": unknown key`},
		{"number for a table", `name = "x"`, "name = \"x\"\nlights = 5", `:2: lights: found 5, want a table`},
		{"too many thrusters", "[hull]", strings.Repeat("[[tube]]\n", 51) + "[hull]", `:9: tube: found 51, want at most 50`},
		{"perfect meter", "[hull]", "[instruments]\nbattery_v = 0\n[hull]", `:10: instruments.battery_v: found 0, want 0.001 to 3 V`},
		{"limit", "[hull]", "[limits]\nfriction_a = -1\n[hull]", `:10: limits.friction_a: found -1, want 0.01 to 50 A`},
	} {
		t.Run(c.what, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(sound, c.old))
			v, err := read(strings.Replace(sound, c.old, c.new, 1))
			require.Error(t, err)
			assert.Nil(t, v)
			assert.Equal(t, FileName+strings.ReplaceAll(c.want, "\n", "\n"+FileName), err.Error())
		})
	}
}

func TestReadSameNameTwice(t *testing.T) {
	_, err := read(sound + sound[strings.Index(sound, "[[thruster]]"):])
	assert.EqualError(t, err, `vehicle.toml:25: thruster "port".name: found twice, want a name of its own`)
	_, err = read(sound + strings.Replace(sound[strings.Index(sound, "[[thruster]]"):], `"port"`, `"Port"`, 1))
	assert.ErrorContains(t, err, `found "Port" beside one that differs in capitals alone, want a name of its own`)
}

func TestReadTooLong(t *testing.T) {
	_, err := read(sound + strings.Repeat("#\n", maxBytes/2))
	assert.EqualError(t, err, "vehicle.toml: found more than 65536 bytes, want at most that many")
}

// However long the file, a person is told what they can read, soon.
func TestReadEndless(t *testing.T) {
	for what, text := range map[string]string{
		"nested lists": "name = " + strings.Repeat("[", maxBytes-8), "nested tables": "name = " + strings.Repeat("{a=", maxBytes/3-4),
		"a long key": strings.Repeat("a.", maxBytes/2-4) + "a=1", "unknown keys": manyKeys(), "thrusters": strings.Repeat("[[thruster]]\n", maxBytes/13),
	} {
		_, err := read(text)
		require.Error(t, err, what)
		assert.Less(t, len(err.Error()), 6000, what)
		assert.LessOrEqual(t, strings.Count(err.Error(), "\n"), mostWorded, what)
	}
	_, err := read(manyKeys())
	assert.ErrorContains(t, err, "\nvehicle.toml: … and 5912 more")
}

func manyKeys() string {
	var b strings.Builder
	for i := 0; b.Len() < maxBytes-12; i++ {
		fmt.Fprintf(&b, "k%05d = 1\n", i)
	}
	return b.String()
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("wire cut") }

func TestReadBrokenReader(t *testing.T) {
	_, err := Read(broken{}, FileName)
	assert.EqualError(t, err, "vehicle.toml: wire cut")
}

func TestReadOpen(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, FileName)
	_, err := Open(filepath.Join(dir, "none"))
	assert.EqualError(t, err, filepath.Join(dir, "none")+": no such folder; want a logbook folder with vehicle.toml and dives.csv")
	_, err = Open(dir)
	assert.EqualError(t, err, file+": cannot be read: no such file; sagline new makes one")
	require.NoError(t, os.Mkdir(file, 0o755))
	_, err = Open(dir)
	assert.EqualError(t, err, file+": is a folder, want a file")
	require.NoError(t, os.Remove(file))
	require.NoError(t, os.WriteFile(file, []byte(sound), 0o644))
	v, err := Open(dir)
	require.NoError(t, err)
	assert.Equal(t, "x", v.Name)
	_, err = Open(file)
	assert.ErrorContains(t, err, "no such folder")
}

// Ranges whose middles no motor has together are taken as far down as it takes; where not even their low
// ends go together the file is refused.
func TestRangesOfATestThatGoTogether(t *testing.T) {
	with := func(amps, ohms string) (*Vehicle, error) {
		return read(strings.Replace(strings.Replace(sound, "test_a = 7.2", "test_a = "+amps, 1), "armature_ohm = 0.5", "armature_ohm = "+ohms, 1))
	}
	v, err := with("[4, 10]", "[1.2, 2.7]")
	require.NoError(t, err)
	th := &v.Thrusters[0]
	assert.InDelta(t, 0.8*th.TestV, th.TestA*th.ArmatureOhm, 1e-9)
	assert.Greater(t, th.TestA, 4.0)
	assert.Greater(t, th.ArmatureOhm, 1.2)
	v, err = with("7.2", "[1.2, 2.7]")
	require.NoError(t, err)
	assert.InDelta(t, 7.2, v.Thrusters[0].TestA, 1e-12, "a number stays")
	assert.InDelta(t, 0.8*12/7.2, v.Thrusters[0].ArmatureOhm, 1e-9)
	v, err = with("[4, 10]", "[0.5, 0.6]")
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(40), v.Thrusters[0].TestA, 1e-9, "what goes together stays")
	v, err = with("7.2", "1.84")
	require.NoError(t, err, "copied from another motor's sheet")
	th = &v.Thrusters[0]
	assert.InDelta(t, 0.8*12, th.TestA*th.ArmatureOhm, 1e-9)
	assert.InDelta(t, math.Log(7.2/th.TestA)/0.10, math.Log(1.84/th.ArmatureOhm)/0.15, 1e-9, "each by as many of its tolerances")
	require.NoError(t, v.Set("thruster.port.test_a=8"))
	require.NoError(t, v.Check())
	assert.InDelta(t, 0.8*12, th.TestA*th.ArmatureOhm, 1e-9)
	v, err = with("7.2", "1.3")
	require.NoError(t, err)
	assert.Equal(t, 1.3, v.Thrusters[0].ArmatureOhm, "what goes together stays")
	_, err = with("72", "0.5")
	require.ErrorContains(t, err, "impossible test: test_a 72 A through 0.5 Ω", "a slip of the decimal point")
	_, err = with("[10, 12]", "[2, 3]")
	require.ErrorContains(t, err, "impossible test")
}
