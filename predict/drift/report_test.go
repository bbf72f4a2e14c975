package drift_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/simulate"
	"sagline/session/units"
)

func TestRounded(t *testing.T) {
	for _, c := range []struct {
		x, half float64
		want    string
	}{
		{1.23456, 0.1, "1.23"}, {1.23456, 0.09, "1.235"}, {1.23456, 1, "1.2"}, {123.4, 20, "123"}, {-0.001, 1, "0.0"}, {-0.26, 1, "-0.3"},
		{1.23456, 0, "1.23"}, {1234.5, math.Inf(1), "1230"},
	} {
		assert.Equal(t, c.want, drift.Rounded(c.x, c.half))
	}
	assert.Equal(t, "0.246 ± 0.011", drift.Estimate{Value: 0.2463, Low: 0.235, High: 0.257}.String())
	assert.Equal(t, "0.3", drift.Estimate{Value: 0.3, Low: 0.3, High: 0.3}.String())
	assert.Equal(t, "over 99 %", drift.Sure(0.991))
	assert.Equal(t, "99 %", drift.Sure(0.99))
	assert.Equal(t, "62 %", drift.Sure(0.62))
}

// In the reader's units a trend is the same trend.
func TestUnits(t *testing.T) {
	r := scenario{change: ramp(predict.TrimG, -6)}.try(t, 2)
	tr := trendOf(t, r.Report, "ingress_g")
	assert.Equal(t, "g", r.Unit("ingress_g").Name)
	assert.Empty(t, r.Unit("no such quantity").Name)
	r.Units = units.Imperial
	u := r.Unit("ingress_g")
	assert.Equal(t, "oz", u.Name)
	oz := tr.In(u)
	const ounce = 28.349523125 // g, NIST Handbook 44, appendix C
	assert.InDelta(t, tr.Level.High/ounce, oz.Level.High, 1e-9)
	assert.InDelta(t, *tr.Limit/ounce, *oz.Limit, 1e-9)
	assert.InDelta(t, tr.PerDive.Low/ounce, oz.PerDive.Low, 1e-9)
	assert.InDelta(t, tr.Levels[3].Value/ounce, oz.Levels[3].Value, 1e-9)
	assert.Equal(t, tr.DivesToLimit, oz.DivesToLimit)
	assert.InDelta(t, 60, *tr.Limit, 1e-9, "the report keeps its own")
}

// The vehicle of today has what its trends found, and reads right.
func TestPresent(t *testing.T) {
	r := scenario{change: func(p predict.Params, _ float64) {
		p[predict.LoopOhm] += 0.15
		p[predict.LogClamp] += 0.08
	}}.try(t, 3)
	now := drift.Present(r.fit, r.Report)
	assert.InDelta(t, r.fit.Base[predict.LoopOhm]+0.15, now[predict.LoopOhm], 0.03)
	assert.Equal(t, r.vehicle.Battery.RestV(), now[predict.OpenCircuitV])
	assert.Zero(t, now[predict.SagVPerMinute])
	assert.Equal(t, r.fit.Base[predict.LogClamp], now[predict.LogClamp], "what an instrument has come to read wrong is not the vehicle")
	doubts := r.Doubts()
	level := trendOf(t, r.Report, "excess_resistance_ohm").Level
	assert.InDelta(t, (level.High-level.Low)/4, doubts[predict.LoopOhm], 0.02*(level.High-level.Low))
	thrust := trendOf(t, r.Report, "thrust_factor").Level
	assert.InDelta(t, math.Log(thrust.High/thrust.Low)/4, doubts[predict.LogThrust], 0.01)
	assert.NotContains(t, doubts, predict.LogClamp)

	better := scenario{change: at(predict.LogThrust, 0.2)}.try(t, 3)
	require.Contains(t, named(better.Report), "not_logged:repair:thrust")
	now = drift.Present(better.fit, better.Report)
	assert.InDelta(t, better.fit.Base[predict.LogThrust]+0.2, now[predict.LogThrust], 0.03, "what is better counts once")

	clean := scenario{change: at(predict.LoopOhm, -0.03)}.try(t, 3)
	assert.GreaterOrEqual(t, drift.Present(clean.fit, clean.Report)[predict.LoopOhm], -clean.vehicle.Tether.Power.JointsOhm)
}

