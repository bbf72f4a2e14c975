package drift_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

func fitted(t *testing.T, log *session.Log) *fit.Result {
	t.Helper()
	unhurried(t)
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	require.NoError(t, err)
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	return r
}

func report(t *testing.T, log *session.Log) *findings.Report {
	t.Helper()
	return drift.Analyse(fitted(t, log))
}

func season(t *testing.T, s simulate.Season) *session.Log {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	require.NoError(t, err)
	s.Start = time.Date(2020, 3, 8, 0, 0, 0, 0, time.UTC)
	return simulate.Log(v, s)
}

// Weed on every twelfth dive raises no alarm and, when the first is no longer held
// by itself, does not hide a joint that corrodes.
func TestStrayDivesHideNothing(t *testing.T) {
	rep := report(t, season(t, simulate.Season{Dives: 76, Seed: 11, Drift: func(d int, p predict.Params) {
		if d%12 == 0 {
			p[predict.LogDrag] += 0.5
		}
		p[predict.LoopOhm] += 0.03 * max(float64(d)-64, 0)
	}}))
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, "excess_resistance_ohm", rep.Alarms[0].Quantity)
	assert.Contains(t, []string{"64", "65", "66"}, rep.Alarms[0].OnsetDive)
	assert.Contains(t, []string{"65", "66", "67"}, rep.Alarms[0].RaisedDive)
	require.Len(t, rep.Findings, 1)
	assert.Equal(t, "power_loop", rep.Findings[0].Fault)
	assert.Greater(t, rep.Findings[0].Probability, 0.969)
}

// What began longer ago than dives are held one by one is still there, with its
// onset, and ends with its service.
func TestOldFaults(t *testing.T) {
	f := fitted(t, season(t, simulate.Season{Dives: 66, Seed: 12, Service: map[int][]string{64: {"joint"}}, Drift: func(d int, p predict.Params) {
		if d >= 12 && d < 64 {
			p[predict.LoopOhm] += 0.2
		}
	}}))
	rep := drift.Analyse(f.Upto(63))
	require.Len(t, rep.Findings, 1)
	assert.Equal(t, "power_loop", rep.Findings[0].Fault)
	assert.Equal(t, "12", rep.Alarms[0].OnsetDive)
	assert.InDelta(t, 0.2, rep.Trends[0].Level.Value, 0.02)
	rep = drift.Analyse(f)
	assert.Empty(t, rep.Findings)
	require.NotNil(t, rep.Alarms[0].ClearedDive)
	assert.Equal(t, "64", *rep.Alarms[0].ClearedDive)
	assert.False(t, rep.Alarms[0].Withdrawn)
	assert.InDelta(t, 0, rep.Trends[0].Level.Value, 0.03)
}

// One dive with weed asks for a repeat, and blames nothing.
func TestRepeatIsAskedFor(t *testing.T) {
	rep := report(t, season(t, simulate.Season{Dives: 20, Seed: 15, Drift: func(d int, p predict.Params) {
		if d == 20 {
			p[predict.LogDrag] += 0.5
		}
	}}))
	assert.Empty(t, rep.Alarms)
	require.NotEmpty(t, rep.Remarks)
	assert.Regexp(t, `^dive 20 alone reads as if .*drags more.*\([5-9]\d % sure\): take these readings again`, rep.Remarks[0])
}

// A voltmeter that jumps on some lines fits no row of the table: it is said so, as a repeat to be made after one dive and as a finding
// after two, and its readings are no slips.
func TestNothingFits(t *testing.T) {
	log := season(t, simulate.Season{Dives: 18, Seed: 14})
	for d := 16; d < 18; d++ {
		all := 0
		for i := range log.Dives[d].Lines {
			if v := &log.Dives[d].Lines[i].Readings[quantity.BatteryV]; v.Measured() {
				if all++; all%3 == 1 {
					v.X, v.Entered = v.X+0.6, v.Entered+0.6
				}
			}
		}
		require.GreaterOrEqual(t, all, 8)
	}
	const words = "readings of battery voltage are higher than anything explains"
	one := *log
	one.Dives = log.Dives[:17]
	rep := report(t, &one)
	assert.Empty(t, rep.Findings)
	require.NotEmpty(t, rep.Remarks)
	assert.Regexp(t, "^no explanation fits dive 17: .*"+words, rep.Remarks[0])
	assert.Empty(t, rep.Dives[16].SetAside)

	rep = report(t, log)
	require.Len(t, rep.Findings, 1)
	f := rep.Findings[0]
	assert.Equal(t, findings.Unexplained, f.Fault)
	assert.Greater(t, f.Probability, 0.99)
	assert.Equal(t, "17", f.SinceDive)
	assert.Contains(t, f.Evidence[0], words)
	assert.InDelta(t, 1, f.Probability+f.Alternatives[0].Probability, 1e-9)
	assert.Empty(t, rep.Alarms)
}

// A short tape and a hull that drags read alike: the finding says what tells them
// apart, and all that it could be adds up to one.
func TestWhatTellsApart(t *testing.T) {
	rep := report(t, season(t, simulate.Season{Dives: 18, Seed: 15, Without: []quantity.Quantity{quantity.Climb}, Drift: func(d int, p predict.Params) {
		if d >= 13 {
			p[predict.LogSpeed] -= 0.12
		}
	}}))
	require.NotEmpty(t, rep.Findings)
	f := rep.Findings[0]
	sum := f.Probability
	for _, a := range f.Alternatives {
		sum += a.Probability
	}
	assert.InDelta(t, 1, sum, 1e-6)
	require.NotNil(t, f.Test)
	assert.ElementsMatch(t, []string{"drag", "instrument:speed"}, []string{f.Fault, f.Test.From})
	assert.Regexp(t, "^measure the timed distance with a tape.*; if that is in order, it is drag$", f.Test.Words)
	assert.Nil(t, f.Test.Read)
}

// In a log longer than the dives held one by one, what grows slowly is told as early as
// a log that ends with that dive tells it.
func TestLongLogsTellAsEarly(t *testing.T) {
	log := season(t, simulate.Season{Dives: 64, Seed: 58, Drift: func(d int, p predict.Params) {
		p[predict.LoopOhm] += 0.006 * max(float64(d)-58, 0)
	}})
	whole := report(t, log)
	require.Len(t, whole.Alarms, 1)
	raised := whole.Alarms[0].RaisedDive
	assert.LessOrEqual(t, raised, "63")
	n := number(t, raised)
	then := report(t, &session.Log{File: log.File, Dives: log.Dives[:n]})
	require.Len(t, then.Alarms, 1)
	assert.Equal(t, raised, then.Alarms[0].RaisedDive)
}
