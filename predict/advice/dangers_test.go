package advice

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
	"sagline/session"
)

// Each kind of reading that says stop is said once, as the last line has it;
// what is met, and what no limit is for, is not.
func TestDiveDangers(t *testing.T) {
	v := vehicle.Example()
	v.Battery.MinimumV, v.Limits.InsulationMegohm = 11, 1
	v.Tubes = []vehicle.Tube{{Name: "float", OuterMM: 50, WallMM: 1, Material: "pvc"}}
	for name, c := range map[string]struct {
		rows string // thrusters, battery_v, insulation_megohm, depth_m, lights
		want []string
	}{
		"all is met":                        {"off,12.7,1,1,\nport,11.0,,,\n", nil},
		"below the least under load":        {"port,10.99,,,\n", []string{"battery: NOT MET; 10.99 V under load"}},
		"the last of two":                   {"port,10.9,,,\nport,10.8,,,\n", []string{"battery: NOT MET; 10.8 V under load"}},
		"at rest, under half":               {"off,12.0,,,\n", []string{"charge: NOT MET; 12 V with all off: a battery (lead-acid) that rested for an hour has about 1"}},
		"all off after a load is no rest":   {"off,12.7,,,\nport,12.1,,,\noff,12.0,,,\n", nil},
		"the same with lights on":           {"off,12.0,,,on\n", nil},
		"a wet power pair":                  {"off,,0.99,,\n", []string{"insulation: NOT MET; 0.99 MΩ"}},
		"a tube too deep":                   {"off,,,500,\n", []string{"tube float: NOT MET"}},
		"several, in the order of the dive": {"off,12.0,,,\nport,10,0.2,,\n", []string{"charge: NOT MET", "insulation: NOT MET", "battery: NOT MET"}},
	} {
		t.Run(name, func(t *testing.T) {
			rows := "1,2026-05-01," + strings.ReplaceAll(strings.TrimSuffix(c.rows, "\n"), "\n", "\n1,,") + "\n"
			log, err := session.Read(strings.NewReader("dive,date,thrusters,battery_v,insulation_megohm,depth_m,lights\n"+rows), "dives.csv")
			require.NoError(t, err)
			got := DiveDangers(v, &log.Dives[0])
			require.Len(t, got, len(c.want))
			for i, want := range c.want {
				assert.Contains(t, got[i].String(), want)
			}
		})
	}
}
