package drift_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// sparsely is a file with the required keys and the thrusters' axes alone.
func sparsely(real *vehicle.Vehicle) *vehicle.Vehicle {
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"sparse\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n",
		real.Battery.NominalV, real.Tether.LengthM, real.Tether.Power.AreaMM2)
	for i := range real.Thrusters {
		t := &real.Thrusters[i]
		fmt.Fprintf(&b, "[[thruster]]\nname = %q\naxis = %q\narm_mm = %g\n", t.Name, t.Axis, t.ArmMM)
	}
	v, err := vehicle.Read(strings.NewReader(b.String()), vehicle.FileName)
	if err != nil {
		panic(err) // the text above is valid
	}
	return v
}

// rough is a season under every circumstance at once, sparsely read.
func rough(s *simulate.Season) {
	s.Winter, s.HeatK, s.StreamMS, s.Blanks, s.Sparse = true, 45, 0.05, 0.3, true
}

// circumstances are what is no fault.
var circumstances = map[string]scenario{
	"nothing":             {},
	"meters":              {meters: true},
	"sparse readings":     {season: func(s *simulate.Season) { s.Sparse = true }},
	"slips":               {season: func(s *simulate.Season) { s.Slips = 0.01 }},
	"fresh and salt":      {season: func(s *simulate.Season) { s.Sites = true }},
	"volts alone":         {season: func(s *simulate.Season) { s.Without = simulate.VoltsOnly }},
	"cold battery":        {season: func(s *simulate.Season) { s.Winter = true }},
	"warm windings":       {season: func(s *simulate.Season) { s.HeatK = 45 }},
	"stream":              {season: func(s *simulate.Season) { s.StreamMS = 0.05 }},
	"blank cells":         {season: func(s *simulate.Season) { s.Blanks = 0.3 }},
	"depth written first": {season: func(s *simulate.Season) { s.NoDepthFrom = onset }},
	"no depth at all":     {season: func(s *simulate.Season) { s.NoDepthFrom = 1 }},
	"required keys":       {file: sparsely},
	"all of it":           {file: sparsely, season: rough},
	"inexact meters":      {season: func(s *simulate.Season) { s.Meters = true }},
}

// No circumstance is blamed on the vehicle or its instruments.
func TestSoundLogsRaiseNothing(t *testing.T) {
	for i, name := range slices.Sorted(maps.Keys(circumstances)) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := circumstances[name].try(t, uint64(1+i%2))
			consistent(t, r.Report, someDives)
			assert.Empty(t, r.Alarms)
			assert.Empty(t, named(r.Report))
			assert.True(t, r.Judged)
			for _, tr := range r.Trends {
				assert.Equal(t, findings.Steady, tr.Pattern, tr.Quantity)
				assert.NotEqual(t, findings.Drifting, tr.State, tr.Quantity)
				assert.Nil(t, tr.PerDive)
			}
		})
	}
}

// A season of which each third dive is read with less care has no contact that comes and goes.
func TestReadWithLessCare(t *testing.T) {
	r := scenario{season: func(s *simulate.Season) {
		s.Noise = func(dive int) float64 {
			if dive%3 == 0 {
				return 2.5
			}
			return 1
		}
	}}.try(t, 3)
	assert.Empty(t, r.Alarms)
	assert.Empty(t, named(r.Report))
}

// A stream that differs from dive to dive by half of what the vehicle runs is what the log's own runs show, those of the
// first dives too, and neither the tape's nor the propellers' fault.
func TestStrongStream(t *testing.T) {
	for _, seed := range []uint64{4, 5} {
		r := scenario{season: func(s *simulate.Season) { s.StreamMS = 0.2 }}.try(t, seed)
		assert.Empty(t, r.Alarms, "seed %d", seed)
		assert.Empty(t, named(r.Report), "seed %d", seed)
	}
}

