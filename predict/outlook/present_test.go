package outlook_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/outlook"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// The vehicle of today has what its trends found, and reads right.
func TestPresent(t *testing.T) {
	r := simulated(t, 3, func(p predict.Params, _ float64) {
		p[predict.LoopOhm] += 0.15
		p[predict.LogClamp] += 0.08
	})
	now := outlook.Present(r.Result, r.Report)
	assert.InDelta(t, r.Result.Base[predict.LoopOhm]+0.15, now[predict.LoopOhm], 0.03)
	assert.Equal(t, r.Model.Vehicle.Battery.RestV(), now[predict.OpenCircuitV])
	assert.Zero(t, now[predict.SagVPerMinute])
	assert.Equal(t, r.Result.Base[predict.LogClamp], now[predict.LogClamp], "what an instrument has come to read wrong is not the vehicle")
	doubts := r.Doubts()
	level := trendOf(t, r.Report, "excess_resistance_ohm").Level
	assert.InDelta(t, (level.High-level.Low)/4, doubts[predict.LoopOhm], 0.02*(level.High-level.Low))
	thrust := trendOf(t, r.Report, "thrust_factor").Level
	assert.InDelta(t, math.Log(thrust.High/thrust.Low)/4, doubts[predict.LogThrust], 0.01)
	assert.NotContains(t, doubts, predict.LogClamp)

	better := simulated(t, 3, at(predict.LogThrust, 0.2))
	require.True(t, slices.ContainsFunc(better.Findings, func(f findings.Finding) bool { return f.Fault == "not_logged:repair:thrust" }))
	now = outlook.Present(better.Result, better.Report)
	assert.InDelta(t, better.Result.Base[predict.LogThrust]+0.2, now[predict.LogThrust], 0.03, "what is better counts once")

	clean := simulated(t, 3, at(predict.LoopOhm, -0.03))
	assert.GreaterOrEqual(t, outlook.Present(clean.Result, clean.Report)[predict.LoopOhm], -clean.Model.Vehicle.Tether.Power.JointsOhm)
}

// Of thrusters that only ever ran together each may have the bad contact: in the vehicle of today they have together what
// either has, and the level that is told is that of one alone.
func TestPresentOfEither(t *testing.T) {
	v := simulate.Fleet(3)
	log := season(t, v, 3, simulate.Season{Dives: 16, Drift: func(d int, p predict.Params) {
		if d >= 10 {
			p[predict.OfThruster(0, predict.BranchOhm)] += 0.5
		}
	}})
	for d := range log.Dives {
		log.Dives[d].Lines = slices.DeleteFunc(log.Dives[d].Lines, func(l session.Line) bool { return len(l.Drives) == 1 && l.Drives[0].Name != "vertical" })
	}
	r := judged(t, v, log)
	require.NotEmpty(t, r.Findings)
	f := &r.Findings[0]
	require.Len(t, f.Either, 2)
	assert.Regexp(t, `^excess wiring resistance of \w+ is 0\.\d+ .* Ω if it is that one, sound: 0$`, f.Evidence[0])
	now, more := outlook.Present(r.Result, r.Report), 0.0
	for i, name := range []string{"port", "starboard"} {
		k := predict.OfThruster(i, predict.BranchOhm)
		by := now[k] - r.Result.Base[k]
		assert.InDelta(t, 0.25, by, 0.1, name)
		more += by
		assert.Equal(t, "cannot tell", trendOf(t, r.Report, "branch_excess_ohm:"+name).State)
	}
	assert.InDelta(t, 0.5, more, 0.15)
}

// A repair that no line mentions counts once in the vehicle of today.
func TestPresentAfterARepair(t *testing.T) {
	r := simulated(t, 3, at(predict.LogThrust, 0.3))
	require.Equal(t, "not_logged:repair:thrust", r.Findings[0].Fault)
	assert.InDelta(t, 0.3, outlook.Present(r.Result, r.Report)[predict.LogThrust]-r.Result.Base[predict.LogThrust], 0.1)
	assert.Regexp(t, `^it is 1\.\d+ .* times what it was before dive \d+$`, r.Findings[0].Evidence[0])
}

