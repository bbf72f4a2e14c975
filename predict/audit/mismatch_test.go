package audit_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

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
		v, log, _ := simulate.FleetLog(21, simulate.Season{Dives: 7})
		file := *v
		file.Thrusters = slices.Clone(file.Thrusters)
		c.wrong(&file)
		r, err := fit.Fit(&file, log)
		require.NoError(t, err)
		found := audit.Mismatches(r)
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

// What has acted since before the first dive is told with all of its size and what else it may be, at the key to look at.
func TestMismatchesFromTheStart(t *testing.T) {
	add := func(param int, by float64) simulate.Season {
		return simulate.Season{Dives: 5, Drift: func(_ int, p predict.Params) { p[param] += by }}
	}
	jammed := add(predict.LoopOhm, 0)
	jammed.Jam = func(int) int { return 1 }
	for name, c := range map[string]struct {
		season     simulate.Season
		path, want string
	}{
		"joint": {add(predict.LoopOhm, 0.5), "tether.power.joints_ohm", `the power loop has 0\.(4[5-9]|5\d?) Ω more than .* should have: a bad joint from the start`},
		"jam":   {jammed, "thruster.port.test_a", `the first dives read as with a jam of port.*: switch port off at once`},
		"clamp": {add(predict.ClampZeroA, 1.2), "instruments.current_a", `the first dives read as with zero of the clamp meter 1\.\d A.*: zero the clamp`},
	} {
		v, log, _ := simulate.FleetLog(21, c.season)
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		found := audit.Mismatches(r)
		at := slices.IndexFunc(found, func(m audit.Mismatch) bool { return m.Path == c.path })
		if assert.GreaterOrEqual(t, at, 0, "%s: %v", name, found) {
			assert.Regexp(t, "^from the start: "+c.want, found[at].Said(), name)
		}
	}
}

// Of several batteries in the baseline the first is held to the file.
func TestMismatchOfTheFirstBattery(t *testing.T) {
	for first, want := range map[string]string{"B": "from the start: battery B has 0.1", "A": ""} {
		v, log, _ := simulate.FleetLog(2, simulate.Season{Dives: 5, AsFile: true, Drift: func(d int, p predict.Params) {
			if (d%2 == 1) == (first == "B") {
				p[predict.BatteryOhm] += 0.12
			}
		}})
		for d := range log.Dives {
			log.Dives[d].Battery = first
			if d%2 == 1 {
				log.Dives[d].Battery = map[string]string{"A": "B", "B": "A"}[first]
			}
		}
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		got := ""
		for _, m := range audit.Mismatches(r) {
			if m.Path == "battery.resistance_ohm" {
				got = m.Said()
			}
		}
		assert.Equal(t, want != "", got != "", got)
		assert.Contains(t, got, want)
	}
}

// push gives all thrusters another pull in the file.
func push(v *vehicle.Vehicle, by float64) {
	for i := range v.Thrusters {
		v.Thrusters[i].TestN *= by
	}
}

// A vertical motor that takes two thirds of the others' current is no bad contact from the start where the file gives no test, and
// its own current is learnt.
func TestSmallerVerticalMotor(t *testing.T) {
	v := simulate.Fleet(3)
	up := len(v.Thrusters) - 1
	size := &v.Thrusters[up]
	size.TestA, size.TestN, size.NoLoadA, size.ArmatureOhm = size.TestA*2/3, size.TestN*2/3, size.NoLoadA*2/3, size.ArmatureOhm*3/2
	log, _ := simulate.LogTruth(v, simulate.Season{Dives: 6, Seed: 5, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC)})
	text := fmt.Sprintf("name = \"Newt\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n", v.Battery.NominalV, v.Tether.LengthM, v.Tether.Power.AreaMM2)
	for i := range v.Thrusters {
		text += fmt.Sprintf("[[thruster]]\nname = %q\naxis = %q\n", v.Thrusters[i].Name, v.Thrusters[i].Axis)
	}
	bare, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	r, err := fit.Fit(bare, log)
	require.NoError(t, err)
	assert.Empty(t, audit.Mismatches(r))
	amps := map[string]float64{}
	for _, k := range audit.Keys(r, r.OfBaseline()) {
		if k.Key == "thruster.*.test_a" {
			amps[k.Path] = k.Now.Value
		}
	}
	assert.InDelta(t, 2.0/3, amps["thruster."+size.Name+".test_a"]/amps["thruster."+v.Thrusters[0].Name+".test_a"], 0.1)
}
