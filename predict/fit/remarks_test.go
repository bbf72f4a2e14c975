package fit_test

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
	_, of := fit.Remarks(v, log, nil, nil)
	var out []string
	for _, p := range of {
		out = append(out, p.Error())
	}
	return out
}

// What a line says that nothing can be compared with, or that cannot be, is told with its column; what just can be is not.
func TestRemarksOnLines(t *testing.T) {
	v := simulate.Fleet(3)
	v.Tether.LengthM, v.Battery.NominalV = 30, 12
	v.Thrusters[0].ArmMM, v.Thrusters[1].ArmMM = 120, -120
	v.Instruments.SpeedPercent = 2.5
	for _, c := range []struct{ header, cells, want string }{
		{"thrusters,tether_out_m", "off,30", ""},
		{"thrusters,tether_out_m", "off,30.5", `column "tether_out_m": found 30.5 m paid out of a tether of 30 m`},
		{"thrusters,tether_out_ft", "off,120", `column "tether_out_ft": found 120 ft paid out of a tether of 30 m`},
		{"depth_m,battery_v", "2,12.6", ""},
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

// remarksOf are what is odd of a log and of its vehicle's file.
func (s *simulated) remarks(t *testing.T) (ofVehicle, ofLog []string) {
	t.Helper()
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, vehicle.FileName), s.vehicle.Text(), 0o644))
	v, at, err := vehicle.OpenPlaced(folder)
	require.NoError(t, err)
	r, err := fit.Fit(v, s.log, nil)
	require.NoError(t, err)
	file, log := fit.Remarks(v, s.log, r, at)
	for _, p := range file {
		ofVehicle = append(ofVehicle, p.Error())
	}
	for _, p := range log {
		ofLog = append(ofLog, p.Error())
	}
	return ofVehicle, ofLog
}

// Where the dives differ from the file by more than its tolerances is told at the key, by how much and to which side; a
// file that is right is left in peace.
func TestMismatchesWithTheFile(t *testing.T) {
	for name, c := range map[string]struct {
		wrong func(v *vehicle.Vehicle)
		want  string // "" for nothing
	}{
		"right":      {func(*vehicle.Vehicle) {}, ""},
		"loop less":  {func(v *vehicle.Vehicle) { v.Tether.Power.JointsOhm += 0.3 }, `the power loop has 0\.\d+ Ω less than .* should have: a thicker or a shorter cable`},
		"loop more":  {func(v *vehicle.Vehicle) { v.Tether.LengthM *= 0.5 }, `the power loop has 0\.\d+ Ω more than .* should have: a bad joint from the start`},
		"pull less":  {func(v *vehicle.Vehicle) { push(v, 3) }, `the thrusters pull 6\d % less than the file says: propellers worn`},       // by 67 %
		"pull more":  {func(v *vehicle.Vehicle) { push(v, 0.5) }, `the thrusters pull [89]\d % more than the file says: other propellers`}, // by 100 %
		"drag less":  {func(v *vehicle.Vehicle) { v.Hull.DragAreaM2 *= 3 }, `the hull drags 6\d % less than the file says: a guess that was too large`},
		"battery":    {func(v *vehicle.Vehicle) { v.Battery.ResistanceOhm += 0.07 }, `the battery has 0\.0\d+ Ω less than the file says: another battery`},
		"floats":     {func(v *vehicle.Vehicle) { v.Hull.TrimG += 150 }, `the vehicle floats by 1\d0 g less than the file says: water in a tube`},
		"floats yet": {func(v *vehicle.Vehicle) { v.Hull.TrimG -= 150 }, `the vehicle floats by 1\d0 g more than the file says: ballast`},
	} {
		s := simulatedLog(21, simulate.Season{Dives: 7})
		file := *s.vehicle
		file.Thrusters = slices.Clone(file.Thrusters)
		c.wrong(&file)
		found := s.fit(t, &file).Mismatches()
		if c.want == "" {
			assert.Empty(t, found, name)
			continue
		}
		if assert.NotEmpty(t, found, name) {
			assert.Regexp(t, "^from the start: "+c.want, found[0].Said(), name)
			assert.NotEmpty(t, found[0].Path, name)
		}
	}
}