// Dives that differ from each other by more than is expected are no fault: the battery's resistance, that of the loop, and a
// voltmeter's gain, each drawn anew for every dive.
func TestDivesThatDifferMore(t *testing.T) {
	for _, c := range []struct {
		param int
		sd    float64
		seeds []uint64
	}{
		{predict.BatteryOhm, 0.005, []uint64{306, 314, 316}},
		{predict.LoopOhm, 0.03, []uint64{316, 323}},
		{predict.LogVehicleV, 0.01, []uint64{304, 307}},
	} {
		for _, seed := range c.seeds {
			rng, by := rand.New(rand.NewPCG(seed, 77)), make([]float64, 24)
			for i := range by {
				by[i] = c.sd * rng.NormFloat64()
			}
			r := scenario{world: "measured", season: func(s *simulate.Season) {
				s.Dives = len(by)
				s.Drift = func(d int, p predict.Params) { p[c.param] += by[d-1] }
			}}.try(t, seed)
			assert.Empty(t, r.Alarms, "parameter %d, seed %d", c.param, seed)
			assert.Empty(t, named(r.Report), "parameter %d, seed %d", c.param, seed)
		}
	}
}

// always has a change in all dives.
func always(param int, x float64) func(*simulate.Season) {
	return func(s *simulate.Season) {
		drift := s.Drift
		s.Drift = func(d int, p predict.Params) {
			drift(d, p)
			p[param] += x
		}
	}
}

// A hull of plastic that shrinks as the water cools takes no water in.
func TestHullInTheCold(t *testing.T) {
	for _, seed := range []uint64{2, 5, 7} {
		r := scenario{season: func(s *simulate.Season) {
			s.Winter = true
			always(predict.HullPerK, 1.2e-4)(s)
		}}.try(t, seed)
		assert.Empty(t, r.Alarms, "seed %d", seed)
		assert.Empty(t, named(r.Report), "seed %d", seed)
	}
}

// What the leads of an ohmmeter have always added is no reason against a leak.
func TestWhatHasAlwaysBeenHidesNothing(t *testing.T) {
	for _, ohm := range []float64{0.4, 2} {
		r := scenario{meters: true, change: at(predict.TrimG, -50), season: always(predict.LoopMeterOhm, ohm)}.try(t, 1)
		assert.Equal(t, []string{"ingress"}, named(r.Report), "%g Ω", ohm)
		assert.Len(t, raised(r.Report, "ingress_g"), 1, "%g Ω", ohm)
	}
}

// All that a full set of readings pins down is sound; what a voltmeter and a
// stopwatch leave open is not called so.
func TestVerdict(t *testing.T) {
	r := scenario{}.try(t, 2)
	for _, tr := range r.Trends {
		assert.Equal(t, findings.Sound, tr.State, tr.Quantity)
	}
	assert.Contains(t, r.Verdict(), "every quantity is sound")
	volts := scenario{season: func(s *simulate.Season) { s.Without = append(simulate.VoltsOnly, quantity.Speed) }}.try(t, 2)
	assert.Equal(t, findings.CannotTell, trendOf(t, volts.Report, "friction_a").State)
	assert.Equal(t, findings.Sound, trendOf(t, volts.Report, "ingress_g").State)
	assert.Contains(t, volts.Verdict(), "cannot tell")
	early := r.until(t, r.fit.Baseline)
	assert.False(t, early.Judged)
	assert.Contains(t, early.Verdict(), "not yet judged")
	for _, tr := range early.Trends {
		assert.Equal(t, findings.NotJudged, tr.State, tr.Quantity)
	}
}

// What a vehicle had from its first dive on is its baseline, no fault since.
func TestFaultsOfTheBaselineAreNone(t *testing.T) {
	for name, change := range map[string]func(p predict.Params){
		"joint": func(p predict.Params) { p[predict.LoopOhm] += 0.1 },
		"weed":  func(p predict.Params) { p[predict.LogDrag] += 0.2 },
		"tape":  func(p predict.Params) { p[predict.LogSpeed] -= 0.1 },
		"clamp": func(p predict.Params) { p[predict.LogClamp] += 0.05 },
		"leak":  func(p predict.Params) { p[predict.TrimG] -= 30 },
	} {
		t.Run(name, func(t *testing.T) {
			r := scenario{season: func(s *simulate.Season) { s.Drift = func(_ int, p predict.Params) { change(p) } }}.try(t, 4)
			assert.Empty(t, r.Alarms)
			assert.Empty(t, named(r.Report))
		})
	}
}

