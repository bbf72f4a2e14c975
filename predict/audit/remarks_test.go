package audit_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// remarksOn are what is odd of one line, without a fit.
func remarksOn(t *testing.T, v *vehicle.Vehicle, header, cells string) []string {
	t.Helper()
	log, err := session.Read(strings.NewReader("dive,date,"+header+"\n1,2026-05-01,"+cells+"\n"), "dives.csv")
	require.NoError(t, err)
	_, of := audit.Remarks(v, log, nil, nil)
	var out []string
	for _, p := range of {
		out = append(out, p.Error())
	}
	return out
}

// What a line says that nothing can be compared with, or that cannot be, is told with its column; what just can be is not.
func TestRemarksOnLines(t *testing.T) {
	v := simulate.Fleet(3)
	v.Tether.LengthM, v.Battery.NominalV, v.Battery.MinimumV = 30, 12, 11.5
	v.Thrusters[0].ArmMM, v.Thrusters[1].ArmMM = 120, -120
	v.Instruments.SpeedPercent = 2.5
	v.Tether.DiameterMM = 0.5
	for _, c := range []struct{ header, cells, want string }{
		{"thrusters,depth_m", "off,30", ""},
		{"thrusters,depth_m", "off,150", `column "depth_m": found 150 m on a tether of 30 m: a slip?`},
		{"thrusters,depth_ft,tether_out_m", "off,150,20", ""}, // told beside the tether paid out
		{"thrusters,tether_out_m", "off,30", ""},
		{"thrusters,tether_out_m", "off,30.5", `column "tether_out_m": found 30.5 m paid out of a tether of 30 m: a slip, or was it longer then? sagline change says from which dive on it is shorter`},
		{"thrusters,tether_out_ft", "off,120", `column "tether_out_ft": found 120 ft paid out of a tether of 30 m: a slip, or was it longer then? sagline change says from which dive on it is shorter`},
		{"thrusters,tether_out_m,note", "off,40,bench test", `column "note": says that the line was read out of the water: it is kept and not judged`},
		{"depth_m,battery_v", "2,12.6", ""},
		{"thrusters,battery_v", "off,11.5", ""},
		{"thrusters,battery_v", "off,11.4", `column "battery_v": found 11.4 V, below the 11.50 V at which a dive ends: charge it before it lies, and end dives earlier`},
		{"thrusters,battery_v", "off,1.27", ""},  // a slip
		{"thrusters,battery_v", "port,11.4", ""}, // the battery's margin tells that
		{"depth_m,vehicle_v", fmt.Sprintf("2,%.1f", 1.09*v.MostV()), ""},
		{"depth_m,battery_v", "2,25", fmt.Sprintf(`column "battery_v": found 25 V, a full battery of 12 V has at most %.1f V: a slip?`, v.MostV())},
		{"thrusters,pull_n", "port + starboard,15", `column "pull_n": not compared: the line does not say held and which thrusters pulled`},
		{"thrusters,held,pull_n", "port + starboard,yes,15", ""},
		{"thrusters,held,speed_m_s", "port + starboard,yes,0.4", `column "speed_m_s": not compared: the line says held`},
		{"thrusters,speed_m_s", "vertical,0.4", `column "speed_m_s": not compared: no surge thruster ran`},
		{"thrusters,speed_m_s", "port + starboard,0.4", ""},
		{"thrusters,speed_m_s", "port,0.4", `column "speed_m_s": not compared: the thrusters that ran would turn the vehicle (their arm_mm add up to +120)`},
		{"thrusters,speed_m_s", "port + starboard astern,0.4", `column "speed_m_s": not compared: the thrusters that ran would turn the vehicle (their arm_mm add up to +240)`},
		{"thrusters,speed_m_s", "port astern + starboard astern,0.4", ""},
		// 0.1 m at either mark and 0.1 s at either press, at 0.5 m/s: √2·√(0.1² + 0.05²) = 0.158 m, of which 2.5 % are 6.3 m
		{"thrusters,run_m,run_s", "port + starboard,6.5,13", ""},
		{"thrusters,run_m,run_s", "port + starboard,6,12", `column "run_s": 6 m in 12 s tells a speed to ±5.3 % (95 %), worse than the ±5 % of speed_percent: want 6.3 m, less when timed both ways`},
		// timed both ways √2 less: 4.5 m are wanted
		{"thrusters,run_m,run_s,run_back_s", "port + starboard,4.6,9.2,9.2", ""},
		{"thrusters,run_m,run_s,run_back_s", "port + starboard,4.2,8,8.8", `column "run_s": 4.2 m in 8 s tells a speed to ±5.4 % (95 %), worse than the ±5 % of speed_percent: want 4.5 m`},
		{"thrusters,climb_m,climb_s", "off,2,4", `column "climb_s": 2 m in 4 s tells a speed to ±16 % (95 %), worse than the ±12 % of climb_percent: want 2.6 m`},
	} {
		got := remarksOn(t, v, c.header, c.cells)
		if c.want == "" {
			assert.Empty(t, got, "%s", c.cells)
		} else {
			assert.Equal(t, []string{"dives.csv:2: " + c.want}, got, "%s", c.cells)
		}
	}
}

