package drift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Simulated logs: how many dives they have, and the first dive at which
// something is wrong.
const (
	someDives = 18
	onset     = 11
)

// A scenario is what happens in a simulated log.
type scenario struct {
	change func(p predict.Params, n float64) // from the onset on; n counts the dives since, from 1
	season func(*simulate.Season)
	file   func(*vehicle.Vehicle) *vehicle.Vehicle // what its owner knows of the vehicle
	meters bool                                    // the ohmmeter and the insulation meter are read on every dive
	world  string                                  // "", rough or measured: see package simulate
	brisk  bool                                    // it climbs so fast that its propellers take far less torque
}

// A result is a simulated log with what it shows and what is true.
type result struct {
	vehicle *vehicle.Vehicle
	log     *session.Log
	truth   []predict.Params
	fit     *fit.Result
	*findings.Report
}

// simulated makes a log of the vehicle of a seed.
func (s scenario) simulated(seed uint64, dives, from int) (v *vehicle.Vehicle, log *session.Log, truth []predict.Params) {
	v = simulate.Fleet(seed)
	if s.brisk {
		for i := range v.Thrusters {
			v.Thrusters[i].NoLoadRPM *= 0.4
		}
		v.Hull.ClimbDragAreaM2 /= 2
	}
	season := simulate.Season{Dives: dives, Start: time.Date(2025, 3, 1, 0, 0, 0, 0, time.UTC), Seed: seed * 7919,
		Drift: func(d int, p predict.Params) {
			if s.change != nil && d >= from {
				s.change(p, float64(d-from+1))
			}
		}}
	switch s.world {
	case "rough":
		season.Rough = true
	case "measured":
		season.World, season.Meters = simulate.NewMeasured(v, seed), true
	}
	if s.season != nil {
		s.season(&season)
	}
	log, truth = simulate.LogTruth(v, season)
	if s.meters {
		readMeters(v, log, truth, seed)
	}
	if s.file != nil {
		v = s.file(v)
	}
	return v, log, truth
}

// fitted simulates a log and fits it.
func (s scenario) fitted(t testing.TB, seed uint64) *result {
	t.Helper()
	unhurried(t)
	v, log, truth := s.simulated(seed, someDives, onset)
	f, err := fit.Fit(v, log)
	require.NoError(t, err)
	return &result{v, log, truth, f, nil}
}

// try simulates a log and analyses it.
func (s scenario) try(t testing.TB, seed uint64) *result {
	t.Helper()
	r := s.fitted(t, seed)
	r.Report = drift.Analyse(r.fit)
	return r
}

// ofFolder analyses a logbook of testdata.
func ofFolder(t testing.TB, name string) *findings.Report {
	t.Helper()
	v, log := folder(t, "testdata/"+name)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return drift.Analyse(r)
}

// unhurried leaves a test out with -short: its logs together take a minute.
func unhurried(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("some seconds")
	}
}

// until analyses the first n dives of a log, and fits them where it is not fitted yet.
func (r *result) until(t testing.TB, n int) *findings.Report {
	t.Helper()
	unhurried(t)
	f := r.fit
	if f == nil {
		f = fitOf(t, r, n)
	}
	return drift.Analyse(f.Upto(n))
}

func fitOf(t testing.TB, r *result, n int) *fit.Result {
	t.Helper()
	f, err := fit.Fit(r.vehicle, &session.Log{File: r.log.File, Dives: r.log.Dives[:n]})
	require.NoError(t, err)
	return f
}

// readMeters adds what an ohmmeter and an insulation meter show to the first
// line of every dive.
func readMeters(v *vehicle.Vehicle, log *session.Log, truth []predict.Params, seed uint64) {
	m, rng := predict.NewModel(v), rand.New(rand.NewPCG(seed, 5))
	var pt predict.Point
	for d := range log.Dives {
		l := &log.Dives[d].Lines[0]
		c := predict.Condition{Sign: make([]int8, len(v.Thrusters)), Electrical: true, WaterC: l.WaterC.X, TetherOutM: l.TetherOut.X}
		m.Solve(&c, truth[d], &pt, nil)
		put(l, "loop_ohm", pt.Out[quantity.LoopOhm]+v.Instruments.LoopOhm*rng.NormFloat64())
		put(l, "insulation_megohm", math.Exp(pt.Out[quantity.Insulation]+0.3*rng.NormFloat64()))
	}
}