// A repair that no line mentions counts once in the vehicle of today.
func TestPresentAfterARepair(t *testing.T) {
	r := scenario{change: at(predict.LogThrust, 0.3)}.try(t, 3)
	require.Equal(t, "not_logged:repair:thrust", r.Findings[0].Fault)
	assert.InDelta(t, 0.3, drift.Present(r.fit, r.Report)[predict.LogThrust]-r.fit.Base[predict.LogThrust], 0.1)
	assert.Regexp(t, `^it is 1\.\d+ .* times what it was before dive \d+$`, r.Findings[0].Evidence[0])
}

// What a trend does to the speed: a joint takes it, a leak does not.
func TestProject(t *testing.T) {
	r := scenario{change: ramp(predict.LoopOhm, 0.02)}.try(t, 11)
	found := false
	for i := range r.Trends {
		p, ok := drift.Project(r.fit, r.Report, i)
		switch r.Trends[i].Quantity {
		case "excess_resistance_ohm":
			found = true
			require.True(t, ok)
			assert.Greater(t, p.Sound, 1.05*p.Now)
			assert.Greater(t, p.Now, p.AtLimit)
			assert.Greater(t, p.AtLimit, 0.45*p.Sound)
			// half the speed is gone some dives after the limit is reached
			assert.Greater(t, p.DivesToHalf, r.Trends[i].DivesToLimit.Value)
			assert.Less(t, p.DivesToHalf, 200.0)
		case "ingress_g":
			assert.False(t, ok)
		case "thrust_factor":
			require.True(t, ok)
			assert.True(t, math.IsNaN(p.DivesToHalf), "it is no ramp")
			assert.Less(t, p.AtLimit, p.Now)
		}
	}
	assert.True(t, found)
}

// Each dive's own estimates rest on its own lines: they are those of a log that
// ends there, but for the scatter that later dives teach.
func TestEstimatesOfDives(t *testing.T) {
	r := scenario{change: at(predict.LoopOhm, 0.15)}.try(t, 3)
	alone := drift.PerDive(r.fit)
	assert.Empty(t, alone.Alarms)
	assert.Empty(t, alone.Findings)
	assert.Len(t, alone.Trends, len(r.Trends))
	for d, dive := range alone.Dives {
		assert.Equal(t, r.Dives[d].Estimates, dive.Estimates)
		e := dive.Estimates["excess_resistance_ohm"]
		assert.Less(t, e.Low, e.Value)
		assert.Less(t, e.Value, e.High)
		if d+1 >= onset {
			assert.InDelta(t, 0.15, e.Value, 0.05, "dive %d", d+1)
		} else {
			assert.InDelta(t, 0, e.Value, 0.04, "dive %d", d+1)
		}
	}
	assert.NotContains(t, alone.Dives[3].Estimates, "insulation_megohm", "never read")
}

// All dives tell more of the vehicle when sound than its baseline does, and what
// changed is not taken for it.
func TestStatics(t *testing.T) {
	r := scenario{change: at(predict.LoopOhm, 0.2)}.try(t, 3)
	base := r.fit.OfBaseline()
	i := 0
	for j, at := range r.fit.Static() {
		if r.fit.Param(at) == predict.LoopOhm {
			i = j
		}
	}
	assert.Less(t, r.Statics.Cov.At(i, i), base.Cov.At(i, i))
	assert.InDelta(t, base.Mean[i], r.Statics.Mean[i], 0.03)
	early := fitOf(t, r, 4)
	assert.Equal(t, early.OfBaseline(), drift.Analyse(early).Statics)
}

// What readings cannot separate is said, with the one that would.
func TestRemarks(t *testing.T) {
	r := scenario{season: func(s *simulate.Season) { s.Without = simulate.VoltsOnly }}.try(t, 3)
	require.NotEmpty(t, r.Remarks)
	assert.Regexp(t, `one dive's readings leave (excess loop resistance|thrust) open: .* would take ±[\d.]+( Ω)? to ±`, r.Remarks[0])
	assert.Empty(t, scenario{}.try(t, 3).Remarks)
}
