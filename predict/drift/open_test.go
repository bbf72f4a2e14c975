package drift_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// together is the report on a change where port and starboard only ever run together.
func together(t *testing.T, change func(predict.Params, float64)) *findings.Report {
	t.Helper()
	v, log, truth := scenario{change: change}.simulated(62, someDives, onset)
	for d := range log.Dives {
		lines := &log.Dives[d].Lines
		*lines = slices.DeleteFunc(*lines, func(l session.Line) bool {
			return len(l.Drives) == 1 && l.Drives[0].Name != "vertical"
		})
	}
	return (&result{vehicle: v, log: log, truth: truth}).until(t, someDives)
}

// Of two thrusters that only ever run together nobody can say whose wiring went bad: neither has a
// pattern, and the level of each holds both; the alarm is of either.
func TestThrustersThatOnlyRunTogether(t *testing.T) {
	rep := together(t, at(predict.OfThruster(port, predict.BranchOhm), 0.5))
	require.NotEmpty(t, rep.Findings)
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, "excess wiring resistance of port or starboard", rep.Alarms[0].Cause.Words)
	assert.Nil(t, rep.Alarms[0].ClearedDive)
	for _, name := range []string{"port", "starboard"} {
		trend := trendOf(t, rep, "branch_excess_ohm:"+name)
		assert.Equal(t, findings.CannotTell, trend.State, name)
		assert.Empty(t, trend.OnsetDive)
		assert.Nil(t, trend.DivesToLimit)
		assert.Less(t, trend.Level.Low, 0.1, name)
		assert.Greater(t, trend.Level.High, 0.45, name)
	}
}

// Of two that only ever run together nobody can say whose shaft went tight, but that one did: the third, alone, turns as before.
func TestOneOfTwoTurnsHarder(t *testing.T) {
	rep := together(t, at(predict.OfThruster(port, predict.OneFrictionA), 1))
	require.Equal(t, []string{"friction"}, named(rep))
	assert.Equal(t, []string{"friction"}, causesOf(rep.Alarms))
	which := rep.Findings[0].Which
	require.GreaterOrEqual(t, len(which), 2)
	assert.ElementsMatch(t, []string{"friction of port", "friction of starboard"}, []string{which[0].Words, which[1].Words})
	assert.InDelta(t, which[0].Probability, which[1].Probability, 0.05)
}

// A dive that alone speaks for something that may be gone on the next asks for a repeat, alarm or not.
func TestARepeatIsAskedForBesideAnAlarm(t *testing.T) {
	log := season(t, simulate.Season{Dives: 12, Seed: 15})
	for i := range log.Dives[11].Lines {
		if v := &log.Dives[11].Lines[i].Readings[quantity.VehicleV]; v.Measured() {
			v.X, v.Entered = v.X-1.4, v.Entered-1.4
		}
	}
	rep := report(t, log)
	require.NotEmpty(t, rep.Findings)
	assert.Equal(t, "instrument:vehicle_v", rep.Findings[0].Fault)
	require.NotEmpty(t, rep.Remarks)
	assert.Regexp(t, "dive 12 alone reads as if .*(voltmeter at the vehicle|the voltage at the vehicle|contact)", rep.Remarks[0])
	assert.Contains(t, rep.Remarks[0], "take these readings again")
}

// A battery that has had too much resistance since it came is past its limit, though it never changed.
func TestPastItsLimitFromTheStart(t *testing.T) {
	r := scenario{file: func(v *vehicle.Vehicle) *vehicle.Vehicle {
		v.Limits.BatteryResistanceOhm = 0.02
		return v
	}}.try(t, 63)
	trend := trendOf(t, r.Report, "battery_resistance_ohm")
	assert.Greater(t, trend.Level.Value, 0.02)
	assert.Equal(t, findings.PastLimit, trend.State)
	assert.Contains(t, r.Report.Verdict(), "battery resistance stands past its limit")
}