// Other motors, which a line says were fitted: what is predicted, and the heaviest run by which margins are judged, are
// those of the motors as they are now, in the sound vehicle too. Until a service says so they are not.
func TestPresentWithOtherMotors(t *testing.T) {
	const fitted = 9
	v := simulate.Fleet(3)
	log := season(t, v, 3, simulate.Season{Dives: 16, Service: map[int][]string{fitted: {"thruster"}}, Drift: func(d int, p predict.Params) {
		for i := range v.Thrusters {
			if d >= fitted {
				p[predict.OfThruster(i, predict.LogOneTorque)] += 0.9
				p[predict.OfThruster(i, predict.LogOneThrust)] += 0.7
			}
		}
	}})
	r := judged(t, v, log)
	now, sound := outlook.Present(r.Result, r.Report), outlook.Sound(r.Result, r.Report)
	var apart [3]float64 // ratio of the amperes read in the newest dives to those predicted, less 1: now, sound, by the first dives
	n := 0.0
	var pt predict.Point
	for d := len(log.Dives) - 3; d < len(log.Dives); d++ {
		r.Result.Dives[d].Observed(func(c *predict.Condition, l *session.Line, _ []quantity.Quantity) {
			x := l.Readings[quantity.CurrentA]
			if !x.Measured() || len(l.Drives) == 0 {
				return
			}
			n++
			of := r.Result.Dives[d].Summary.Params
			for k, p := range []predict.Params{now, sound, slices.Clone(r.Base)} {
				p[predict.OpenCircuitV], p[predict.SagVPerMinute] = of[predict.OpenCircuitV], of[predict.SagVPerMinute]
				r.Model.Solve(c, p, &pt, nil)
				apart[k] += x.X/pt.Out[quantity.CurrentA] - 1
			}
		})
	}
	require.NotZero(t, n)
	assert.InDelta(t, 0, apart[0]/n, 0.02)
	assert.InDelta(t, 0, apart[1]/n, 0.02)
	assert.Greater(t, apart[2]/n, 0.06)
	heaviest := func(rep *findings.Report) float64 {
		return outlook.Margins(v, r.Result, rep, log, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0, "").Fuse.HeavyA
	}
	assert.Contains(t, strings.Join(r.Remarks, "\n"), "since what was done before dive 9, port and starboard and vertical draw ")
	assert.Contains(t, strings.Join(r.Remarks, "\n"), "where none was, the work has not left it as it was: with the battery unplugged, see that each propeller turns freely")
	far := func(dive int, levels []fit.Since) (n int) { // readings that differ from a sound vehicle's
		for _, c := range r.NewComparison(levels...).Dive(dive) {
			if math.Abs(c.Z) > 4 {
				n++
			}
		}
		return n
	}
	require.NotEmpty(t, r.Levels)
	assert.Equal(t, fitted-1, r.Levels[len(r.Levels)-1].From)
	assert.Zero(t, far(len(log.Dives)-1, r.Levels))
	assert.Positive(t, far(len(log.Dives)-1, nil))
	assert.Zero(t, far(fitted-2, r.Levels), "before that they are those of the first dives")
	assert.Equal(t, r.Levels, drift.Levels(r.Result))
	assert.NotContains(t, strings.Join(r.Remarks, "\n"), "reads far from a sound vehicle")
	same := judged(t, v, season(t, v, 3, simulate.Season{Dives: 16, Service: map[int][]string{fitted: {"thruster"}}}))
	assert.NotContains(t, strings.Join(same.Remarks, "\n"), "A alone, and")
	differ := season(t, v, 3, simulate.Season{Dives: 16, Service: map[int][]string{fitted: {"thruster"}}, Drift: func(_ int, p predict.Params) {
		p[predict.OfThruster(0, predict.LogOneTorque)] += 0.5
		p[predict.OfThruster(1, predict.LogOneTorque)] -= 0.5
	}})
	for d := range fitted - 1 {
		differ.Dives[d].Lines = slices.DeleteFunc(differ.Dives[d].Lines, func(l session.Line) bool { return len(l.Drives) == 1 })
	}
	hardly := simulate.Fleet(3)
	for _, one := range hardly.Thrusters {
		require.NoError(t, hardly.Set(fmt.Sprintf("thruster.%s.test_a=%g to %g", one.Name, 0.6*one.TestA, 1.4*one.TestA)))
	}
	assert.NotContains(t, strings.Join(judged(t, hardly, differ).Remarks, "\n"), "A alone, and", "thrusters that never ran alone before may always have differed")
	old := *r.Report
	old.Posterior = fit.Posterior{}
	assert.Greater(t, heaviest(r.Report), 1.04*heaviest(&old))
}

