package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/simulate"
)

// Over years of dives, what was mended, what acted once long ago and two batteries
// by turns neither come back as something else nor hide what is new; and what
// began long ago is still known, as is since when.
func TestYearsOfFaults(t *testing.T) {
	const dives, joint, mended, leak, drag = 78, 12, 18, 22, 68
	s := scenario{
		change: func(p predict.Params, n float64) {
			d := int(n)
			if d == 10 || d == 25 {
				p[predict.LogDrag] += 0.45
			}
			if d >= joint && d < mended {
				p[predict.LoopOhm] += 0.04 * float64(d-joint+1)
			}
			if d >= leak {
				p[predict.TrimG] -= 50
			}
			if d >= drag {
				p[predict.LogDrag] += 0.06 * float64(d-drag+1)
			}
			if d%2 == 0 && d < 40 {
				p[predict.BatteryOhm] += 0.02
				p[predict.OpenCircuitV] += 0.3
			}
		},
		season: func(x *simulate.Season) {
			x.Service, x.Battery = map[int][]string{mended: {"joint"}}, map[int]string{}
			for d := range 39 {
				x.Battery[d+1] = []string{"A", "B"}[d%2] // A from dive 39 on
			}
		},
	}
	v, log, truth := s.simulated(3, dives, 1)
	r := &result{vehicle: v, log: log, truth: truth}
	r.Report = r.until(t, dives)
	consistent(t, r.Report, dives)
	var quantities []string
	for _, a := range r.Alarms {
		quantities = append(quantities, a.Quantity)
	}
	require.Equal(t, []string{"excess_resistance_ohm", "ingress_g", "drag_factor"}, quantities)
	loop, water, hull := r.Alarms[0], r.Alarms[1], r.Alarms[2]
	assert.Equal(t, "18", *loop.ClearedDive)
	assert.InDelta(t, leak+1, number(t, water.RaisedDive), 1)
	assert.Nil(t, water.ClearedDive)
	assert.InDelta(t, drag+4, number(t, hull.RaisedDive), 4)
	assert.InDelta(t, drag, number(t, hull.OnsetDive), 2)
	assert.ElementsMatch(t, []string{"ingress", "drag"}, named(r.Report))
	level := trendOf(t, r.Report, "ingress_g")
	assert.Equal(t, "22", level.OnsetDive)
	assert.InDelta(t, 50, level.Level.Value, 5)
	assert.Less(t, level.Level.High-level.Level.Low, 12.0, "fifty dives know it well")
	assert.Equal(t, findings.Ramp, trendOf(t, r.Report, "drag_factor").Pattern)
	assert.Equal(t, findings.Steady, trendOf(t, r.Report, "excess_resistance_ohm").Pattern)
}

// Sound dives of years raise nothing.
func TestYearsOfSoundDives(t *testing.T) {
	v, log, truth := scenario{season: func(x *simulate.Season) { x.Sparse = true }}.simulated(5, 75, 1)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, 75)
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, named(rep))
}

// What is serviced before the first dive after the baseline has its level anew
// too, and so has another battery.
func TestAServiceRightAfterTheBaseline(t *testing.T) {
	const first = 6
	v, log, _ := scenario{change: func(p predict.Params, _ float64) {
		p[predict.LogThrust] -= 0.2
		p[predict.BatteryOhm] += 0.02
	}, season: func(x *simulate.Season) {
		x.Service = map[int][]string{first: {"propeller"}}
		x.Battery = map[int]string{1: "A", first: "B"}
	}}.simulated(4, someDives, first)
	rep := (&result{vehicle: v, log: log}).until(t, someDives)
	assert.Empty(t, rep.Alarms)
	assert.Empty(t, named(rep))
}