// What the file does not say cannot be wrong in it, however far from what is usual the vehicle is.
func TestNoMismatchWithWhatIsNotSaid(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 7, Drift: func(_ int, p predict.Params) { p[predict.BatteryOhm] += 0.4 }})
	assert.Empty(t, s.fit(t, required(t, s.vehicle)).Mismatches())
	found := s.fit(t, nil).Mismatches()
	require.Len(t, found, 1)
	assert.Equal(t, "battery.resistance_ohm", found[0].Path)
}

// push gives all thrusters another pull in the file.
func push(v *vehicle.Vehicle, by float64) {
	for i := range v.Thrusters {
		v.Thrusters[i].TestN *= by
	}
}

// An instrument that scatters by far more or less than is said of it is told, once forty readings say so; slips are told
// where they stand.
func TestRemarksOnScatterAndSlips(t *testing.T) {
	s := simulatedLog(22, simulate.Season{Dives: 12})
	file, log := s.remarks(t)
	assert.Empty(t, file)
	assert.Empty(t, log)
	s.vehicle.Instruments.CurrentA /= 3
	file, _ = s.remarks(t)
	require.Len(t, file, 1)
	assert.Regexp(t, `current_a: .* readings scatter by about .* about their fits: the intervals are too narrow$`, file[0])
	s.vehicle.Instruments.CurrentA *= 12
	file, _ = s.remarks(t)
	require.NotEmpty(t, file)
	assert.Regexp(t, `current_a: .* the intervals are wider than need be$`, file[0])
	s.vehicle.Instruments.CurrentA /= 4

	l := s.line(t, later, quantity.CurrentA, 2)
	l.Number = 77
	scale(l, quantity.CurrentA, 10)
	_, log = s.remarks(t)
	require.Len(t, log, 1)
	assert.Regexp(t, `^.*:77: column "current_a": found [\d.]+, [\d.]+ is expected: a slip\? it is set aside$`, log[0])
}

// What the file has wrong stands at its key's line, a dive of the baseline that differs from the others at that dive.
func TestRemarksOnTheBaseline(t *testing.T) {
	s := simulatedLog(16, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
		if d == ofBaseline+1 {
			p[predict.LoopOhm] += 0.25
		}
	}})
	s.number()
	_, log := s.remarks(t)
	require.Len(t, log, 1)
	assert.Regexp(t, `dive: dive 3 differs from the other dives of the baseline: excess loop resistance 0\.2\d Ω; is that dive to count as sound\?$`, log[0])

	s = simulatedLog(21, simulate.Season{Dives: 7})
	s.vehicle.Hull.TrimG += 150
	file, log := s.remarks(t)
	require.Len(t, file, 1)
	assert.Regexp(t, `^.*vehicle.toml:\d+: hull.trim_g: the vehicle floats by 1\d0 g less than the file says`, file[0])
	assert.Empty(t, log)
}

// What is judged of a dive is judged without what was set aside; an insulation that fell and has not risen since stays.
func TestKept(t *testing.T) {
	s := simulatedLog(12, simulate.Season{Dives: 9})
	s.number()
	l := s.line(t, later, quantity.CurrentA, 2)
	scale(l, quantity.CurrentA, 10)
	r := s.fit(t, nil)
	kept := r.Kept(later)
	gone := 0
	for i := range kept.Lines {
		for q := range kept.Lines[i].Readings {
			was, is := s.log.Dives[later].Lines[i].Readings[q].Measured(), kept.Lines[i].Readings[q].Measured()
			assert.False(t, is && !was)
			if was && !is {
				gone++
				assert.Equal(t, l.Number, kept.Lines[i].Number)
				assert.Equal(t, quantity.CurrentA, quantity.Quantity(q))
			}
		}
	}
	assert.Equal(t, 1, gone)
	assert.True(t, l.Readings[quantity.CurrentA].Measured(), "the log keeps it")
}
