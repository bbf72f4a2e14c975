package drift_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

// What an alarm asks for; see package drift.
const (
	sureOfSomething = 0.9  // that anything happened
	sureAtOnce      = 0.97 // the same of what the newest dive alone shows
	staying         = 0.5  // of that, that it stays
	ofTheFamily     = 0.6  // of what stays, that it is this family of causes
)

// weights are the parts of a finding's probabilities that an alarm asks about.
type weights struct{ changed, happened, family float64 }

func weigh(f *findings.Finding) (w weights) {
	w.family, w.happened = f.Probability, 1
	for _, a := range f.Alternatives {
		switch a.Fault {
		case findings.Nothing:
			w.happened -= a.Probability
		case findings.OnceOnly:
			w.changed -= a.Probability
		}
	}
	w.changed += w.happened
	return w
}

// Dive after dive, faults near what can be told raise their alarm when, and only
// when, they are sure enough; and an alarm rests on what was known then alone. The dive
// of the alarm and two before it are near.
func TestAlarmsAreRaisedWhenSure(t *testing.T) {
	near := []scenario{
		{change: ramp(predict.LoopOhm, 0.006)},
		{change: at(predict.LoopOhm, 0.03)},
		{change: ramp(predict.LogThrust, -0.012)},
		{change: ramp(predict.TrimG, -3)},
		{change: at(predict.LogDrag, 0.2)},
		{change: at(predict.LogSpeed, 0.08)},
		{change: ramp(predict.OfThruster(starboard, predict.OneFrictionA), 0.04)},
		{season: func(s *simulate.Season) { s.Sparse = true }, change: at(predict.LogSpeed, -0.13)},
	}
	raisedInAll, waiting, last := 0, 0, math.Inf(1)
	for i, s := range near {
		r := s.try(t, uint64(20+i))
		first := someDives + 1
		if len(r.Alarms) > 0 {
			first = number(t, r.Alarms[0].RaisedDive)
		}
		for n := max(onset, first-2); n <= min(first, someDives); n++ {
			rep := r.until(t, n)
			where := fmt.Sprintf("log %d, dive %d", i, n)
			assert.Equal(t, n == first, len(rep.Alarms) > 0, where)
			for k, a := range rep.Alarms {
				assert.Equal(t, fmt.Sprint(n), a.RaisedDive, where)
				require.Equal(t, a.Quantity, r.Alarms[k].Quantity, where)
				require.Equal(t, a.RaisedDive, r.Alarms[k].RaisedDive, where)
			}
			for k := range rep.Findings {
				f := &rep.Findings[k]
				w, surely := weigh(f), sureOfSomething
				if number(t, f.SinceDive) == n {
					surely = sureAtOnce
				}
				isNew := slices.ContainsFunc(rep.Alarms, func(a findings.Alarm) bool { return a.Cause.Name == f.Fault })
				switch {
				case isNew:
					raisedInAll++
					last = min(last, w.happened)
					assert.GreaterOrEqual(t, w.happened, surely, where)
					assert.GreaterOrEqual(t, w.changed, staying*w.happened, where)
					assert.True(t, w.family >= ofTheFamily*w.changed-1e-9 || w.changed >= 0.99 && n-number(t, f.SinceDive) >= 3, where)
				case !f.Alarm && len(rep.Alarms) == 0 && len(f.Which) == 0:
					waiting++
					doubt := w.happened < surely || w.changed < staying*w.happened || w.family < ofTheFamily*w.changed && (w.changed < 0.99 || n-number(t, f.SinceDive) < 3)
					assert.True(t, doubt, "%s: %s waits for nothing: %+v", where, f.Fault, w)
					assert.GreaterOrEqual(t, w.changed, 0.5, where)
				}
			}
		}
	}
	t.Logf("%d alarms, the least sure at %.3f; %d findings without one", raisedInAll, last, waiting)
	assert.GreaterOrEqual(t, raisedInAll, 5)
	assert.Greater(t, waiting, 5)
	assert.Less(t, last, 0.995, "no alarm was near the threshold")
}

