package outlook

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
)

// In how many dives half of a speed is gone is told up to 200 dives ahead; 0 where it is gone already.
func TestDivesToHalf(t *testing.T) {
	falls := func(by float64) func(float64) float64 { return func(dives float64) float64 { return 1 - by*dives } }
	assert.InDelta(t, 50, divesToHalf(falls(0.01), 0.5), 0.06)
	assert.InDelta(t, 3.3, divesToHalf(falls(0.5/3.3), 0.5), 0.06)
	assert.InDelta(t, 195, divesToHalf(falls(0.5/195), 0.5), 0.06)
	assert.True(t, math.IsNaN(divesToHalf(falls(0.5/205), 0.5)))
	assert.Zero(t, divesToHalf(falls(0.01), 1))
}

// What a ramp of the loop does to the speed: all else is as it is now.
func TestProjectedSpeeds(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	speed := func(ohm float64) float64 {
		p := slices.Clone(r.Base)
		p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.RestV(), 0
		p[predict.LoopOhm] += ohm
		return advice.AllAhead(r.Model, predict.Condition{WaterC: 15, TetherOutM: r.Model.Vehicle.Tether.LengthM}, p).SpeedMS
	}
	limit, table := 0.3, r.Space.Causes
	rep := &findings.Report{Trends: []findings.Trend{{Cause: &table[0], Level: findings.Estimate{Value: 0.1}, Limit: &limit, PerDive: &findings.Estimate{Value: 0.05}}}}
	x, ok := Project(r, rep, 0)
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{speed(0), speed(0.1)}, []float64{x.Sound, x.Now}, 1e-9)
	assert.InDelta(t, speed(0)/2, speed(0.1+0.05*x.DivesToHalf), 0.01*speed(0))
}

// Without a thruster that drives ahead no trend has a speed to take.
func TestNoSpeedToProject(t *testing.T) {
	limit := 0.8
	for _, axis := range []string{"surge", "heave"} {
		v := vehicle.Example()
		for i := range v.Thrusters {
			v.Thrusters[i].Axis = axis
		}
		m := predict.NewModel(v)
		table := causes.Table(v)
		thrust := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == "thrust" })
		rep := &findings.Report{Trends: []findings.Trend{{Limit: &limit, Cause: &table[thrust], Level: findings.Estimate{Value: 1, Low: 1, High: 1}}}}
		_, ok := Project(&fit.Result{Model: m, Base: m.NewParams()}, rep, 0)
		assert.Equal(t, axis == "surge", ok, axis)
	}
}

// The vehicle as it is now has each trend's level at the newest dive, and At that at a dive; of an instrument's it has none.
func TestAtADive(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Base: m.NewParams(), Calibrated: mixture.New(priors.New(m, priors.Log{}))}
	r.Cov = r.Space.Prior.Cov
	r.Base[predict.LoopOhm] = 0.05
	table := causes.Table(m.Vehicle)
	clamp := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == "instrument:current_a" })
	of := func(x float64) findings.Estimate { return findings.Estimate{Value: x, Low: x, High: x} }
	rep := &findings.Report{Dives: make([]findings.Dive, 3), Trends: []findings.Trend{{Cause: &table[0], Level: of(0.3), Levels: []findings.Estimate{of(0.1), of(0.2), of(0.3)}},
		{Cause: &table[clamp], Level: of(2), Levels: []findings.Estimate{of(2), of(2), of(2)}}}}
	for dive, ohm := range []float64{0.15, 0.25, 0.35} {
		assert.InDelta(t, ohm, At(r, rep, dive)[predict.LoopOhm], 1e-12)
	}
	now := Present(r, rep)
	assert.InDelta(t, 0.35, now[predict.LoopOhm], 1e-12)
	assert.Equal(t, r.Base[predict.LogClamp], now[predict.LogClamp])
	assert.Equal(t, m.Vehicle.Battery.RestV(), now[predict.OpenCircuitV])
	assert.Equal(t, r.Base[predict.LoopOhm], at(r, rep, 2, map[int]float64{predict.LoopOhm: 0.1})[predict.LoopOhm], "what was rebuilt is sound")
	battery := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == "battery" })
	r.Base[predict.BatteryOhm] = 0.01
	ohms := m.Vehicle.Battery.ResistanceOhm + 0.05
	rep.Trends = append(rep.Trends, findings.Trend{Cause: &table[battery], Level: of(ohms)}) // told with what a sound one has
	assert.InDelta(t, 0.05, Present(r, rep)[predict.BatteryOhm], 1e-12)
	rep.Trends[0].Level, rep.Trends[0].Levels[2] = of(-0.3), of(-0.3)
	ohm, ok := m.BuiltOhm(predict.LoopOhm)
	require.True(t, ok)
	assert.InDelta(t, -ohm, Present(r, rep)[predict.LoopOhm], 1e-12, "no less than nothing")
	rep.Trends[0].State = findings.NotAsBuilt
	assert.InDelta(t, -0.25, Present(r, rep)[predict.LoopOhm], 1e-12, "but of another cable")
	mended := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == "not_logged:repair:power_loop" })
	rep.Trends = append(rep.Trends, findings.Trend{Cause: &table[mended], State: findings.Drifting, Level: of(-0.3)})
	assert.InDelta(t, -0.25, Present(r, rep)[predict.LoopOhm], 1e-12, "where no line says so either")
}

