package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
)

// everyPart is a vehicle with one of everything; between the two ways to state
// conductors and lights the test changes. It meets its margins, since a remedy for one
// takes longer to find than all else that is answered.
const everyPart = `name = "all of it"
[battery]
nominal_v = 12
capacity_ah = 18
resistance_ohm = 0.04
chemistry = "lead-acid"
fuse_a = 30
minimum_v = 11
[tether]
length_m = 25
diameter_mm = 9
weight_g_m = 4
normal_drag = 1.2
skin_drag = 0.012
power.area_mm2 = 16
power.joints_ohm = 0.04
signal.area_mm2 = 2.5
signal.parallel = 1
signal.joints_ohm = 0.05
signal.shared_return = 1
[[tether.floats]]
from_m = 1
to_m = 12
lift_g_m = 3
[relay]
coil_ohm = 90
coil_v = 12
[lights]
led_v = 3
resistor_ohm = [20, 30]
supply = "signal"
[camera]
current_a = 0.3
minimum_v = 5
supply = "shared"
[[tube]]
name = "frame"
outer_mm = 50
wall_mm = 2
length_mm = 400
material = "pvc"
[[thruster]]
name = "port"
axis = "surge"
arm_mm = -150
[[thruster]]
name = "starboard"
axis = "surge"
arm_mm = 150
[[thruster]]
name = "vertical"
axis = "heave"
[baseline]
dives = 3
`

const everyReading = `dive,date,thrusters,lights,held,battery_v,current_a,vehicle_v,depth_m,speed_m_s,climb_m_s,trim_g,pull_n,loop_ohm,insulation_megohm,water_c,ballast_g
1,2026-05-01,off,,,12.62,,,0,,,60,,0.41,20,12,
1,,port + starboard,,,12.32,7.3,9.3,2,0.48,,,,,,,
1,,port + starboard,,yes,12.31,7.5,9.2,1,,,,9.0,,,,
1,,vertical,,,12.42,4.5,10.7,3,,0.10,,,,,,
1,,port,on,,12.38,4.7,10.5,2,,,,,,,,
2,2026-05-08,off,,,12.60,,,0,,,52,,0.42,18,13,20
2,,port + starboard,,,12.29,7.2,9.3,2,0.47,,,,,,,
2,,vertical,,,12.41,4.5,10.7,3,,0.09,,,,,,
3,2026-05-15,off,,,12.61,,,0,,,55,,0.42,19,13,
3,,port + starboard,,,12.31,7.2,9.3,2,0.47,,,,,,,
4,2026-05-22,off,,,12.61,,,0,,,55,,0.41,21,14,
4,,port + starboard,,,12.30,7.3,9.3,2,0.48,,,,,,,
`

// asking are commands in whose answers a key may show, the quick ones first.
var asking = [][]string{
	{"predict", "--as-built", "--json", "--lights", "--climb", "--depth-m", "3"}, {"trend", "--json"}, {"trim", "--json", "--salinity-psu", "30", "--depth-m", "2"},
	{"station", "--json", "--depth-m", "4", "--offset-m", "3"}, {"check", "--json"}, {"predict", "--as-built"}, {"sheet"}, {"whatif", "--rank"},
}

// A key of vehicle.toml that is read has an effect: changed, it changes what
// some command answers.
func TestEveryKeyHasAnEffect(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, session.FileName), []byte(everyReading), 0o644))
	shows, seen := map[string]bool{}, map[string]bool{}
	for _, text := range []string{everyPart, strings.NewReplacer("power.area_mm2 = 16", "power.awg = 5", "signal.area_mm2 = 2.5", "signal.awg = 13",
		"led_v = 3\nresistor_ohm = [20, 30]", "current_a = 0.6").Replace(everyPart), strings.NewReplacer("power.area_mm2 = 16", "power.ohm_km = 1.1",
		"signal.area_mm2 = 2.5", "signal.ohm_km = 7").Replace(everyPart)} {
		v, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
		require.NoError(t, err)
		before := map[int]string{}
		for _, k := range v.Keys() {
			if strings.HasPrefix(k.Name, "thruster.starboard.") {
				continue // as port's
			}
			seen[k.Name] = true
			if w, ok := changed(v, k.Name, k.Value); ok && !shows[k.Name] {
				shows[k.Name] = differs(t, dir, v, w, before)
			}
		}
	}
	for name := range seen {
		assert.True(t, shows[name], "%s has no effect", name)
	}
}

// changed is a vehicle with another value of a key that check accepts.
func changed(v *vehicle.Vehicle, name, value string) (*vehicle.Vehicle, bool) {
	row := v.Describe(name)
	tries := append(slices.Clone(row.Words), "true", "false", `other`, "[15, 40]")
	if x, err := strconv.ParseFloat(value, 64); err == nil {
		tries = append([]string{fmt.Sprint(x * 1.2), fmt.Sprint(x * 0.8), fmt.Sprint(x + 1), fmt.Sprint(x - 1)}, tries...)
	}
	for _, to := range tries {
		if w := v.Clone(); to != value && w.Set(name+"="+to) == nil && w.Check() == nil {
			return w, true
		}
	}
	return nil, false
}

// differs says whether some command answers otherwise of w than of v.
func differs(t *testing.T, dir string, v, w *vehicle.Vehicle, before map[int]string) bool {
	answer := func(of *vehicle.Vehicle, n int) string {
		require.NoError(t, os.WriteFile(filepath.Join(dir, vehicle.FileName), of.Text(), 0o644))
		var out, said bytes.Buffer
		code := Run(append(slices.Clone(asking[n]), dir), strings.NewReader(""), &out, &said)
		return fmt.Sprint(code, out.String(), said.String())
	}
	for n := range asking {
		if _, ok := before[n]; !ok {
			before[n] = answer(v, n)
		}
		if answer(w, n) != before[n] {
			return true
		}
	}
	return false
}