// What a dive by itself says after a service goes by the vehicle as the service left it: compared with the first dives, weaker
// motors hid over four fifths of a joint's resistance in five of nine dives.
func TestDivesAfterOtherMotors(t *testing.T) {
	const fitted, corroded, ohm = 9, 16, 0.15
	v := simulate.Fleet(3)
	r := judged(t, v, season(t, v, 3, simulate.Season{Dives: 24, Service: map[int][]string{fitted: {"thruster"}}, Drift: func(d int, p predict.Params) {
		for i := range v.Thrusters {
			if d >= fitted {
				p[predict.OfThruster(i, predict.LogOneTorque)] -= 0.4
				p[predict.OfThruster(i, predict.LogOneThrust)] -= 0.4
			}
		}
		if d >= corroded {
			p[predict.LoopOhm] += ohm
		}
	}}))
	hidden := 0
	for d := range r.Report.Dives {
		x, says := r.Report.Dives[d].Estimates["excess_resistance_ohm"], outlook.After(r.Result, r.Report, d).Says
		if d < corroded-1 {
			assert.InDelta(t, 0, x.Value, 0.02, "dive %d", d+1)
			assert.Contains(t, says, "a sound vehicle explains it", "dive %d", d+1)
			continue
		}
		assert.InDelta(t, ohm, x.Value, 0.05, "dive %d", d+1)
		if r.Departure(d, predict.LoopOhm).Value < 0.2*ohm {
			hidden++
		}
	}
	assert.Equal(t, 5, hidden)
}

// A service that changed nothing leaves a vehicle's speed as it is read. Its file states no test and no pull is read, so the log
// tells thrust over drag alone: with a level of drag set anew beside the baseline's thrust the vehicle was 10 % too slow after a
// cleaned hull, and with one of thrust 5 % too fast after new propellers.
func TestSpeedAfterAServiceThatChangedNothing(t *testing.T) {
	built := simulate.Fleet(3)
	var text strings.Builder
	fmt.Fprintf(&text, "name = \"plain\"\nbattery.nominal_v = %g\ntether.length_m = %g\ntether.power.area_mm2 = %g\n", built.Battery.NominalV, built.Tether.LengthM, built.Tether.Power.AreaMM2)
	for _, one := range built.Thrusters {
		fmt.Fprintf(&text, "[[thruster]]\nname = %q\naxis = %q\narm_mm = %g\n", one.Name, one.Axis, one.ArmMM)
	}
	for _, part := range []string{"hull", "propeller", "thruster", "tether", "clamp", "joint"} {
		v, err := vehicle.Read(strings.NewReader(text.String()), vehicle.FileName)
		require.NoError(t, err)
		r := judged(t, v, season(t, built, 3, simulate.Season{Dives: 24, Service: map[int][]string{16: {part}}, Without: []quantity.Quantity{quantity.Pull}}))
		now, apart, n := outlook.Present(r.Result, r.Report), 0.0, 0.0
		var pt predict.Point
		for d := 16; d < 24; d++ {
			of := r.Result.Dives[d].Summary.Params
			now[predict.OpenCircuitV], now[predict.SagVPerMinute] = of[predict.OpenCircuitV], of[predict.SagVPerMinute]
			r.Result.Dives[d].Observed(func(c *predict.Condition, l *session.Line, read []quantity.Quantity) {
				if slices.Contains(read, quantity.Speed) {
					r.Model.Solve(c, now, &pt, nil)
					apart, n = apart+l.Readings[quantity.Speed].X/pt.Out[quantity.Speed]-1, n+1
				}
			})
		}
		require.Greater(t, n, 5.0, part)
		assert.InDelta(t, 0, apart/n, 0.03, part)
		for d := 16; d < 24; d++ { // with all that dives share moved along that ridge, drag was 1.4 to 1.8 times its own in six logs, after any service
			x := r.Report.Dives[d].Estimates["drag_factor"]
			assert.InDelta(t, 1, x.Value, 0.06, "%s, dive %d", part, d+1)
			assert.Less(t, x.High-x.Low, 0.3, "%s, dive %d", part, d+1)
		}
		for _, c := range r.NewComparison(r.Levels...).Dive(23) {
			assert.Less(t, math.Abs(c.Z), 4.0, "%s: %s", part, c.Line.Thrusters())
		}
	}
}

