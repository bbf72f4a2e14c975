package fit_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// What has acted since before the first dive is found with its size, and the instruments stay as good as they are: a joint,
// one thruster's wiring, a clamp's zero, a jam, buoyancy as of the sea, a key that is far off.
func TestFromStart(t *testing.T) {
	port := func(what int) int { return predict.OfThruster(0, what) }
	for name, c := range map[string]struct {
		param int
		by    float64
		jam   int
		file  func(v *vehicle.Vehicle)
		want  string // of the first cause or key; "": none
	}{
		"sound":            {want: ""},
		"joint":            {param: predict.LoopOhm, by: 0.5, want: "power_loop"},
		"wiring of port":   {param: port(predict.BranchOhm), by: 0.8, want: "branch:port"},
		"friction of port": {param: port(predict.OneFrictionA), by: 2, want: "friction:port"},
		"clamp":            {param: predict.ClampZeroA, by: 1.2, want: "instrument:current_a:zero"},
		"jam":              {jam: 1, want: "stall:port"},
		"less resistance":  {file: func(v *vehicle.Vehicle) { v.Tether.Power.JointsOhm += 0.4 }, want: "tether.power.joints_ohm"},
		"floats more":      {param: predict.TrimG, by: 900, want: "ballast"},
		"pull test":        {file: func(v *vehicle.Vehicle) { pulls(v, 0.3) }, want: "thruster.*.test_n"},
	} {
		season := simulate.Season{Dives: 5, Drift: func(_ int, p predict.Params) {
			if c.by != 0 {
				p[c.param] += c.by
			}
		}}
		if c.jam > 0 {
			season.Jam = func(int) int { return c.jam }
		}
		s := simulatedLog(21, season)
		file := s.vehicle.Clone()
		if c.file != nil {
			c.file(file)
		}
		r := s.fit(t, file)
		if c.want == "" {
			assert.Empty(t, r.FromStart, name)
			continue
		}
		if !assert.NotEmpty(t, r.FromStart, name) {
			continue
		}
		first := r.FromStart[0]
		if first.Cause == nil {
			assert.Regexp(t, "^"+c.want, first.Key.Key, name)
		} else {
			assert.Equal(t, c.want, first.Cause.Name, name)
		}
		assert.Greater(t, first.Probability, 0.3, name)
		if c.by != 0 && first.Cause != nil {
			assert.InDelta(t, c.by, first.Amplitude, 0.45*math.Abs(c.by), name)
			assert.InDelta(t, s.truth[0][c.param], r.Base[c.param], 0.45*math.Abs(c.by), name)
		}
		for _, q := range []quantity.Quantity{quantity.CurrentA, quantity.BatteryV, quantity.VehicleV, quantity.Pull} {
			assert.Less(t, r.Noise.Factor[q], 1.6, "%s: %v", name, q)
		}
	}
}

// What has acted for the better is no fault, whichever way the table has worse.
func TestFromStartForTheBetter(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 5, Drift: func(_ int, p predict.Params) { p[predict.LoopOhm] -= 0.12 }})
	for _, f := range s.fit(t, nil).FromStart {
		if f.Cause != nil && f.Cause.Worse != 0 && !f.Cause.Fails.Jam() {
			assert.GreaterOrEqual(t, f.Cause.Worse*f.Amplitude, 0.0, f.Cause.Name)
		}
	}
}

// A voltmeter that reads half is none that is off, nor any other cause farther than causes go.
func TestFromStartIsNotFarther(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 5, Drift: func(_ int, p predict.Params) { p[predict.LogVehicleV] -= 0.7 }})
	for _, f := range s.fit(t, nil).FromStart {
		if f.Cause != nil {
			assert.NotEqual(t, "instrument:vehicle_v", f.Cause.Name, "%.2f", f.Amplitude)
		}
	}
}

// The probabilities of what has acted and of nothing add up to one, the likeliest first.
func TestFromStartAddsUp(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 3, Without: []quantity.Quantity{quantity.LoopOhm}, Drift: func(_ int, p predict.Params) { p[predict.LoopOhm] += 0.5 }})
	r := s.fit(t, nil)
	require.NotEmpty(t, r.FromStart)
	sum := 0.0
	for i, f := range r.FromStart {
		sum += f.Probability
		assert.True(t, i == 0 || f.Probability <= r.FromStart[i-1].Probability)
	}
	assert.LessOrEqual(t, sum, 1.0+1e-12)
	assert.Greater(t, sum, 0.5)
	assert.False(t, slices.ContainsFunc(r.FromStart, func(f fit.FromStart) bool { return f.Cause != nil && f.Cause.Kind == causes.NotLogged }))
}

// The baseline is read with a thruster jammed where that is likelier than all else, and not where it is only the likeliest: few dive
// on with one.
func TestJammedFromStartWhereLikely(t *testing.T) {
	few := []quantity.Quantity{quantity.CurrentA, quantity.Pull}
	for name, c := range map[string]struct {
		season simulate.Season
		jammed int
	}{"all is read": {simulate.Season{Dives: 5}, 1}, "little is read": {simulate.Season{Dives: 2, Sparse: true, Without: few, Noise: func(int) float64 { return 1.1 }}, 0}} {
		c.season.Jam = func(int) int { return 1 }
		s := simulatedLog(21, c.season)
		r := s.fit(t, nil)
		require.NotEmpty(t, r.FromStart, name)
		assert.Equal(t, "stall:port", r.FromStart[0].Cause.Name, name)
		assert.Equal(t, c.jammed > 0, r.FromStart[0].Probability > 0.5, "%s: %.2f", name, r.FromStart[0].Probability)
		for d := range r.Dives {
			r.Dives[d].Observed(func(cond *predict.Condition, _ *session.Line, _ []quantity.Quantity) {
				assert.Equal(t, c.jammed, cond.Jammed, name)
			})
		}
	}
}

// The only thruster, which was read to pull, is not jammed from the start, whatever else the readings are: here its speeds are those
// of a vehicle that goes round.
func TestWhatPullsIsNotJammed(t *testing.T) {
	v := simulate.Fleet(3)
	v.Thrusters = v.Thrusters[:1]
	log, _ := simulate.LogTruth(v, simulate.Season{Dives: 12, Seed: 11, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC)})
	text := fmt.Sprintf("name = \"Newt\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n", v.Battery.NominalV, v.Tether.LengthM, v.Tether.Power.AreaMM2)
	file, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	r, err := fit.Fit(file, log)
	require.NoError(t, err)
	assert.False(t, slices.ContainsFunc(r.FromStart, func(f fit.FromStart) bool { return f.Cause != nil && f.Cause.Fails.Jam() }))
}

// pulls gives all thrusters another pull in the file.
func pulls(v *vehicle.Vehicle, by float64) {
	for i := range v.Thrusters {
		v.Thrusters[i].TestN *= by
	}
}