// Of water taken in, of a leak to the water, of a contact that comes and goes and where there is no limit, speed does not tell.
func TestNothingToProject(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	table, limit := causes.Table(m.Vehicle), 0.5
	r := &fit.Result{Model: m, Base: m.NewParams()}
	for name, want := range map[string]bool{"power_loop": true, "thrust": true, "ingress": false, "insulation": false, "intermittent_contact": false} {
		c := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == name })
		require.GreaterOrEqual(t, c, 0, name)
		trend := findings.Trend{Limit: &limit, Cause: &table[c], Level: findings.Estimate{Value: 1, Low: 1, High: 1}}
		_, ok := Project(r, &findings.Report{Trends: []findings.Trend{trend}}, 0)
		assert.Equal(t, want, ok, name)
		trend.Limit = nil
		_, ok = Project(r, &findings.Report{Trends: []findings.Trend{trend}}, 0)
		assert.False(t, ok, name)
	}
}

// The vehicle as it is now has a trend's level where its change enters, in each of its eras: wiring that is worse in reverse
// alone leaves the thruster as it was ahead.
func TestNowInReverse(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Base: m.NewParams()}
	table := causes.Table(m.Vehicle)
	branch := &table[slices.IndexFunc(table, func(c causes.Cause) bool { return strings.HasPrefix(c.Name, "branch:") })]
	ahead := branch.Param()
	reverse := branch.Else[0].Terms[0].Param
	of := func(x float64) findings.Estimate { return findings.Estimate{Value: x, Low: x - 0.1, High: x + 0.1} }
	rep := &findings.Report{Dives: make([]findings.Dive, 3), Trends: []findings.Trend{{Cause: branch, Way: 1, From: 2, Level: of(0.6), Levels: []findings.Estimate{of(0.6), of(0.6), of(0.6)},
		Eras: []findings.Era{{From: 0, To: 1, Levels: []findings.Estimate{of(0.4)}}, {From: 1, To: 2, Way: 2, Levels: []findings.Estimate{of(0.5)}}}}}}
	for dive, want := range [][2]float64{{0.4, 0}, {0.5, -0.5}, {0, 0.6}} {
		p := At(r, rep, dive)
		assert.InDelta(t, want[0], p[ahead], 1e-12, "dive %d", dive)
		assert.InDelta(t, want[1], p[reverse], 1e-12, "dive %d", dive)
		assert.InDelta(t, want[0]+want[1], p.ExcessOhm(0, true), 1e-12, "dive %d", dive)
		assert.InDelta(t, want[0], p.ExcessOhm(0, false), 1e-12, "dive %d", dive)
	}
	assert.Len(t, rep.Doubts(), 1)
	assert.Contains(t, rep.Doubts(), reverse)
	assert.Contains(t, rep.DoubtsAt(0), ahead)
}