// Ballast taken off after the baseline, of a density that the file does not give: the hover weights since tell what it will
// be, though not how much of that is ballast.
func TestPresentWithBallast(t *testing.T) {
	const since, grams, density = 6, -400.0, 11340.0
	v := simulate.Fleet(3)
	log := season(t, v, 3, simulate.Season{Dives: 16, Without: []quantity.Quantity{quantity.Climb}})
	for d := range log.Dives {
		for k := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[k]
			if d+1 < since {
				continue
			}
			l.BallastG = grams
			if x := &l.Readings[quantity.Trim]; x.Measured() {
				x.X -= grams * (1 - 999/density)
				x.Entered = x.X
			}
		}
	}
	r := judged(t, v, log)
	now, c := outlook.Present(r.Result, r.Report), predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM, BallastG: grams, Sign: make([]int8, len(v.Thrusters))}
	value := r.Model.NetBuoyancyG(&c, now)
	var apart []float64
	for d := since - 1; d < len(log.Dives); d++ {
		r.Result.Dives[d].Observed(func(at *predict.Condition, l *session.Line, _ []quantity.Quantity) {
			if x := l.Readings[quantity.Trim]; x.Measured() {
				apart = append(apart, x.X-r.Model.NetBuoyancyG(at, now))
			}
		})
	}
	slices.Sort(apart)
	assert.InDelta(t, 0, stat.Quantile(0.5, stat.Empirical, apart, nil), 5)
	f := forecast.New(r.Result, now, r.Doubts(), r.Posterior)
	x := outlook.Ranges(f, []float64{value}, nil, func(p predict.Params) []float64 { return []float64{r.Model.NetBuoyancyG(&c, p)} })[0]
	assert.InDelta(t, value, (x.Low+x.High)/2, 3)
	assert.Less(t, x.High-x.Low, 40.0)
	assert.Greater(t, x.High-x.Low, 8.0)
}

// Ballast that was worked on starts the hover weight anew: 80 g more on the frame are no water taken in. A dried tube is.
func TestServicedBallastIsNoWater(t *testing.T) {
	v := simulate.Fleet(3)
	for part, want := range map[string]float64{"ballast": 0, "seal": 80} {
		r := judged(t, v, season(t, v, 3, simulate.Season{Dives: 20, Service: map[int][]string{12: {part}}, Drift: func(d int, p predict.Params) {
			if d >= 12 {
				p[predict.TrimG] -= 80
			}
		}}))
		water := trendOf(t, r.Report, "ingress_g")
		assert.InDelta(t, want, water.Level.Value, 10, part)
		assert.Equal(t, map[string]string{"ballast": findings.Sound, "seal": findings.PastLimit}[part], water.State, part)
		for d := 11; d < 20; d++ {
			assert.InDelta(t, want, r.Report.Dives[d].Estimates["ingress_g"].Value, 15, "%s, dive %d", part, d+1)
		}
		assert.InDelta(t, r.Base[predict.TrimG]-80, outlook.Present(r.Result, r.Report)[predict.TrimG], 10, part)
	}
}

// Two of a log's battery in series are begun with as charged as one, and sag as the log says of each; what the log says of
// one goes for none of other cells, nor for one whose resistance is stated.
func TestMarginsOnOtherBatteries(t *testing.T) {
	v := simulate.Fleet(3)
	spent := v.Battery.RestAt(0.3)
	log := season(t, v, 3, simulate.Season{Dives: 12, Drift: func(_ int, p predict.Params) {
		p[predict.OpenCircuitV] = spent
		p[predict.BatteryOhm] += 0.03
	}})
	r := judged(t, v, log)
	asked := func(change func(b *vehicle.Battery)) advice.Question {
		w := r.Model.Vehicle.Clone()
		change(&w.Battery)
		advice.Follow(r.Model.Vehicle, w)
		return outlook.ToldBy(r.Result, r.Report, log, "").Asked(w, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	}
	one := asked(func(*vehicle.Battery) {})
	two := asked(func(b *vehicle.Battery) { b.NominalV *= 2 })
	last := func(q advice.Question) advice.Range { return q.Cases[len(q.Cases)-1].Battery }
	assert.InDelta(t, spent, one.BegunV, 0.05)
	assert.InEpsilon(t, 2*one.BegunV, two.BegunV, 1e-9)
	assert.InEpsilon(t, 2*last(one).Value, last(two).Value, 1e-9)
	assert.InEpsilon(t, 2*last(one).High, last(two).High, 1e-9)
	assert.Greater(t, last(one).Value, v.Battery.ResistanceOhm+0.02)
	stated := asked(func(b *vehicle.Battery) { b.ResistanceOhm = 0.2 })
	assert.InDelta(t, 0.2, last(stated).Value, 1e-9)
	assert.Zero(t, asked(func(b *vehicle.Battery) { b.Chemistry = "lithium-iron" }).BegunV)
}

// A thruster whose circuit is open is so in the vehicle as it is now, whether or not later dives tell the thrusters better than
// the first.
func TestOpenCircuitAsItIs(t *testing.T) {
	for _, runsAlone := range []int{1, 7} { // the dive from which thrusters run alone
		v := simulate.Fleet(2)
		branch := predict.OfThruster(0, predict.BranchOhm)
		log := season(t, v, 2, simulate.Season{Dives: 18, Drift: func(d int, p predict.Params) {
			if d >= 12 {
				p[branch] += 1e4
			}
		}})
		for d := range log.Dives[:runsAlone-1] {
			log.Dives[d].Lines = slices.DeleteFunc(log.Dives[d].Lines, func(l session.Line) bool { return len(l.Drives) == 1 })
		}
		r := judged(t, v, log)
		require.NotEmpty(t, r.Findings)
		assert.Equal(t, "branch:"+v.Thrusters[0].Name, r.Findings[0].Cause.Name)
		m, c := r.Result.Model, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM, DepthM: 3}
		now, sound := outlook.Present(r.Result, r.Report), outlook.Sound(r.Result, r.Report)
		dead := slices.Clone(sound)
		dead[branch] = 1e4
		amps := func(p predict.Params) float64 { return advice.AllAhead(m, c, p).CurrentA }
		assert.InEpsilon(t, amps(dead), amps(now), 0.08, "alone from dive %d", runsAlone)
		assert.Less(t, amps(now), 0.8*amps(sound), "alone from dive %d", runsAlone)
	}
}

