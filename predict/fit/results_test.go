package fit

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session"
	"sagline/session/quantity"
)

// A result of a log's first dives is of the same calibration, and of what is to come only where those are all.
func TestUpto(t *testing.T) {
	r := &Result{Baseline: 2, Dives: make([]DiveFit, 4), Later: []string{"after the next dive"}}
	part := r.Upto(3)
	assert.Len(t, part.Dives, 3)
	assert.Equal(t, 2, part.Baseline)
	assert.Empty(t, part.Later)
	assert.Equal(t, r.Later, r.Upto(4).Later)
	assert.Len(t, r.Dives, 4, "the whole stays")
	assert.Len(t, r.Later, 1, "the whole stays")
}

// A calibration that did not converge is told with how it ended, where there was one.
func TestUnsettled(t *testing.T) {
	dives := make([]DiveFit, 1)
	assert.Empty(t, (&Result{Status: lsq.Converged, Dives: dives}).NotConverged())
	assert.Empty(t, (&Result{}).NotConverged(), "of a log without dives nothing is fitted")
	assert.Equal(t, "the calibration on the baseline's dives did not converge (iteration limit): all that rests on it may be off",
		(&Result{Status: lsq.IterationLimit, Dives: dives}).NotConverged())
	assert.False(t, (&DiveFit{}).NotConverged())
	assert.True(t, (&DiveFit{d: dive{notConverged: true}}).NotConverged())
}

// What is shown absolute is what the vehicle has when sound: a battery's resistance is the file's and what the baseline adds.
func TestSoundOf(t *testing.T) {
	r := *ofExample()
	r.Base = slices.Clone(r.Base)
	r.Base[predict.BatteryOhm], r.Base[predict.LogInsulation] = 0.004, 4.5
	assert.InDelta(t, r.Model.Vehicle.Battery.ResistanceOhm+0.004, r.SoundOf(predict.BatteryOhm), 1e-12)
	assert.Equal(t, 4.5, r.SoundOf(predict.LogInsulation))
	assert.Equal(t, Statics{r.SoundOffset, r.SoundCov}, r.OfBaseline())
}

// Of each line a dive's readings are compared under, those that were set aside and the stream are not told as read.
func TestObserved(t *testing.T) {
	lines := make([]session.Line, 2)
	d := DiveFit{d: dive{obs: []observation{{circumstances.Circumstance{Cond: predict.Condition{Minute: 3}}, &lines[0]}, {circumstances.Circumstance{Cond: predict.Condition{Minute: 8}}, &lines[1]}},
		cells: []Cell{{Quantity: quantity.BatteryV}, {Quantity: quantity.CurrentA, Outlier: true}, {Quantity: quantity.Speed, obs: 1}, {Quantity: quantity.Speed, obs: 1, stream: true}, {Quantity: quantity.Pull, obs: 1}}}}
	n := 0
	d.Observed(func(c *predict.Condition, l *session.Line, read []quantity.Quantity) {
		assert.Same(t, &lines[n], l)
		assert.Equal(t, []float64{3, 8}[n], c.Minute)
		assert.Equal(t, [][]quantity.Quantity{{quantity.BatteryV}, {quantity.Speed, quantity.Pull}}[n], read)
		n++
	})
	assert.Equal(t, 2, n)
	r := &Result{Dives: []DiveFit{{Cells: d.d.cells[:2]}, {Cells: d.d.cells[2:]}}}
	assert.Equal(t, map[quantity.Quantity]bool{quantity.BatteryV: true, quantity.CurrentA: true, quantity.Speed: true, quantity.Pull: true}, r.Reads())
}

// Before a log is fitted it tells how its dives are made: the vehicle, its battery and which parameters its lines ask for.
func TestUnfitted(t *testing.T) {
	of := ofExample()
	log := &session.Log{}
	for i := range of.Dives {
		log.Dives = append(log.Dives, *of.Dives[i].Log)
	}
	r, err := Unfitted(of.Model.Vehicle, log)
	require.NoError(t, err)
	assert.Equal(t, of.Baseline, r.Baseline)
	assert.Equal(t, of.Space.All, r.Space.All)
	assert.Equal(t, of.OneWay, r.OneWay)
	assert.InDelta(t, of.Charge, r.Charge, 1e-9)
	for i := range r.Dives {
		assert.Nil(t, r.Dives[i].Summary)
		assert.Equal(t, of.Dives[i].Battery, r.Dives[i].Battery)
	}
}

// A timed run of a vehicle that should not have moved is set aside beside no time at all, not an endless one.
func TestSetAsideOfAnEndlessRun(t *testing.T) {
	run, ok := session.Find("run_s")
	require.True(t, ok)
	l := &session.Line{Number: 7}
	l.Readings[quantity.Speed] = session.Value{X: 0.4, Entered: 25, Run: 10, Column: run}
	d := DiveFit{Summary: &Summary{}, compared: []Compared{{Cell: Cell{Line: l, Quantity: quantity.Speed, Outlier: true, slip: true}}}}
	out := (&Result{Dives: []DiveFit{d}}).Outliers(0)
	require.Len(t, out, 1)
	assert.Equal(t, Outlier{Line: 7, Column: "run_s", Entered: 25, Thrusters: l.Thrusters()}, out[0])
	assert.True(t, out[0].High())
	assert.False(t, (&Outlier{Entered: 2, Expected: 3}).High())
}

// Of a vehicle whose rest voltage does not scatter every dive has the variances of all.
func TestVarianceInWithoutRest(t *testing.T) {
	r := *ofExample()
	space := *r.Space
	r.Space, space.Scatter = &space, slices.DeleteFunc(slices.Clone(space.Scatter), func(at int) bool { return space.All[at] == predict.OpenCircuitV })
	r.Dives = slices.Clone(r.Dives)
	r.Dives[7].rest = normal.Normal{Mean: 9, Variance: 0.01}
	all := r.expectedScatter()
	assert.Equal(t, all, r.VarianceIn(7, Sound{Variance: all}))
	assert.Nil(t, r.TypicalRests(9, all))
}
