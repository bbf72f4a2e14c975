package fit_test

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/priors"
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
	}{"all is read": {simulate.Season{Dives: 5}, 1}, "little is read": {simulate.Season{Dives: 2, Sparse: true, Without: few}, 0}} {
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

// pulls gives all thrusters another pull in the file.
func pulls(v *vehicle.Vehicle, by float64) {
	for i := range v.Thrusters {
		v.Thrusters[i].TestN *= by
	}
}

// What no baseline dive was read with is known from the file alone: a thruster's pull and current by far less than those of one that
// was, and the drag of what was never timed.
func TestNotReadInTheBaseline(t *testing.T) {
	v := vehicle.Example()
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:8]
	const vertical = 2
	torque, thrust := predict.OfThruster(vertical, predict.LogOneTorque), predict.OfThruster(vertical, predict.LogOneThrust)
	beside := func() []float64 {
		r, err := fit.Fit(v, log, nil)
		require.NoError(t, err)
		return []float64{r.Space.Of[torque].Beside, r.Space.Of[thrust].Beside, r.Space.Of[predict.LogClimbDrag].Beside, r.Space.Of[predict.LogDrag].Beside}
	}
	lines := func(dives int, change func(l *session.Line)) {
		for d := range log.Dives[:dives] {
			for i := range log.Dives[d].Lines {
				if l := &log.Dives[d].Lines[i]; len(l.Drives) > 0 {
					change(l)
				}
			}
		}
	}
	never := slices.Clone(log.Dives)
	lines(8, func(l *session.Line) { l.Readings[quantity.Climb] = l.Readings[quantity.Speed] })
	of := predict.NewModel(v)
	known := priors.Parameters(of)
	all := []float64{known[torque].Beside, known[thrust].Beside, known[predict.LogClimbDrag].Beside, known[predict.LogDrag].Beside}
	assert.Equal(t, all, beside())
	lines(v.Baseline.Dives, func(l *session.Line) { l.Readings[quantity.Climb] = session.Value{} })
	assert.Equal(t, []float64{all[0], all[1], 0.7, all[3]}, beside())
	lines(v.Baseline.Dives, func(l *session.Line) { l.Readings[quantity.Speed] = session.Value{} })
	assert.Equal(t, []float64{all[0], all[1], 0.7, 0.7}, beside())
	for d := range log.Dives[:v.Baseline.Dives] {
		log.Dives[d].Lines = slices.DeleteFunc(slices.Clone(log.Dives[d].Lines), func(l session.Line) bool {
			return slices.ContainsFunc(l.Drives, func(x session.Drive) bool { return x.Name == v.Thrusters[vertical].Name })
		})
	}
	assert.Equal(t, []float64{0.4, 0.4, 0.7, 0.7}, beside())

	log.Dives = never
	lines(8, func(l *session.Line) {
		l.Readings[quantity.Climb], l.Readings[quantity.Speed] = session.Value{}, session.Value{}
	})
	assert.Equal(t, all, beside(), "what is never timed needs no drag")
}

// A file without a limit of the water taken in gets what the vehicle floats by with the newest ballast, where that is less than the
// usual limit and not next to nothing: then it sinks. A limit that is stated stays, and so does the usual one of a vehicle that sinks.
func TestLimitOfWater(t *testing.T) {
	text, err := os.ReadFile("../../examples/sound/vehicle.toml")
	require.NoError(t, err)
	for name, c := range map[string]struct {
		keep    bool
		ballast float64
		want    func(floats float64) float64
	}{
		"stated":    {true, 0, func(float64) float64 { return 60 }},
		"floats by": {false, 30, func(floats float64) float64 { return math.Floor(floats - 30*lift) }},
		"by little": {false, 80, func(float64) float64 { return 10 }},
		"more than": {false, -20, func(float64) float64 { return 60 }},
		"it sinks":  {false, 200, func(float64) float64 { return 60 }},
	} {
		as := string(text)
		if !c.keep {
			as = strings.Replace(as, "ingress_g = 60.0\n", "", 1)
			require.NotEqual(t, string(text), as)
		}
		v, err := vehicle.Read(strings.NewReader(as), vehicle.FileName)
		require.NoError(t, err)
		log, err := session.Open("../../examples/sound")
		require.NoError(t, err)
		log.Dives = log.Dives[:8]
		r, err := fit.Fit(v, log, nil)
		require.NoError(t, err)
		floats := r.Model.NetBuoyancyG(&predict.Condition{Sign: make([]int8, 3), WaterC: 15}, r.Base)
		last := log.Dives[7].Lines
		last[len(last)-1].BallastG = c.ballast
		r, err = fit.Fit(v, log, nil)
		require.NoError(t, err)
		assert.InDelta(t, c.want(floats), r.Model.Vehicle.Limits.IngressG, 1.01, "%s: it floats by %.1f g", name, floats)
	}
}

// lift is about the share of its weight that ballast has in fresh water.
const lift = 0.9
