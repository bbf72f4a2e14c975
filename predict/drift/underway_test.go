package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/session"
	"sagline/session/quantity"
)

// weighedAgain simulates a log in which each dive ends with its hover weight once more, less what comes
// in within dive d, g. Half of that slows its climbs.
func weighedAgain(t *testing.T, seed uint64, takesIn func(d int) float64) *result {
	t.Helper()
	unhurried(t)
	v, log, truth := scenario{}.simulated(seed, someDives, onset)
	m := predict.NewModel(v)
	var names []string
	for i := range v.Thrusters {
		names = append(names, v.Thrusters[i].Name)
	}
	for d := range log.Dives {
		lines := log.Dives[d].Lines
		again := lines[len(lines)-1]
		again.Number, again.Readings, again.Drives = again.Number+1, [quantity.Count]session.Value{}, nil
		for i := range lines {
			l := &lines[i]
			if x := l.Readings[quantity.Trim]; x.Measured() {
				again.Depth = l.Depth
				put(&again, "trim_g", x.X-takesIn(d+1)+float64(d%5-2)*3)
			}
			if x := l.Readings[quantity.Climb]; x.Measured() {
				c := predict.Condition{Electrical: true, Climbing: true, WaterC: 10, DepthM: l.Depth.X, UnderWay: 0.5}
				c.Sign, _ = l.Signs(names)
				p := append(predict.Params(nil), truth[d]...)
				var dry, wet predict.Point
				m.Solve(&c, p, &dry, nil)
				p[predict.WithinDiveG] -= takesIn(d + 1)
				m.Solve(&c, p, &wet, nil)
				put(l, "climb_m_s", x.X+wet.Out[quantity.Climb]-dry.Out[quantity.Climb])
			}
		}
		log.Dives[d].Lines = append(lines, again)
	}
	r := &result{vehicle: v, log: log, truth: truth}
	r.fit = fitOf(t, r, someDives)
	r.Report = drift.Analyse(r.fit)
	return r
}

// Water that comes in during each dive, and is let out before the next, shows in the last hover weight alone: a leak,
// whether little or far more than a hover weight usually differs by, in every dive or in every other.
func TestWaterTakenInWithinDives(t *testing.T) {
	for name, c := range map[string]struct {
		takesIn func(d int) float64
		pattern string
		delay   int
		level   float64
	}{
		"none":  {func(int) float64 { return 0 }, "", 0, 0},
		"some":  {func(d int) float64 { return since(d, 45) }, findings.Step, 3, 45},
		"much":  {func(d int) float64 { return since(d, 170) }, findings.Step, 1, 170},
		"turns": {func(d int) float64 { return since(d, 170) * float64(d%2) }, findings.Turns, 2, 0},
	} {
		t.Run(name, func(t *testing.T) {
			r := weighedAgain(t, 4, c.takesIn)
			if c.pattern == "" {
				assert.Empty(t, r.Findings)
				assert.Empty(t, r.Alarms)
				return
			}
			require.Equal(t, []string{"ingress"}, named(r.Report))
			assert.Greater(t, r.Findings[0].Sure(), 0.8)
			assert.Contains(t, r.Findings[0].What(), "has lost buoyancy, in the course of a dive")
			require.NotEmpty(t, r.Alarms)
			assert.LessOrEqual(t, number(t, r.Alarms[0].RaisedDive), onset+c.delay)
			for _, x := range r.Trends {
				if x.Quantity == "ingress_g" {
					assert.Equal(t, c.pattern, x.Pattern)
					assert.InDelta(t, c.level, x.Level.Value, 20)
				}
			}
		})
	}
}

// since is x from the onset on, before that 0.
func since(d int, x float64) float64 {
	if d < onset {
		return 0
	}
	return x
}