// remarks are what is odd of a log and of its vehicle's file.
func remarks(t *testing.T, of *vehicle.Vehicle, dives *session.Log) (ofVehicle, ofLog []string) {
	t.Helper()
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, vehicle.FileName), of.Text(), 0o644))
	v, at, err := vehicle.OpenPlaced(folder)
	require.NoError(t, err)
	r, err := fit.Fit(v, dives)
	require.NoError(t, err)
	file, log := audit.Remarks(v, dives, r, at)
	for _, p := range file {
		ofVehicle = append(ofVehicle, p.Error())
	}
	for _, p := range log {
		ofLog = append(ofLog, p.Error())
	}
	return ofVehicle, ofLog
}

// A log of runs that never gives a depth is told, where the tether drags enough.
func TestRemarkOnDepth(t *testing.T) {
	v := simulate.Fleet(3)
	v.Tether.DiameterMM, v.Tether.NormalDrag, v.Hull.DragAreaM2, v.Instruments.SpeedPercent = 10, 1.2, 0.03, 2.5
	const header, run = "thrusters,depth_m,speed_m_s", "port + starboard,%s,0.4"
	// 0.012 m² a metre beside 0.03: at 2.5 ± 1.5 m half of 0.018 in 0.06
	assert.Equal(t, []string{`dives.csv:2: column "depth_m": no line has a depth: runs are taken to be made at like depths, and 1 m deeper reads 10 % slower, as more drag does: want the depth of runs`},
		remarksOn(t, v, header, fmt.Sprintf(run, "")))
	assert.Empty(t, remarksOn(t, v, header, fmt.Sprintf(run, "3")))
	v.Tether.DiameterMM = 0.5
	assert.Empty(t, remarksOn(t, v, header, fmt.Sprintf(run, "")), "less than a speed is read to")
}

// An instrument that scatters by far more or less than is said of it is told, once forty readings say so; slips are told
// where they stand.
func TestRemarksOnScatterAndSlips(t *testing.T) {
	v, dives, _ := simulate.FleetLog(22, simulate.Season{Dives: 12})
	file, log := remarks(t, v, dives)
	assert.Empty(t, file)
	assert.Empty(t, log)
	v.Instruments.CurrentA /= 3
	file, _ = remarks(t, v, dives)
	require.Len(t, file, 1)
	assert.Regexp(t, `current_a: .* readings scatter by about .* about their fits: the intervals are too narrow$`, file[0])
	v.Instruments.CurrentA *= 12
	file, _ = remarks(t, v, dives)
	require.NotEmpty(t, file)
	assert.Regexp(t, `current_a: .* the intervals are wider than need be$`, file[0])
	v.Instruments.CurrentA /= 4

	lines := dives.Dives[8].Lines
	l := &lines[slices.IndexFunc(lines, func(l session.Line) bool { return l.Readings[quantity.CurrentA].Measured() && len(l.Drives) == 2 })]
	l.Number = 77
	amps := l.Readings[quantity.CurrentA]
	amps.Entered, amps.X = 10*amps.Entered, 10*amps.X
	l.Put(amps)
	_, log = remarks(t, v, dives)
	require.Len(t, log, 1)
	assert.Regexp(t, `^.*:77: column "current_a": found [\d.]+, [\d.]+ is expected: a slip\? it is set aside$`, log[0])
}

