package vehicle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A number may be set with its unit, in any unit that converts into the key's, and as
// people write numbers; what converts into nothing is told with the unit.
func TestSetInUnits(t *testing.T) {
	for _, c := range []struct{ set, want string }{
		{"tether.length_m=34", "34"}, {"tether.length_m=34 m", "34"}, {"tether.length_m=34m", "34"},
		{"tether.length_m=34,5", "34.5"}, {"tether.length_m=100 ft", "30.48"}, {"tether.length_m=3450 cm", "34.5"},
		{"hull.trim_g=3 oz", "85.04857"}, {"hull.trim_g=−3 oz", "-85.04857"}, {"hull.trim_g=0,2 kg", "200"}, {"hull.displaced_kg=20 lb", "9.071847"},
		{"thruster.port.test_n=1 kgf", "9.80665"}, {"thruster.port.test_n=2.2 lbf", "9.786088"},
		{"thruster.port.test_a=4 to 6 A", "[4, 6]"}, {"thruster.port.test_a=[4, 6]", "[4, 6]"}, {"thruster.port.test_a=4,5–6", "[4.5, 6]"},
		{"tether.power.area_mm2=2.5 mm2", "2.5"}, {"tether.power.joints_ohm=30 mohm", "0.03"}, {"tether.power.awg=14 AWG", "14"},
		{"tether.weight_g_m=0.1 oz/ft", "9.301025"}, {"hull.drag_area_m2=1 ft2", "0.09290304"}, {"battery.capacity_ah=7 ah", "7"},
		{"tether.normal_drag=1,1", "1.1"}, {"tether.power.parallel=2", "2"}, {"thruster.port.prop_diameter_mm=2.5 in", "63.5"},
	} {
		v := Example()
		require.NoError(t, v.Set(c.set))
		path, _, _ := strings.Cut(c.set, "=")
		k, i, err := v.find(path)
		require.NoError(t, err, c.set)
		assert.Equal(t, c.want, v.written(k, i), c.set)
	}
	for set, want := range map[string]string{
		"tether.length_m=34 V":    `tether.length_m: found "34 V", want a number, 0.5 to 1000 m, or its range [low, high]; "V" does not convert into m`,
		"tether.length_m=3 oz":    `tether.length_m: found "3 oz", want a number, 0.5 to 1000 m, or its range [low, high]; "oz" does not convert into m`,
		"tether.length_m=9000 ft": `tether.length_m: found "9000 ft", want 0.5 to 1000 m`,
		"tether.length_m=1,000":   `tether.length_m: found "1,000", want a number, 0.5 to 1000 m, or its range [low, high]`,
		"tether.length_m=10,000":  `tether.length_m: found "10,000", want a number, 0.5 to 1000 m, or its range [low, high]`,
		"tether.length_m=34 5":    `tether.length_m: found "34 5", want a number, 0.5 to 1000 m, or its range [low, high]`,
		"tether.normal_drag=1 m":  `tether.normal_drag: found "1 m", want a number, 0.3 to 4, or its range [low, high]; "m" does not convert into a number without a unit`,
		"battery.fuse_a=1 to 2 A": `battery.fuse_a: found "1 to 2 A", want a number, 0.1 to 500 A`,
		"name=":                   `name: found "", want a text in quotes, one line of 1 to 100 characters`,
	} {
		assert.EqualError(t, Example().Set(set), want)
	}
}