// The larger a fault, the sooner its alarm; what is small against sound scatter
// raises none.
func TestLargerFaultsAreFoundSooner(t *testing.T) {
	for name, f := range map[string]struct {
		param int
		sizes []float64
	}{
		"loop":   {predict.LoopOhm, []float64{0.0003, 0.01, 0.06}},
		"thrust": {predict.LogThrust, []float64{-0.0007, -0.02, -0.08}},
		"leak":   {predict.TrimG, []float64{-0.2, -5, -20}},
		"drag":   {predict.LogDrag, []float64{0.0005, 0.03, 0.15}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			before := someDives
			for i, size := range f.sizes {
				r := scenario{change: ramp(f.param, size)}.try(t, 9)
				if i == 0 {
					assert.Empty(t, r.Alarms, "%v", size)
					continue
				}
				require.NotEmpty(t, r.Alarms, "%v", size)
				raised := number(t, r.Alarms[0].RaisedDive)
				assert.GreaterOrEqual(t, raised, onset)
				assert.LessOrEqual(t, raised, before, "%v", size)
				before = raised
			}
			assert.LessOrEqual(t, before, onset+2)
		})
	}
}

// Two faults at once are both found, each with its own onset.
func TestTwoFaults(t *testing.T) {
	r := scenario{change: func(p predict.Params, n float64) {
		p[predict.LoopOhm] += 0.15
		if n >= 4 {
			p[predict.TrimG] -= 60
		}
	}}.try(t, 10)
	assert.ElementsMatch(t, []string{"power_loop", "ingress"}, named(r.Report))
	assert.Equal(t, fmt.Sprint(onset), raised(r.Report, "excess_resistance_ohm")[0].OnsetDive)
	assert.Equal(t, fmt.Sprint(onset+3), raised(r.Report, "ingress_g")[0].OnsetDive)
	assert.Equal(t, findings.Steady, trendOf(t, r.Report, "thrust_factor").Pattern)
	assert.GreaterOrEqual(t, r.Findings[0].Probability, r.Findings[1].Probability)
}

// What was in one dive alone closes its alarm with the next dive that is sound.
func TestOnceClosesItsAlarm(t *testing.T) {
	r := scenario{change: func(p predict.Params, n float64) {
		if n == 1 {
			p[predict.LoopOhm] += 0.25
		}
	}}.try(t, 13)
	after := r.until(t, onset)
	require.Len(t, after.Alarms, 1)
	assert.Nil(t, after.Alarms[0].ClearedDive)
	next := r.until(t, onset+1)
	require.Len(t, next.Alarms, 1)
	require.NotNil(t, next.Alarms[0].ClearedDive)
	assert.Equal(t, fmt.Sprint(onset+1), *next.Alarms[0].ClearedDive)
	assert.True(t, next.Alarms[0].Withdrawn)
	assert.Empty(t, named(next))
}

// Where it is certain that a vehicle has become slower and no pull tells by what, an alarm is raised three dives after that at the
// latest, one alone, and stays open while what it is of may be it.
func TestCertainOfSomething(t *testing.T) {
	unhurried(t)
	for seed := uint64(14); seed < 18; seed++ {
		v, log, _ := scenario{change: func(p predict.Params, _ float64) { p[predict.LogDrag] += 0.4 }}.simulated(seed, someDives, onset)
		for d := range log.Dives {
			for i := range log.Dives[d].Lines {
				log.Dives[d].Lines[i].Readings[quantity.Pull] = session.Value{}
			}
		}
		f, err := fit.Fit(v, log)
		require.NoError(t, err)
		rep := drift.Analyse(f)
		require.Len(t, rep.Alarms, 1, "log %d", seed)
		assert.LessOrEqual(t, number(t, rep.Alarms[0].RaisedDive), onset+3, "log %d", seed)
		assert.Nil(t, rep.Alarms[0].ClearedDive, "log %d", seed)
		require.NotEmpty(t, rep.Findings)
		assert.Less(t, rep.Findings[0].Probability, 0.6, "log %d: another reading tells", seed)
	}
}

