package outlook

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// A dive says which losses it takes to explain it, with what is not on the good side of the sound value, what has changed,
// what was set aside and which alarms are open.
func TestSays(t *testing.T) {
	table := causes.Table(vehicle.Example())
	loop, thrust := &table[0], &table[2]
	require.Equal(t, "thrust", thrust.Name)
	of := func(x, half float64) findings.Estimate {
		return findings.Estimate{Value: x, Low: x - half, High: x + half}
	}
	cleared := "3"
	alarms := []findings.Alarm{{RaisedDive: "1", ClearedDive: &cleared, Cause: loop}, {RaisedDive: "3", Cause: loop}, {RaisedDive: "2", Cause: thrust}}
	for _, c := range []struct {
		ohm, push findings.Estimate
		alarms    []findings.Alarm
		aside     []fit.Outlier
		want      string
	}{
		{of(0.02, 0.03), of(1, 0.05), nil, nil, "a sound vehicle explains it; no loss stands out of the readings' scatter"},
		{of(0.03, 0.03), of(0.95, 0.05), nil, nil, "a sound vehicle explains it; no loss stands out of the readings' scatter"},
		{of(-0.04, 0.03), of(1.06, 0.05), nil, nil, "a sound vehicle explains it; no loss stands out of the readings' scatter"},
		{of(0.04, 0.03), of(0.94, 0.05), nil, nil, "explained by excess loop resistance 0.040 ± 0.030 Ω, thrust 0.940 ± 0.050"},
		{of(0.02, 0.03), of(1, 0.05), alarms, nil,
			"a sound vehicle explains it; no loss stands out of the readings' scatter; it raises an alarm: excess loop resistance; alarm open since dive 2: thrust"},
		{of(0.2, 0.03), of(1, 0.05), nil, []fit.Outlier{{Column: "battery_v", Entered: 1.27, Expected: 12.7}},
			"explained by excess loop resistance 0.200 ± 0.030 Ω; since the dive before excess loop resistance is up by 0.200 ± 0.042 Ω; battery_v 1.27 set aside, expected 12.7: a slip?"},
	} {
		rep := &findings.Report{Units: units.Metric, Judged: true, Alarms: c.alarms,
			Trends: []findings.Trend{{Quantity: loop.Quantity, Cause: loop}, {Quantity: thrust.Quantity, Cause: thrust, Baseline: 1}},
			Dives: []findings.Dive{{Estimates: map[string]findings.Estimate{loop.Quantity: of(0, 0.03), thrust.Quantity: of(1, 0.05)}},
				{Estimates: map[string]findings.Estimate{loop.Quantity: c.ohm, thrust.Quantity: c.push}, SetAside: c.aside}}}
		r := &fit.Result{Dives: []fit.DiveFit{{Log: &session.Dive{Label: "2"}}, {Log: &session.Dive{Label: "3"}}}}
		assert.Equal(t, c.want, says(r, rep, 1))
	}
}

// While the baseline is not full a dive says so, and where the vehicle as dived is another than its file.
func TestSaysOfTheBaseline(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:2]
	v.Hull.TrimG += 200
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	assert.Regexp(t, `^not yet judged: 2 of the 5 dives that later ones are judged by; from the start: the vehicle floats by \d+ g less than the file says`, says(r, drift.Analyse(r), 1))
}

// Insulation counts by its newest reading, and once dives are judged by the least that all of them leave open.
func TestLeak(t *testing.T) {
	log, read := &session.Log{Dives: make([]session.Dive, 2)}, session.Line{}
	assert.Nil(t, leak(nil, log))
	column, _ := session.Find("insulation_megohm")
	read.Put(session.Value{X: 20, Entered: 20, Column: column})
	log.Dives[0].Lines = []session.Line{read}
	of := func(param int, low float64) findings.Trend {
		return findings.Trend{Level: findings.Estimate{Low: low}, Cause: &causes.Cause{Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: param}}}}}}
	}
	for _, c := range []struct {
		rep  *findings.Report
		want float64
	}{
		{nil, 20}, {&findings.Report{Trends: []findings.Trend{of(predict.LogInsulation, 5)}}, 20},
		{&findings.Report{Judged: true, Trends: []findings.Trend{of(predict.LoopOhm, 1), of(predict.LogInsulation, 5)}}, 5},
		{&findings.Report{Judged: true, Trends: []findings.Trend{of(predict.LogInsulation, 50)}}, 20},
	} {
		assert.Equal(t, c.want, *leak(c.rep, log))
	}
}