// With a loop that takes current off, margins are also those of the vehicle once it is mended.
func TestMarginsOnceMended(t *testing.T) {
	r := simulated(t, 2, at(predict.LoopOhm, 0.5))
	v := r.Result.Model.Vehicle
	asked := func(rep *findings.Report) advice.Question {
		return outlook.ToldBy(r.Result, rep, &session.Log{}, "").Asked(v, predict.Condition{WaterC: 15, TetherOutM: v.Tether.LengthM}, 0)
	}
	q := asked(r.Report)
	require.NotEmpty(t, r.Findings)
	now, mended := q.Cases[len(q.Cases)-2], q.Cases[len(q.Cases)-1]
	assert.InDelta(t, 0.5, now.LoopOhm.Value-mended.LoopOhm.Value, 0.06)
	assert.Equal(t, now.Battery, mended.Battery)
	none := *r.Report
	none.Findings = nil
	assert.Len(t, asked(&none).Cases, len(q.Cases)-1)
}

// A lost propeller takes no torque either: the vehicle of today draws what the log's newest dives read, of one thruster or several.
func TestPresentWithALostPropeller(t *testing.T) {
	for thrusters := range 3 {
		v := simulate.Fleet(3)
		if v.Thrusters = v.Thrusters[:thrusters+1]; thrusters == 0 {
			v.Thrusters[0].ArmMM = 0
		}
		log := season(t, v, 3, simulate.Season{Dives: 16, Drift: func(d int, p predict.Params) {
			if d >= 10 {
				p[predict.OfThruster(0, predict.LogOneThrust)] -= 3
				p[predict.OfThruster(0, predict.LogOneTorque)] -= 3
			}
		}})
		r := judged(t, v, log)
		require.NotEmpty(t, r.Findings)
		require.Contains(t, r.Findings[0].Words(), "lost propeller", "%d thrusters", thrusters+1)
		now := outlook.Present(r.Result, r.Report)
		m := r.Model
		c := predict.Condition{Sign: make([]int8, thrusters+1), Held: true, Electrical: true, WaterC: 15, TetherOutM: v.Tether.LengthM}
		c.Sign[0] = 1
		var pt predict.Point
		amps := func(p predict.Params) float64 { m.Solve(&c, p, &pt, nil); return pt.Out[quantity.CurrentA] }
		assert.Less(t, amps(now), 0.4*amps(outlook.Sound(r.Result, r.Report)), "%d thrusters", thrusters+1)
	}
}

// A cable that is plainly shorter than the file says has less resistance than the file's conductors: what is predicted is what is
// read. Where the readings leave it open, it has no less than them.
func TestPresentOnAShorterCable(t *testing.T) {
	v := simulate.Fleet(3)
	log := season(t, v, 3, simulate.Season{Dives: 8})
	file := v.Clone()
	file.Tether.LengthM *= 1.3
	by := v.LoopOhm(15) - file.LoopOhm(15)
	require.Less(t, by, -2*v.Tether.Power.JointsOhm)
	r := judged(t, file, log)
	assert.InDelta(t, by, outlook.Sound(r.Result, r.Report)[predict.LoopOhm], 0.15*-by)
	assert.InDelta(t, by, outlook.Present(r.Result, r.Report)[predict.LoopOhm], 0.15*-by)

	r.Base[predict.LoopOhm] = -v.Tether.Power.JointsOhm - 0.001
	assert.InDelta(t, -v.Tether.Power.JointsOhm, outlook.Sound(r.Result, &findings.Report{})[predict.LoopOhm], 1e-12)
}