// A joint that was bad from the first dive on is no fault since, and nothing is called sound beside it.
func TestBadFromTheStart(t *testing.T) {
	r := scenario{season: func(s *simulate.Season) { s.Drift = func(_ int, p predict.Params) { p[predict.LoopOhm] += 0.5 } }}.try(t, 4)
	assert.Empty(t, r.Alarms)
	assert.Contains(t, strings.Join(r.Remarks, "\n"), "a bad joint from the start")
	assert.Equal(t, "nothing is seen to drift, but the vehicle is not what vehicle.toml says", r.Verdict())
}

// A change the other way is never called that fault.
func TestTheOtherWayIsNotTheFault(t *testing.T) {
	const sizes = 1.5 // of the table's
	table := causes.Table(simulate.Fleet(1))
	for i := range table {
		c := &table[i]
		otherWay := func(o causes.Cause) bool {
			return o.Quantity == c.Quantity && o.Param() == c.Param() && o.Worse == -c.Worse
		}
		if c.Worse == 0 || len(c.Amplitudes) == 0 || strings.HasSuffix(c.Name, ":starboard") || slices.ContainsFunc(table, otherWay) { // which is as port, or has a row of its own
			continue
		}
		better := func(p predict.Params, _ float64) {
			for _, term := range c.Amplitudes[0].Terms {
				p[term.Param] -= sizes * c.Worse * c.Amplitudes[0].Step * term.Per
			}
			p[predict.LoopOhm] = max(p[predict.LoopOhm], -0.015) // joints have no less than nothing
			for i := range 3 {
				k := predict.OfThruster(i, predict.BranchOhm)
				p[k] = max(p[k], -0.025)
			}
		}
		t.Run(c.Name, func(t *testing.T) {
			t.Parallel()
			const dives = 15 // the onset's and four more
			v, log, _ := scenario{change: better, meters: c.Name == "insulation"}.simulated(5, dives, onset)
			rep := (&result{vehicle: v, log: log}).until(t, dives)
			assert.Empty(t, raised(rep, c.Quantity))
			assert.False(t, isCase(c.Name, named(rep)), "named %v", named(rep))
			for _, tr := range rep.Trends {
				if tr.Quantity == c.Quantity {
					assert.Equal(t, findings.Steady, tr.Pattern)
				}
			}
		})
	}
}

// What acts in one dive alone asks for a repeat: no alarm stays, and nothing is
// named afterwards.
func TestOnce(t *testing.T) {
	for name, change := range map[string]func(p predict.Params){
		"snag":        func(p predict.Params) { p[predict.LogDrag] += 0.4 },
		"trapped air": func(p predict.Params) { p[predict.TrimG] += 60 },
		"weed":        func(p predict.Params) { p[predict.LogThrust] -= 0.25 },
		"clip":        func(p predict.Params) { p[predict.LoopOhm] += 0.3 },
		"tape":        func(p predict.Params) { p[predict.LogSpeed] += 0.2 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := scenario{change: func(p predict.Params, n float64) {
				if n == 1 {
					change(p)
				}
			}}.try(t, 6)
			for _, a := range r.Alarms {
				require.NotNil(t, a.ClearedDive, a.Quantity)
				assert.True(t, a.Withdrawn)
				assert.LessOrEqual(t, number(t, *a.ClearedDive), onset+3)
				assert.True(t, name == "clip" || a.RaisedDive != fmt.Sprint(onset), "at the dive itself") // a clip may well stay
			}
			assert.Empty(t, named(r.Report))
		})
	}
}

