package session

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Lines differ in cells that say something else, not in how that is written, nor in what carries forward from earlier lines or adds up
// over them.
func TestDifferences(t *testing.T) {
	const head = "dive,date,thrusters,battery_v,depth_m,run_m,run_s,water_c,salinity_psu,tether_out_m,ballast_g,held,note\n"
	const feet = "dive,date,thrusters,battery_v,depth_ft,run_ft,run_s,water_f,salinity_psu,tether_out_ft,ballast_oz,held,note\n"
	line := func(head, row string) *Line { return &read(t, head+row).Dives[0].Lines[0] }
	as := line(head, "1,2026-05-02,port,12.3,3.048,10,20,9,0,20,100,,calm\n")
	for name, c := range map[string]struct {
		other *Line
		want  []string
	}{
		"the same":                {line(head, "1,2026-05-02,port,12.30,3.048,10,20,9,0,20,100,,calm\n"), nil},
		"in other units":          {line(feet, "1,2026-05-02,port,12.3,10.00003,32.8084,20,50,0,66,4,,calm\n"), nil},
		"what carries or adds up": {line(head, "1,2026-05-02,port,12.3,3.048,10,20,17,33,12,-50,,calm\n"), nil},
		"another reading":         {line(head, "1,2026-05-02,port,12.4,3.048,10,20,9,0,20,100,,calm\n"), []string{`battery_v is "12.4", "12.3" in the log`}},
		"one that is not there":   {line(head, "1,2026-05-02,port,,3.048,10,20,9,0,20,100,,calm\n"), []string{`battery_v is "", "12.3" in the log`}},
		"another depth":           {line(feet, "1,2026-05-02,port,12.3,12,32.8084,20,50,0,66,4,,calm\n"), []string{`depth_m is "3.6576", "3.048" in the log`}},
		"no run":                  {line(head, "1,2026-05-02,port,12.3,3.048,,,9,0,20,100,,calm\n"), []string{`run_s is "", "20" in the log`}},
		"words":                   {line(head, "1,2026-05-02,port + lift,12.3,3.048,10,20,9,0,20,100,yes,windy\n"), []string{`thrusters is "port + lift", "port" in the log`, `held is "yes", "" in the log`, `note is "windy", "calm" in the log`}},
	} {
		assert.Equal(t, c.want, Differences(as, c.other), name)
	}
}
