package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// What is not known of the calibration makes a prediction uncertain by its slopes' quadratic form.
func TestUncertain(t *testing.T) {
	f := &diver{sp: &priors.Space{All: []int{predict.LogDrag, predict.LoopOhm, predict.TrimG}, Static: []int{1, 2}}, cov: mat.NewSymDense(2, []float64{0.04, -0.01, -0.01, 0.09})}
	slope := make([]float64, predict.FirstThruster)
	slope[predict.LogDrag], slope[predict.LoopOhm], slope[predict.TrimG] = 9, 2, 3
	assert.InDelta(t, 4*0.04+2*2*3*-0.01+9*0.09, f.uncertain(slope), 1e-12)
}

// Cells of one quantity that lie off the same way as a misfit of it are no slips, unless their decimal point is astray;
// others are.
func TestOutliersBesideAMisfit(t *testing.T) {
	current, ok := session.Find("current_a")
	assert.True(t, ok)
	for name, c := range map[string]struct {
		q    quantity.Quantity
		z    float64
		slip bool
		want int
	}{
		"of the misfit": {quantity.CurrentA, 7, false, 0}, "the other way": {quantity.CurrentA, -7, false, 1}, "of another": {quantity.Pull, 7, false, 1}, "astray": {quantity.CurrentA, 7, true, 1},
	} {
		d := readings(3, 0, 7)
		l := &session.Line{}
		l.Readings[c.q] = session.Value{X: 5, Entered: 5, Column: current}
		d.compared = append(d.compared, Compared{Cell: Cell{Line: l, Quantity: c.q, Outlier: true, slip: c.slip}, Z: c.z})
		assert.Len(t, (&Result{Dives: []DiveFit{d}}).Outliers(0), c.want, name)
	}
}

// What was rounded off adds to what the instrument scatters by.
func TestNoiseOfARoundedReading(t *testing.T) {
	n := &instrument.Noise{}
	n.Stated[quantity.CurrentA], n.Factor[quantity.CurrentA] = 0.3, 1
	c := Cell{Quantity: quantity.CurrentA, rounded: 0.4}
	assert.InDelta(t, 0.5, c.noiseAt(n, 6), 1e-12)
}

// A jam explains a current that is set aside as too high, an open circuit one that is too low.
func TestWhatAFailureExplains(t *testing.T) {
	v := vehicle.Example()
	for name, c := range map[string]struct {
		how          causes.Failure
		z            float64
		jammed, open bool
	}{"high, jammed": {causes.Failure{Thruster: 1}, 9, true, false}, "low, jammed": {causes.Failure{Thruster: 1}, -9, false, false},
		"high, open": {causes.Failure{Thruster: 1, How: causes.Open}, 9, false, false}, "low, open": {causes.Failure{Thruster: 1, How: causes.Open}, -9, false, true},
		"of one that was off": {causes.Failure{Thruster: 2}, 9, false, false}} {
		d := DiveFit{Summary: &Summary{Failed: map[causes.Failure]Failed{c.how: {}}}, d: dive{obs: []observation{{Circumstance: circumstances.Circumstance{Cond: predict.Condition{Sign: []int8{1, 0, 0}}}}}}}
		r := &Result{Dives: []DiveFit{d}, Models: []*predict.Model{{Vehicle: v}}}
		jammed, open := r.failing(0, &Compared{Cell: Cell{Quantity: quantity.CurrentA}, Z: c.z})
		assert.Equal(t, map[bool]string{true: v.Thrusters[0].Name}[c.jammed], jammed, name)
		assert.Equal(t, map[bool]string{true: v.Thrusters[0].Name}[c.open], open, name)
	}
}