// Ballast of nobody knows what, stone as it turns out, is no water taken in: it loses more of its weight
// in water than steel.
func TestBallastOfStone(t *testing.T) {
	real := simulate.Fleet(97)
	log := simulate.Log(real, simulate.Season{Dives: manyDives, Seed: 97, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Without: []quantity.Quantity{quantity.Climb}})
	for d := range log.Dives {
		off := 90 * min(float64(d/7), 2) // g, taken off by and by
		for i := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[i]
			l.BallastG -= off
			if x := &l.Readings[quantity.Trim]; x.Measured() {
				x.X += off * (1 - 1000.0/2400)
			}
		}
	}
	f, err := fit.Fit(sparsely(real), log)
	require.NoError(t, err)
	rep := drift.Analyse(f)
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, rep.Reported())
}

// Where some lines say that lights are on, another load draws on those lines as well, and lights left on only on the others.
func TestUnloggedLoadBesideLights(t *testing.T) {
	unhurried(t)
	real := simulate.Fleet(97)
	lit := func(d int) bool { return d%3 == 0 }
	for name, more := range map[string]func(d int) float64{
		"another load": func(int) float64 { return 0.9 },
		"left on":      func(d int) float64 { return map[bool]float64{false: 2}[lit(d)] },
	} {
		log := simulate.Log(real, simulate.Season{Dives: 14, Seed: 97, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Drift: func(d int, p predict.Params) {
			if lit(d) {
				p[predict.UnloggedA] += 2
			}
			if d >= onset {
				p[predict.UnloggedA] += more(d)
			}
		}})
		for d := range log.Dives {
			for i := range log.Dives[d].Lines {
				log.Dives[d].Lines[i].Lights = lit(d + 1)
			}
		}
		f, err := fit.Fit(sparsely(real), log)
		require.NoError(t, err)
		rep := drift.Analyse(f)
		require.Equal(t, []string{"not_logged:lights"}, named(rep), name)
		assert.Equal(t, strconv.Itoa(onset), rep.Findings[0].SinceDive, name)
		assert.Greater(t, rep.Findings[0].Probability, 0.95, name)
	}
}

// Lights of which the file says nothing draw what the dives tell, and no fault is found in them.
func TestLightsOfUnknownCurrent(t *testing.T) {
	unhurried(t)
	real := simulate.Fleet(97)
	lit := func(d int) bool { return d%3 == 0 || d > 9 }
	log := simulate.Log(real, simulate.Season{Dives: manyDives, Seed: 97, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Drift: func(d int, p predict.Params) {
		if lit(d) {
			p[predict.UnloggedA] += 2
		}
	}})
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			log.Dives[d].Lines[i].Lights = lit(d + 1)
		}
	}
	f, err := fit.Fit(sparsely(real), log)
	require.NoError(t, err)
	rep := drift.Analyse(f)
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, rep.Reported())
	assert.InDelta(t, 2, f.Base[predict.LightsA], 0.3)
	known := audit.Keys(f, rep.Statics)
	at := slices.IndexFunc(known, func(k audit.Known) bool { return k.Path == audit.LightsKey })
	require.GreaterOrEqual(t, at, 0, "what they draw is a key that is known")
	assert.True(t, known[at].Now.Low < 2 && 2 < known[at].Now.High, "%v", known[at].Now)
	assert.Less(t, known[at].Left, 0.3)
	assert.Equal(t, 1.0, known[at].Value, "what is assumed before")
}

// withoutThermometer empties a log's cells of the water's temperature.
func withoutThermometer(log *session.Log) {
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			log.Dives[d].Lines[i].WaterC = session.Value{}
		}
	}
}

// Water that nobody measured cools over autumn and winter: what that does to copper, battery and buoyancy is no fault.
func TestWaterThatNobodyMeasured(t *testing.T) {
	unhurried(t)
	v, log, _ := scenario{world: "measured", file: sparsely, season: func(s *simulate.Season) {
		s.Winter, s.Start = true, time.Date(2025, 8, 1, 0, 0, 0, 0, time.UTC)
	}}.simulated(102, manyDives, onset)
	withoutThermometer(log)
	f, err := fit.Fit(v, log)
	require.NoError(t, err)
	rep := drift.Analyse(f)
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, rep.Reported())
}

