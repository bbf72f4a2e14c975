package drift_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// Two logs of another simulator, whose motors, propellers and batteries are not this model's. In the one a voltmeter
// at the end of a long thin tether reads hundredths, so that what the model has wrong of a held vehicle and of one
// astern shows on every line: no contact comes and goes. In the other nobody took a hover weight before dive 6: a scale
// that has read as it does from its first reading on has not changed.
func TestOtherPhysics(t *testing.T) {
	unhurried(t)
	for _, name := range []string{"sharp-voltmeter", "no-hover-weight"} {
		rep := ofFolder(t, name)
		for _, a := range rep.Alarms {
			assert.True(t, a.Withdrawn, "%s: %s", name, a.String())
			assert.NotEqual(t, findings.Intermittent, a.Pattern, "%s: %s", name, a.String())
		}
		for _, f := range rep.Findings {
			assert.Less(t, f.Probability, 0.8, "%s: %s", name, f.Fault)
		}
	}
}

// In a fifth a motor draws a fifth of what a file that leaves it out assumes: its propeller wears, and its circuit is not open. In a
// sixth a thruster that no baseline dive was read with draws from its first reading on what the file has too high by half: it has not
// changed, and what is predicted of it goes by its readings.
func TestSmallMotorAndLateReading(t *testing.T) {
	unhurried(t)
	require.Equal(t, []string{"thrust"}, named(ofFolder(t, "small-motor")))

	rep := ofFolder(t, "read-late")
	for _, f := range rep.Findings {
		assert.NotContains(t, f.Fault, ":vert")
	}
	for _, a := range rep.Alarms {
		assert.NotContains(t, a.Quantity, ":vert")
	}
	i := rep.Posterior.Index(predict.OfThruster(2, predict.LogOneTorque))
	require.GreaterOrEqual(t, i, 0)
	assert.Less(t, rep.Posterior.Sound[i], -0.4)
}

// A third has neither clamp meter nor any number of its motors: from dive 14 on its battery sags twice as much under load,
// and more with each dive.
func TestBatteryWithoutCurrent(t *testing.T) {
	unhurried(t)
	rep := ofFolder(t, "no-clamp")
	require.NotEmpty(t, rep.Findings)
	assert.Equal(t, "battery", rep.Findings[0].Fault)
	assert.Greater(t, rep.Findings[0].Probability, 0.95)
}

// A fourth has windings that get hot: a jam that lasts for dives is none of friction, which would need more current than
// the motor draws. And a propeller that is lost takes no torque: nothing else changed. A third of a current is no likelier
// than the current of a motor that stands.
func TestJammedOrBare(t *testing.T) {
	unhurried(t)
	for name, want := range map[string]string{"lasting-jam": "stall:starboard", "lost-propeller": "thrust:left", "jammed-thrice": "stall:main"} {
		rep := ofFolder(t, name)
		require.Equal(t, []string{want}, named(rep), name)
		assert.Greater(t, rep.Findings[0].Probability, 0.85, name)
		assert.Len(t, rep.Alarms, 1, name)
	}
}

// A fifth has no clamp meter, and its newest dive a slip, which does not hide that a thruster's circuit is open since dive 15.
func TestOpenCircuitBesideASlip(t *testing.T) {
	unhurried(t)
	rep := ofFolder(t, "slip-beside-open")
	require.NotEmpty(t, rep.Findings)
	assert.Contains(t, []string{"branch:port", "branch:starboard"}, rep.Findings[0].Fault, "they only run together")
	assert.Equal(t, "15", rep.Findings[0].SinceDive)
}

