package findings

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/vehicle"
)

// A level is that of the era that a dive is in, then of the trend's own dives; of a dive that is not in the log, the newest.
func TestLevelAt(t *testing.T) {
	of := func(x float64) Estimate { return Estimate{x, x, x} }
	tr := Trend{Level: of(9), Levels: []Estimate{of(0), of(1), of(2), of(3), of(4), of(5)},
		Eras: []Era{{From: 0, To: 2, Levels: []Estimate{of(10), of(11)}}, {From: 2, To: 4, Levels: []Estimate{of(12), of(13)}}}}
	for dive, want := range map[int]float64{-1: 9, 0: 10, 1: 11, 2: 12, 3: 13, 4: 4, 5: 5, 6: 9} {
		assert.Equal(t, of(want), tr.LevelAt(dive), "dive %d", dive)
	}
}

// How well levels are known is told of the vehicle's alone, of a factor as that of its logarithm.
func TestDoubts(t *testing.T) {
	const z = 2 * vehicle.Z95
	param := func(k int, kind causes.Kind, factor bool) *causes.Cause {
		return &causes.Cause{Kind: kind, Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: k, Per: 1}}}}, Scale: causes.Scale{Factor: factor}}
	}
	rep := &Report{Dives: make([]Dive, 2), Trends: []Trend{
		{Cause: param(predict.LogClamp, causes.Instrument, true), Level: Estimate{1, 0.9, 1.1}},
		{Cause: &causes.Cause{}, Level: Estimate{0, 0, 1}}, // a contact that comes and goes
		{Cause: param(predict.BatteryOhm, causes.Vehicle, false), Levels: []Estimate{{0.04, 0.03, 0.05}, {0.04, 0.02, 0.06}}},
		{Cause: param(predict.LogThrust, causes.Vehicle, true), Level: Estimate{1, 0.8, 1.25}},
		{Cause: param(predict.LogDrag, causes.Vehicle, true), Level: Estimate{0, 0, 0.5}},
	}}
	got := rep.Doubts()
	assert.Len(t, got, 3)
	assert.InDelta(t, 0.04/z, got[predict.BatteryOhm], 1e-12)
	assert.InDelta(t, math.Log(1.25/0.8)/z, got[predict.LogThrust], 1e-12)
	assert.InDelta(t, 0.5/z, got[predict.LogDrag], 1e-12, "a factor of nothing has no logarithm")
	assert.InDelta(t, 0.02/z, rep.DoubtsAt(0)[predict.BatteryOhm], 1e-12)
}

// A trend's amplitude enters each era in the way that it had then, and since in its own.
func TestTermsAt(t *testing.T) {
	of := func(k int) []causes.Term { return []causes.Term{{Param: k, Per: 1}} }
	c := &causes.Cause{Amplitudes: []causes.Amplitude{{Terms: of(1)}}, Else: []causes.Way{{Terms: of(2)}, {Terms: of(3)}}}
	tr := Trend{Cause: c, Way: 1, Eras: []Era{{From: 1, To: 3}, {From: 3, To: 4, Way: 2}}}
	for dive, want := range []int{2, 1, 1, 3, 2} {
		assert.Equal(t, of(want), tr.TermsAt(dive), "dive %d", dive+1)
	}

	lost := []causes.Term{{Param: predict.LogThrust, Per: 1}, {Param: predict.LogTorque, Per: 1}}
	before := tr.TermsAt(tr.Eras[0].From)
	tr.Lost = lost
	assert.Equal(t, lost, tr.TermsAt(tr.Eras[len(tr.Eras)-1].To), "a propeller that may be lost takes its torque along")
	assert.Equal(t, before, tr.TermsAt(tr.Eras[0].From), "not before")
}
