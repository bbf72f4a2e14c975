package outlook_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/outlook"
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

// A repair that no line mentions counts once in the vehicle of today.
func TestPresentAfterARepair(t *testing.T) {
	r := simulated(t, 3, at(predict.LogThrust, 0.3))
	require.Equal(t, "not_logged:repair:thrust", r.Findings[0].Fault)
	assert.InDelta(t, 0.3, outlook.Present(r.Result, r.Report)[predict.LogThrust]-r.Result.Base[predict.LogThrust], 0.1)
	assert.Regexp(t, `^it is 1\.\d+ .* times what it was before dive \d+$`, r.Findings[0].Evidence[0])
}
