package vehicle

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRemarks(t *testing.T) {
	const fused = "nominal_v = 12\nfuse_a = 20"
	fine := strings.Replace(sound, "nominal_v = 12", fused, 1)
	for _, c := range []struct{ what, old, new, want string }{
		{"nothing", "", "", ""},
		{"no low voltage", "nominal_v = 12", "nominal_v = 36", ":3: battery.nominal_v: 36 V is more than the 30 V direct current that IEC 60364-7-702 allows where people are in the water: keep them out of it\n" +
			`vehicle.toml:18: thruster "port".test_v: 12 V is far from the battery's 36 V: a test nearer to that says more`},
		{"no surge", `"surge"`, `"heave"`, `: thruster: none is of axis "surge": no speed is predicted`},
		{"turns", "test_n = 9.8", "test_n = 9.8\narm_mm = 0.1",
			":21: thruster.arm_mm: those of the surge thrusters add up to +0.1 mm, not 0: all of them ahead would turn the vehicle, so no speed with them is compared"},
		{"far test", "nominal_v = 12", "nominal_v = 25", `:18: thruster "port".test_v: 12 V is far from the battery's 25 V: a test nearer to that says more`},
		{"heave arm", "[hull]", "[[thruster]]\nname = \"up\"\naxis = \"heave\"\narm_mm = 5\n[hull]",
			`:13: thruster "up".arm_mm: counts for nothing: a heave thruster does not turn the vehicle about its height`},
		{"more than the motor has", "armature_ohm = 0.5", "armature_ohm = 1.84",
			`:21: thruster "port".armature_ohm: 1.84 Ω with test_a, 7.2 A, takes 110 % of test_v, 12 V, where a third is usual: 1.52 Ω and 6.33 A are assumed; measure both`},
		{"boast", "test_n = 9.8", "test_n = 98\nprop_diameter_mm = 40",
			`:20: thruster "port".test_n: 98 N is more than momentum theory allows, 20 N for 56.3 W through 40 mm: check test_n and prop_diameter_mm`},
		{"boast through any propeller", "test_n = 9.8", "test_n = 98",
			`:20: thruster "port".test_n: 98 N is more than momentum theory allows, 26.5 N for 56.3 W through 61.3 mm: check test_n and prop_diameter_mm`},
		{"label of other cells", fused, "nominal_v = 14.8\nfuse_a = 20\nchemistry = \"lead-acid\"", ":3: battery.nominal_v: 14.8 V is no label of lead-acid, whose 6 cells would have about 12 V"},
		{"never that low", fused, fused + "\nminimum_v = 13", ":5: battery.minimum_v: 13 V is not below the full battery's 12.7 V at rest"},
		{"spoils its cells", fused, "nominal_v = 14.8\nfuse_a = 20\nminimum_v = 9.9", ":5: battery.minimum_v: 9.9 V is 2.48 V a cell, and lithium-ion is empty at 3 V: a cell drawn so low is spoilt, and a lithium one may burn when it is charged again"},
		{"spares its cells", fused, "nominal_v = 14.8\nfuse_a = 20\nminimum_v = 10.1", ""},
		{"sinks before its limit", "[hull]", "[limits]\ningress_g = 80\n[hull]", ":11: limits.ingress_g: 80 g is more than the 50 g by which the vehicle floats: it sinks before that limit"},
		{"a range lighter than its copper", "diameter_mm = 8", "diameter_mm = 8\nweight_g_m = [-40, -20]", ":8: tether.weight_g_m: -40 to -20 g/m cannot be: 8 mm with 4.16 mm² of copper weigh from -13 to 400 g/m in water"},
		{"a range with possible weights", "diameter_mm = 8", "diameter_mm = 8\nweight_g_m = [-40, -10]", ""},
		{"relay of another battery", "[hull]", "[relay]\ncoil_v = 24\ncoil_ohm = 300\n[tether.signal]\nawg = 24\n[hull]", ":10: relay.pull_in_v: 18 V is not below the full battery's 12.7 V at rest"},
		{"lighter than its copper", "diameter_mm = 8", "diameter_mm = 8\nweight_g_m = -40", ":8: tether.weight_g_m: -40 g/m cannot be: 8 mm with 4.16 mm² of copper weigh from -13 to 400 g/m in water"},
		{"floats more than it is", "trim_g = 50", "trim_g = 12000", ":14: hull.trim_g: 12000 g is more than the 10 kg that the vehicle displaces"},
		{"floats lift the vehicle", "[hull]", "[[tether.floats]]\nto_m = 10\nlift_g_m = 90\n[hull]",
			":10: tether.floats: they lift 900 g, and the vertical thrusters and the trim hold down 0 g: the vehicle could not stay under"},
		{"joint beyond the tether", "[hull]", "[[joint]]\nname = \"splice\"\nat_m = 33\n[hull]", ":12: joint 1.at_m: 33 m is beyond the tether's 20 m: counted as at its end"},
		{"coils of no resistance", "[hull]", "[relay]\ncoil_v = 12\n[hull]", ":10: relay.coil_ohm: not stated: whether relays pull in is not judged"},
		{"coils of no volts", "[hull]", "[relay]\ncoil_ohm = 80\n[hull]", ":10: relay.coil_v: not stated: whether relays pull in is not judged"},
		{"coils on no wire", "[hull]", "[relay]\ncoil_v = 12\ncoil_ohm = 80\n[hull]", ":12: relay.coil_ohm: tether.signal states no size: whether relays pull in is not judged"},
		{"lights on no wire", "[hull]", "[lights]\ncurrent_a = 1\nsupply = \"signal\"\n[hull]", ":12: lights.supply: tether.signal states no size: what its conductors lose and bear is not judged"},
		{"a picture of no volts", "[hull]", "[camera]\nsupply = \"shared\"\n[hull]", ":11: camera.supply: minimum_v is not stated: whether the picture stays is not judged"},
		{"never due", "[hull]", "[[maintenance]]\npart = \"seal\"\n[hull]", ":11: maintenance 1.part: neither dives nor days say when seal is due"},
		{"no room", "diameter_mm = 8", "diameter_mm = 1.5", ":7: tether.diameter_mm: 1.5 mm have no room for the power conductors' 4.16 mm² of copper"},
	} {
		t.Run(c.what, func(t *testing.T) {
			v, at, err := readPlaced([]byte(strings.Replace(fine, c.old, c.new, 1)), FileName)
			require.NoError(t, err)
			got := ""
			if err := v.Remarks(at).Err(); err != nil {
				got = strings.TrimPrefix(err.Error(), FileName)
			}
			assert.Equal(t, c.want, got)
		})
	}
}
