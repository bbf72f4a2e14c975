package vehicle

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/session/units"
)

// Only the value changes, or one line comes in below the name; comments, line
// ends and a byte-order mark stay byte for byte.
func TestRemember(t *testing.T) {
	rest := strings.TrimPrefix(sound, "name = \"x\"\n")
	crlf := func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }
	for _, c := range []struct{ what, before, after string }{
		{"new line", "# ours\nname = \"x\" # short\n" + rest, "# ours\nname = \"x\" # short\nunits = \"imperial\"\n" + rest},
		{"value", "name = \"x\"\nunits='metric'   # or not\n" + rest, "name = \"x\"\nunits=\"imperial\"   # or not\n" + rest},
		{"above the name", "units = \"metric\"\nname = \"x\"\n" + rest, "units = \"imperial\"\nname = \"x\"\n" + rest},
		{"same again", "units = \"imperial\"\nname = \"x\"\n" + rest, "units = \"imperial\"\nname = \"x\"\n" + rest},
		{"CR LF and mark", "\ufeff" + crlf(sound), "\ufeff" + crlf("name = \"x\"\nunits = \"imperial\"\n"+rest)},
		{"a name of lines", "name = \"\"\"x\\\ny\"\"\" # two\n" + rest, "name = \"\"\"x\\\ny\"\"\" # two\nunits = \"imperial\"\n" + rest},
	} {
		t.Run(c.what, func(t *testing.T) {
			got, err := Remember([]byte(c.before), FileName, units.Imperial)
			require.NoError(t, err)
			assert.Equal(t, c.after, string(got))
		})
	}
	_, err := Remember([]byte("name = \"x\"\n"), FileName, units.Imperial)
	assert.ErrorContains(t, err, "tether.length_m: missing", "a file that is not sound is left alone")
}

// Whatever comments stand in a sound file, what is remembered reads back, and
// taking it back gives the file as it was.
func TestRememberReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lines := strings.SplitAfter(sound, "\n")
		lines[0] = "name = \"x\"\nunits = \"metric\"\n"
		for i := range lines {
			if rapid.Bool().Draw(rt, "comment") {
				lines[i] += "# " + rapid.StringOf(rapid.RuneFrom([]rune("units=\"'[]# é"))).Draw(rt, "text") + "\n"
			}
		}
		text := []byte(strings.Join(lines, ""))
		there, err := Remember(text, FileName, units.Imperial)
		require.NoError(rt, err)
		v, err := Read(bytes.NewReader(there), FileName)
		require.NoError(rt, err)
		assert.Equal(rt, units.Imperial, v.Units)
		back, err := Remember(there, FileName, units.Metric)
		require.NoError(rt, err)
		assert.Equal(rt, string(text), string(back))
	})
}

// What is learnt stands in the place of what was, which the comment keeps, or
// on a line of its own; the rest stays byte for byte, and learning again keeps
// what the owner wrote.
func TestLearn(t *testing.T) {
	before := "\ufeffname = \"x\" # ours\n[battery]\nnominal_v = 12 # label\n[tether]\nlength_m = 20\n[tether.power]\narea_mm2 = 2.5\njoints_ohm = 0.1 # soldered\n\n" +
		"[[thruster]]\nname = \"port\"\naxis = \"surge\"\ntest_a = [4, 6]\n\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n# the end\n"
	got, err := Learn([]byte(before), FileName, map[string]string{"tether.power.joints_ohm": "0.05", "battery.resistance_ohm": "[0.02, 0.03]",
		"thruster.port.test_a": "5.2", "thruster.up.armature_ohm": "0.6", "hull.trim_g": "55"}, "5 dives")
	require.NoError(t, err)
	assert.Equal(t, "\ufeffname = \"x\" # ours\n[battery]\nnominal_v = 12 # label\nresistance_ohm = [0.02, 0.03]  # learnt from 5 dives\n[tether]\nlength_m = 20\n[tether.power]\narea_mm2 = 2.5\n"+
		"joints_ohm = 0.05  # learnt from 5 dives, was 0.1; soldered\n\n"+
		"[[thruster]]\nname = \"port\"\naxis = \"surge\"\ntest_a = 5.2  # learnt from 5 dives, was [4, 6]\n\n[[thruster]]\nname = \"up\"\naxis = \"heave\"\n"+
		"armature_ohm = 0.6  # learnt from 5 dives\n# the end\n\n[hull]\ntrim_g = 55  # learnt from 5 dives\n", string(got))
	v, err := Read(bytes.NewReader(got), FileName)
	require.NoError(t, err)
	for _, path := range []string{"tether.power.joints_ohm", "battery.resistance_ohm", "thruster.port.test_a", "thruster.up.armature_ohm", "hull.trim_g"} {
		assert.Equal(t, Learnt, v.Belief(path).Origin, path)
	}
	again, err := Learn(got, FileName, map[string]string{"tether.power.joints_ohm": "0.06"}, "9 dives")
	require.NoError(t, err)
	assert.Contains(t, string(again), "joints_ohm = 0.06  # learnt from 9 dives, was 0.1; soldered\n")
	again, err = Learn(again, FileName, map[string]string{"thruster.up.armature_ohm": "[0.5, 0.7]"}, "9 dives")
	require.NoError(t, err)
	assert.Contains(t, string(again), "armature_ohm = [0.5, 0.7]  # learnt from 9 dives\n", "it was left out, and is still known to have been")
}

// A value that has no line of its own, a key that is not there, or a value that
// no vehicle has is an error, and nothing is written.
func TestLearnRefuses(t *testing.T) {
	inline := "name = \"x\"\nbattery = {nominal_v = 12, resistance_ohm = 0.04}\ntether = {length_m = 20, power = {awg = 14}}\nthruster = [{name = \"port\", axis = \"surge\"}]\n"
	for path, want := range map[string]string{
		"battery.resistance_ohm": "vehicle.toml: found no place for battery.resistance_ohm, want a line resistance_ohm = 0.03 of its own under [battery]",
		"tether.diameter_mm":     "vehicle.toml: found no place for tether.diameter_mm, want a line diameter_mm = 0.03 of its own under [tether]",
		"thruster.port.astern":   "vehicle.toml: found no place for thruster.0.astern, want a line astern = 0.03 of its own under [thruster.0]",
		"hull.wkae":              `vehicle.toml: hull.wkae: unknown key (nearest: "hull.wake")`,
		"hull.displaced_kg":      "vehicle.toml:7: hull.displaced_kg: found 0.03, want 0.1 to 1000 kg",
	} {
		_, err := Learn([]byte(inline), FileName, map[string]string{path: "0.03"}, "5 dives")
		assert.EqualError(t, err, want)
	}
}
