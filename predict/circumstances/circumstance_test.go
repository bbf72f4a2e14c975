package circumstances

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// What a line does not give is unknown by itself, with its dive and from reading to reading: their variances add up, each
// by the square of its slope.
func TestDoubtOfALine(t *testing.T) {
	c := Circumstance{Unknown: []Unknown{{Param: predict.WaterK, Dive: 3, Line: 4}, {Param: predict.DepthM, Cell: 2}}}
	slope := make([]float64, predict.FirstThruster)
	slope[predict.WaterK], slope[predict.DepthM], slope[predict.ReelK] = 0.1, -0.5, 7
	assert.InDelta(t, math.Sqrt(0.01*25+0.25*4), c.Doubt(slope), 1e-12)
	assert.Zero(t, (&Circumstance{}).Doubt(slope))
}

// Each thruster of a line turns ahead or astern, all others stand; one that the vehicle does not have is reported.
func TestSigns(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	names := []string{m.Vehicle.Thrusters[0].Name, m.Vehicle.Thrusters[1].Name}
	sign := make([]int8, len(m.Vehicle.Thrusters))
	var problems problem.List
	Signs(m, &session.Line{Number: 7, Drives: []session.Drive{{Name: names[1], Reversed: true}, {Name: names[0]}}}, sign, "dives.csv", &problems)
	assert.Equal(t, []int8{1, -1}, sign[:2])
	assert.NotContains(t, sign[2:], int8(1))
	require.NoError(t, problems.Err())
	Signs(m, &session.Line{Number: 8, Drives: []session.Drive{{Name: names[0] + "x"}}}, sign, "dives.csv", &problems)
	require.Error(t, problems.Err())
	assert.Regexp(t, `^dives.csv:8: column "thrusters": found "`+names[0]+`x", want a thruster of vehicle.toml.*`+names[0], problems.Err().Error())
}

// Salt that is written down is known to half a psu and three per cent, fresh water for sure.
func TestSalinityWrittenDown(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	salt, fresh := lineOf(1, 2, 10), lineOf(2, 2, 10)
	salt.Salinity = 35
	var u Typical
	got := u.Of(m, &session.Dive{Lines: []session.Line{salt, fresh}})
	of, is := unknownOf(&got[0], predict.SalinityPSU)
	require.True(t, is)
	assert.InDelta(t, math.Hypot(0.5, 0.03*35), of.Dive, 1e-12)
	assert.Zero(t, of.Line)
	_, is = unknownOf(&got[1], predict.SalinityPSU)
	assert.False(t, is)
}