// Where each dive by itself calls a reading a slip, all of them the same way, none of them is one: nothing that has
// begun with them is told.
func TestSlipsInARow(t *testing.T) {
	v, log := folder(t, "testdata/slips-in-a-row")
	of := func(dives int) *findings.Report {
		short := *log
		short.Dives = short.Dives[:dives]
		r, err := fit.Fit(v, &short)
		require.NoError(t, err)
		return drift.Analyse(r)
	}
	names := func(rep *findings.Report) (told []string) {
		for _, f := range rep.Findings {
			if f.Probability >= findings.LeastReported {
				told = append(told, f.Fault)
			}
		}
		return told
	}
	assert.NotContains(t, names(of(15)), findings.Unexplained, "two dives")
	rep := of(16)
	assert.Equal(t, []string{findings.Unexplained}, names(rep))
	f := rep.Findings[0]
	assert.Equal(t, []string{"current_a was set aside as far too high in each of the dives from 14 to 16 that have it: no slips"}, f.Evidence)
	assert.Equal(t, "14", f.SinceDive)
	assert.InDelta(t, 2*0.02*0.02*0.02, f.Alternatives[0].Probability, 1e-12)
	assert.Contains(t, f.CheckNext, "with the battery unplugged, see that each propeller sits fast on its shaft and turns freely; then take")
	rep = of(20)
	assert.Equal(t, []string{findings.Unexplained}, names(rep))
	assert.Len(t, rep.Findings[0].Evidence, 1, "the newest dive has no current")
	assert.Empty(t, rep.Alarms)
}

// Of one thruster alone the readings of a column are no slips either where they are set aside the same way in four dives in
// a row: not in three, and not where it was so in the first dives, as the model may have that thruster wrong.
func TestSlipsOfOneThruster(t *testing.T) {
	unhurried(t)
	for name, c := range map[string]struct {
		from, dives int
		told        bool
	}{"four dives": {9, 14, true}, "three": {9, 13, false}, "all": {1, 14, false}} { // dives 9 and 10 are explained
		t.Run(name, func(t *testing.T) {
			v, log, _ := scenario{season: func(s *simulate.Season) { s.Dives = c.dives }}.simulated(4, c.dives, c.dives)
			name := v.Thrusters[1].Name
			for d := c.from - 1; d < c.dives; d++ {
				for i := range log.Dives[d].Lines {
					if l := &log.Dives[d].Lines[i]; l.Thrusters() == name && l.Readings[quantity.CurrentA].Measured() {
						put(l, "current_a", 0.3*l.Readings[quantity.CurrentA].X)
					}
				}
			}
			r, err := fit.Fit(v, log)
			require.NoError(t, err)
			rep := drift.Analyse(r)
			i := slices.IndexFunc(rep.Findings, func(f findings.Finding) bool { return f.Fault == findings.Unexplained })
			require.Equal(t, c.told, i >= 0, "%v", named(rep))
			if c.told {
				assert.Equal(t, "11", rep.Findings[i].SinceDive)
				assert.Equal(t, []string{"current_a with " + name + " was set aside as far too low in each of the dives from 11 to 14 that have it: no slips"}, rep.Findings[i].Evidence)
			}
		})
	}
}

// Where the log pays out more tether than there is from the dive on at which the loop gains resistance, and not
// before, another tether is asked about first.
func TestLongerTetherIsAskedAbout(t *testing.T) {
	unhurried(t)
	v, log := folder(t, "../../examples/joint")
	check := func(out float64, from int) *findings.Finding {
		at := *log
		at.Dives = slices.Clone(log.Dives[:19])
		for d := from; d < len(at.Dives); d++ {
			at.Dives[d].Lines = slices.Clone(at.Dives[d].Lines)
			for k := range at.Dives[d].Lines {
				at.Dives[d].Lines[k].TetherOut.X = out
			}
		}
		r, err := fit.Fit(v, &at)
		require.NoError(t, err)
		rep := drift.Analyse(r)
		i := slices.IndexFunc(rep.Findings, func(f findings.Finding) bool { return f.Fault == "power_loop" })
		require.GreaterOrEqual(t, i, 0)
		return &rep.Findings[i]
	}
	const asked = "was the tether lengthened or exchanged?"
	onset := check(v.Tether.LengthM, 19).Onset
	more := v.Tether.LengthM + 6
	f := check(more, onset)
	assert.Contains(t, f.CheckNext, asked)
	assert.Contains(t, f.Evidence[len(f.Evidence)-1], "36 m out of a tether of 30 m")
	assert.NotContains(t, check(v.Tether.LengthM, onset).CheckNext, asked)
	assert.NotContains(t, check(30.2, onset).CheckNext, asked, "99 ft")
	assert.NotContains(t, check(more, onset-3).CheckNext, asked, "it was so before")
}