// A ramp says how fast it goes and how many dives are left.
func TestRamps(t *testing.T) {
	const dives = someDives - onset + 1
	r := scenario{change: ramp(predict.LoopOhm, 0.02)}.try(t, 11)
	tr := trendOf(t, r.Report, "excess_resistance_ohm")
	require.NotNil(t, tr.PerDive)
	assert.InDelta(t, 0.02, tr.PerDive.Value, 0.004)
	assert.True(t, inside(*tr.PerDive, 0.02))
	require.NotNil(t, tr.DivesToLimit)
	assert.InDelta(t, 0.3/0.02-dives, tr.DivesToLimit.Value, 1.5)
	assert.Less(t, tr.DivesToLimit.Low, tr.DivesToLimit.Value)
	assert.Less(t, tr.DivesToLimit.Value, tr.DivesToLimit.High)
	assert.Equal(t, 0.3, *tr.Limit)
	assert.Equal(t, findings.Drifting, tr.State)

	// what is not known of the slope grows with the dives ahead: 90 % of 1.645, 95 %
	// of 1.96 standard deviations
	slow := trendOf(t, scenario{change: ramp(predict.LoopOhm, 0.01)}.try(t, 12).Report, "excess_resistance_ohm")
	slope, left := slow.PerDive, slow.DivesToLimit
	of := (slope.High - slope.Low) / slope.Value * 1.645 / 1.96
	assert.Greater(t, left.High-left.Low, of*left.Value)
	assert.Less(t, left.High-left.Low, 2*of*left.Value)

	down := scenario{change: ramp(predict.LogThrust, -0.02)}.try(t, 11)
	tr = trendOf(t, down.Report, "thrust_factor")
	assert.Negative(t, tr.PerDive.Value)
	assert.Less(t, tr.PerDive.Low, tr.PerDive.High)
	assert.InDelta(t, math.Exp(-0.02*dives), tr.Level.Value, 0.04)
	assert.InDelta(t, math.Log(0.8)/-0.02-dives, tr.DivesToLimit.Value, 2)

	leak := scenario{change: ramp(predict.TrimG, -4)}.try(t, 11)
	tr = trendOf(t, leak.Report, "ingress_g")
	assert.InDelta(t, 4, tr.PerDive.Value, 2)
	assert.InDelta(t, 4*dives, tr.Level.Value, 10)
}

// The alarms alone are those of the report, and end with the first dive by which they are enough.
func TestAlarmsAlone(t *testing.T) {
	r := scenario{change: func(p predict.Params, n float64) { p[predict.LoopOhm] += 0.05 * n }, season: func(s *simulate.Season) {
		s.Service = map[int][]string{served: {"joint"}}
	}}.try(t, 2)
	never := func([]findings.Alarm) bool { return false }
	alone := drift.Alarms(r.fit, never)
	require.Len(t, alone, len(r.Alarms))
	for i, a := range r.Alarms {
		assert.Equal(t, []any{a.Quantity, a.RaisedDive, a.ClearedDive}, []any{alone[i].Quantity, alone[i].RaisedDive, alone[i].ClearedDive})
	}
	require.NotEmpty(t, r.Alarms)
	require.NotNil(t, r.Alarms[0].ClearedDive)
	first := drift.Alarms(r.fit, func(all []findings.Alarm) bool { return len(all) > 0 })
	require.Len(t, first, 1)
	assert.Equal(t, r.Alarms[0].RaisedDive, first[0].RaisedDive)
	assert.Nil(t, first[0].ClearedDive)
}