// A column first read in the middle of a season, several times what a file of few keys makes one expect of it, is no slip in each
// of its dives, no meter and no fault: what no dive of the baseline told was never known.
func TestColumnReadLater(t *testing.T) {
	unhurried(t)
	for name, of := range map[string]struct {
		q     quantity.Quantity
		times float64
		seed  uint64
	}{"pull_n": {quantity.Pull, 3.5, 105}, "climb_s": {quantity.Climb, 0.5, 103}} {
		v, log, _ := scenario{world: "measured", file: sparsely}.simulated(of.seed, someDives, onset)
		for d := range log.Dives {
			for i := range log.Dives[d].Lines {
				l := &log.Dives[d].Lines[i]
				l.Readings[quantity.Speed] = session.Value{}
				switch x := &l.Readings[of.q]; {
				case d < onset-1:
					*x = session.Value{}
				case x.Measured():
					x.X *= of.times
					x.Entered *= of.times
				}
			}
		}
		f, err := fit.Fit(v, log)
		require.NoError(t, err)
		rep := drift.Analyse(f)
		assert.Empty(t, rep.Alarms, name)
		assert.Empty(t, rep.Reported(), name)
		for d := range f.Dives {
			for _, s := range f.Outliers(d) {
				assert.NotEqual(t, name, s.Column, "%s, dive %d", name, d+1)
			}
		}
	}
}

// Ferrite magnets, which lose 0.2 % per kelvin, are neither friction nor the clamp meter's fault in a log in which nobody reads the
// water's temperature, which goes with the year.
func TestMagnetsOverTheYear(t *testing.T) {
	for _, seed := range []uint64{3, 4, 5} {
		v, log, _ := scenario{season: func(s *simulate.Season) {
			s.Drift = func(_ int, p predict.Params) { p[predict.MagnetPerK] = 0.002 }
		}}.simulated(seed, 44, 44)
		withoutThermometer(log)
		f, err := fit.Fit(v, log)
		require.NoError(t, err)
		rep := drift.Analyse(f)
		assert.Empty(t, rep.Alarms, "seed %d", seed)
		assert.Empty(t, named(rep), "seed %d", seed)
	}
}

// What a file leaves open of a vehicle is the same in all dives, and takes nothing from how much the dives differ: hover weights do so by
// what they do in truth.
func TestScatterBesideAnUnknownVehicle(t *testing.T) {
	learnt, truth, n := 0.0, 0.0, 0.0
	for seed := range uint64(8) {
		s := scenario{file: sparsely}
		real, log, levels := s.simulated(seed+1, 30, 30)
		f, err := fit.Fit(sparsely(real), log)
		require.NoError(t, err)
		learnt += f.Scatter(len(log.Dives))[f.ScatterAt(f.Space.Place[predict.TrimG])]
		for d := 1; d < len(levels); d++ {
			by := levels[d][predict.TrimG] - levels[d-1][predict.TrimG]
			truth, n = truth+by*by/2, n+1
		}
	}
	t.Logf("%.2f g learnt, %.2f g in truth", math.Sqrt(learnt/8), math.Sqrt(truth/n))
	assert.InDelta(t, 1, math.Sqrt(learnt/8/(truth/n)), 0.1)
}

// Who writes down how much tether is out only from some dive on has not lost thrust there: before, half of a long tether was
// assumed to drag.
func TestTetherWrittenLater(t *testing.T) {
	for _, seed := range []uint64{3, 5} {
		v, log, truth := scenario{file: func(real *vehicle.Vehicle) *vehicle.Vehicle {
			long := real.Clone()
			long.Tether.LengthM, long.Tether.Power.AreaMM2 = 200, real.Tether.Power.AreaMM2*200/real.Tether.LengthM
			return long
		}}.simulated(seed, someDives, onset)
		for d := range onset - 1 {
			for i := range log.Dives[d].Lines {
				log.Dives[d].Lines[i].TetherOut = session.Value{}
			}
		}
		rep := (&result{vehicle: v, log: log, truth: truth}).until(t, someDives)
		assert.Empty(t, rep.Alarms, "seed %d", seed)
		assert.Empty(t, named(rep), "seed %d", seed)
	}
}