// put writes a number below a column.
func put(l *session.Line, column string, entered float64) {
	c, ok := session.Find(column)
	if !ok {
		panic(column)
	}
	l.Put(session.Value{X: c.ToBase(entered), Entered: entered, Column: c})
}

// all calls do for 0 to n−1, on every core.
func all(n int, do func(i int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}

func number(t testing.TB, label string) int {
	t.Helper()
	n, err := strconv.Atoi(label)
	require.NoError(t, err)
	return n
}

// raised are the alarms for a quantity.
func raised(rep *findings.Report, quantity string) (out []findings.Alarm) {
	for _, a := range rep.Alarms {
		if a.Quantity == quantity {
			out = append(out, a)
		}
	}
	return out
}

// blaming are the alarms that blame the vehicle, but for some quantities.
func blaming(rep *findings.Report, but ...string) (out []string) {
	for _, a := range rep.Alarms {
		if a.Cause.Kind == causes.Vehicle && !slices.Contains(but, a.Quantity) {
			out = append(out, fmt.Sprintf("%s at %s", a.Quantity, a.RaisedDive))
		}
	}
	return out
}

func trendOf(t testing.TB, rep *findings.Report, quantity string) *findings.Trend {
	t.Helper()
	for i := range rep.Trends {
		if rep.Trends[i].Quantity == quantity {
			return &rep.Trends[i]
		}
	}
	require.Fail(t, "no trend", quantity)
	return nil
}

func named(rep *findings.Report) (out []string) {
	for _, f := range rep.Findings {
		out = append(out, f.Fault)
	}
	return out
}

// isCase says whether a fault is one of some causes, or a case of one: a
// friction:port is a friction.
func isCase(fault string, of []string) bool {
	return slices.ContainsFunc(of, func(c string) bool { return fault == c || strings.HasPrefix(fault, c+":") })
}

// consistent checks what holds of every report.
func consistent(t testing.TB, rep *findings.Report, dives int) {
	t.Helper()
	for _, f := range rep.Findings {
		sum := f.Probability
		for i, a := range f.Alternatives {
			sum += a.Probability
			assert.NotEqual(t, f.Fault, a.Fault)
			assert.GreaterOrEqual(t, a.Probability, 0.0)
			if i > 0 && a.Fault != findings.Other {
				assert.GreaterOrEqual(t, f.Alternatives[i-1].Probability, a.Probability)
			}
		}
		assert.InDelta(t, 1, sum, 1e-6, "%s and its alternatives %v", f.Fault, f.Alternatives)
		from, since, to := number(t, f.OnsetFrom), number(t, f.SinceDive), number(t, f.OnsetTo)
		assert.LessOrEqual(t, from, since)
		assert.LessOrEqual(t, since, to)
		assert.LessOrEqual(t, to, dives)
		assert.Equal(t, f.Cause.Name, f.Fault)
		assert.Equal(t, f.Cause.Check, f.CheckNext)
		for _, w := range f.Which {
			assert.LessOrEqual(t, w.Probability, f.Probability+1e-9)
			if w.Fault == f.Fault && f.Cause.Of != "" {
				assert.GreaterOrEqual(t, w.Probability, 0.8*f.Probability-1e-9, "%s is not plainly which", f.Fault)
			}
		}
	}
	for _, tr := range rep.Trends {
		assert.LessOrEqual(t, tr.Level.Low, tr.Level.Value+1e-12, tr.Quantity)
		assert.LessOrEqual(t, tr.Level.Value, tr.Level.High+1e-12, tr.Quantity)
		assert.Len(t, tr.Levels, dives, tr.Quantity)
	}
	for _, a := range rep.Alarms {
		assert.LessOrEqual(t, number(t, a.OnsetDive), number(t, a.RaisedDive), a.Quantity)
		if a.ClearedDive != nil {
			assert.Greater(t, number(t, *a.ClearedDive), number(t, a.RaisedDive), a.Quantity)
		}
	}
}