// What the file has wrong stands at its key's line, a dive of the baseline that differs from the others at that dive.
func TestRemarksOnTheBaseline(t *testing.T) {
	v, dives, _ := simulate.FleetLog(16, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
		if d == 3 {
			p[predict.LoopOhm] += 0.25
		}
	}})
	v.Battery.MinimumV = 0 // its battery is spent as dives end
	n := 1
	for d := range dives.Dives {
		for i := range dives.Dives[d].Lines {
			n++
			dives.Dives[d].Lines[i].Number = n
		}
	}
	_, log := remarks(t, v, dives)
	require.Len(t, log, 1)
	assert.Regexp(t, fmt.Sprintf(`:%d: dive: dive 3 differs from the other dives of the baseline: excess loop resistance 0\.2\d Ω; is that dive to count as sound\?$`, dives.Dives[2].Lines[0].Number), log[0])

	v, dives, _ = simulate.FleetLog(21, simulate.Season{Dives: 7})
	v.Hull.TrimG += 150
	file, log := remarks(t, v, dives)
	require.Len(t, file, 1)
	assert.Regexp(t, `^.*vehicle.toml:\d+: hull.trim_g: the vehicle floats by 1\d0 g less than the file says`, file[0])
	assert.Empty(t, log)
}

// Ballast that changes no hover weight, and more of it than a vehicle bears, are slips; what weighs as steel does is not.
func TestRemarksOnBallast(t *testing.T) {
	const file = "name = \"x\"\nbattery.nominal_v = 12\ntether.length_m = 20\ntether.power.area_mm2 = 2.5\nhull = {displaced_kg = 8, trim_g = 2000}\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"
	for _, c := range []struct {
		name   string
		g      float64 // added at the first line of dive 3
		weighs float64 // of that, in water
		want   []string
	}{
		{"steel", 250, 218, nil},
		{"no effect", 250, 0, []string{"column \"ballast_g\": by the hover weights what was moved weighs next to nothing in water, as if of at most 1"}},
		{"a quarter", 2000, 1745, nil},
		{"more", 2001, 1746, []string{"column \"ballast_g\": 2001 g of 8 kg that the vehicle displaces: a slip?"}},
		{"floats", -2001, -1746, []string{"column \"ballast_g\": -2001 g of 8 kg that the vehicle displaces: a slip?"}},
	} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, vehicle.FileName), []byte(file), 0o600))
		v, at, err := vehicle.OpenPlaced(dir)
		require.NoError(t, err)
		text := "dive,date,thrusters,trim_g,ballast_g,water_c\n"
		for d := 1; d <= 8; d++ {
			trim, added := 2000.0+float64(d%3), ""
			if d >= 3 {
				trim -= c.weighs
			}
			if d == 3 {
				added = fmt.Sprint(c.g)
			}
			text += fmt.Sprintf("%d,2026-05-%02d,off,%g,%s,15\n", d, d, trim, added)
		}
		log, err := session.Read(strings.NewReader(text), "dives.csv")
		require.NoError(t, err)
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		_, of := audit.Remarks(v, log, r, at)
		var got []string
		for _, p := range of {
			if strings.Contains(p.Error(), "ballast") {
				got = append(got, p.Error())
			}
		}
		require.Len(t, got, len(c.want), "%s: %v", c.name, got)
		for i := range got {
			assert.Contains(t, got[i], c.want[i], c.name)
		}
	}
}