// A reading of the card says what to read with what running, and what it should be in the digits that are known.
func TestReadingText(t *testing.T) {
	v := vehicle.Example()
	v.Units = units.Metric
	for want, x := range map[string]forecast.Reading{
		"battery voltage with off, which should be 12.22 to 12.46 V":                       {Sign: []int8{0, 0, 0}, Quantity: quantity.BatteryV, Low: 12.221, High: 12.459},
		"battery voltage with port + starboard astern, which should be 12.341 to 12.449 V": {Sign: []int8{1, -1, 0}, Quantity: quantity.BatteryV, Low: 12.341, High: 12.449},
		"pull with port held still, which should be 11.0 to 14.0 N":                        {Sign: []int8{1, 0, 0}, Held: true, Quantity: quantity.Pull, Low: 11, High: 14},
		"climb with all off, floating up freely, which should be 0.110 to 0.150 m/s":       {Sign: []int8{0, 0, 0}, Climbing: true, Quantity: quantity.Climb, Low: 0.11, High: 0.15},
	} {
		assert.Equal(t, want, readingText(v, &x, ""))
	}
	assert.Equal(t, "pull with port held still (once port turns freely), which should be 11.0 to 14.0 N",
		readingText(v, &forecast.Reading{Sign: []int8{1, 0, 0}, Held: true, Quantity: quantity.Pull, Low: 11, High: 14}, " (once port turns freely)"))
}

// What to read on the next dive goes to what is open: to that of a finding first.
func TestNextReadings(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:7]
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	rep := drift.Analyse(r)
	require.Empty(t, rep.Findings)
	lines := r.Dives[6].Log.Lines
	lines[len(lines)-1].BallastG += 20
	none := After(r, rep, 6)
	assert.Empty(t, none.Check)
	assert.Regexp(t, `^hover weight with off, which should be (3[89]|[45]\d) to (9\d|10\d) g$`, none.Read)
	assert.Equal(t, NextReadings(r, rep, 6, 1), []string{none.Read})
	assert.Len(t, NextReadings(r, rep, 6, 4), 4)
	second := func(param int) string {
		rep.Findings = []findings.Finding{{CheckNext: "look at it", Cause: &causes.Cause{Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: param, Per: 1}}}}}}}
		assert.Equal(t, "look at it", After(r, rep, 6).Check)
		return strings.Join(NextReadings(r, rep, 6, 3)[1:], "; ")
	}
	assert.Contains(t, second(predict.LogDrag), "speed with port + starboard, ")
	assert.Contains(t, second(predict.LoopOhm), "voltage with port + starboard held still, ")
}

// A resistance below nothing is put right, and what is known together with it moves along; one of another part stays.
func TestPossible(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Calibrated: mixture.New(priors.New(m, priors.Log{}))}
	r.Cov = r.Space.Prior.Cov
	branch, torque, loop := predict.OfThruster(0, predict.BranchOhm), predict.OfThruster(0, predict.LogOneTorque), predict.LoopOhm
	had, _ := r.Model.BuiltOhm(branch)
	ofLoop, _ := r.Model.BuiltOhm(loop)
	joint := &fit.Posterior{Params: []int{branch, torque}, Cov: mat.NewSymDense(2, []float64{0.04, 0.02, 0.02, 0.05})}
	p := r.Model.NewParams()
	p[branch], p[torque], p[loop] = -had-0.2, 0.1, -ofLoop-1
	got := possible(r, joint, slices.Clone(p), nil)
	assert.InDelta(t, -had, got[branch], 1e-12)
	assert.InDelta(t, 0.1+0.02/0.04*0.2, got[torque], 1e-12)
	assert.InDelta(t, -ofLoop, got[loop], 1e-12, "known by itself")
	assert.Equal(t, p[loop], possible(r, joint, slices.Clone(p), map[int]bool{loop: true})[loop])
}

// Where no joint knows them together, what the calibration knows together moves: wiring with fewer ohms than none makes up for a
// winding with too many, and the current stays what it was read.
func TestPossibleByTheCalibration(t *testing.T) {
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	r, err := fit.Fit(vehicle.Example(), log)
	require.NoError(t, err)
	k := predict.OfThruster(0, predict.BranchOhm)
	ohm, _ := r.Model.BuiltOhm(k)
	p := slices.Clone(r.Base)
	raise(r, &fit.Posterior{}, p, k, -ohm-0.15)
	assert.Equal(t, -ohm-0.15, p[k])
	got := possible(r, &fit.Posterior{}, slices.Clone(p), nil)
	assert.Equal(t, -ohm, got[k])
	amps := func(p predict.Params) float64 {
		c := predict.Condition{Sign: []int8{1, 0, 0}, Electrical: true, Held: true, WaterC: 15, TetherOutM: 20}
		var pt predict.Point
		r.Model.Solve(&c, p, &pt, nil)
		return pt.Out[quantity.CurrentA]
	}
	cut := slices.Clone(p)
	cut[k] = -ohm
	assert.InEpsilon(t, amps(p), amps(got), 0.005)
	assert.Less(t, amps(cut), 0.96*amps(p), "or the case is none")
}
