package fit

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/normal"
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

// A reading is uncalibrated that the calibration knows three times worse than it tells itself, unless it is five times as far off,
// has another sign, is a logarithm or a hover weight.
func TestUncalibrated(t *testing.T) {
	for name, c := range map[string]struct {
		value, unknown float64 // of 10, one standard deviation of it
		q              quantity.Quantity
		want           []int
	}{
		"uncalibrated": {13, 1, quantity.CurrentA, []int{0}},
		"known":        {12, 0.48, quantity.CurrentA, nil},
		"just so":      {12, 0.52, quantity.CurrentA, []int{0}},
		"far":          {16.4, 1, quantity.CurrentA, []int{0}},
		"too far":      {16.6, 1, quantity.CurrentA, nil},
		"far below":    {6.1, 1, quantity.CurrentA, []int{0}},
		"another sign": {-13, 8, quantity.CurrentA, nil},
		"insulation":   {13, 1, quantity.Insulation, nil},
		"hover weight": {13, 1, quantity.Trim, nil},
	} {
		d, sc, n, p := preset(predict.LoopOhm, 0.2, [][]float64{{c.value}}, 10, 2)
		d.cells[0].Quantity = c.q
		n.Stated[c.q], n.Factor[c.q] = 0.2, 1
		sp := &priors.Space{All: []int{predict.LoopOhm}, Static: []int{0}}
		f := &diver{sp: sp, base: p, noise: n, sc: sc, cov: mat.NewSymDense(1, []float64{sq(c.unknown / 2)})}
		assert.Equal(t, c.want, f.uncalibrated(d, p), name)
	}
}

// Pulls of a vehicle whose thrust is not calibrated tell it, but not one that is beyond five standard deviations of that.
func TestRecalibrate(t *testing.T) {
	r := ofExample()
	for _, c := range []struct {
		sd   float64
		told bool
	}{{0.5, true}, {0.15, false}} {
		d := r.Dives[7].d
		d.cells, d.obs = slices.Clone(d.cells), slices.Clone(d.obs)
		cov := mat.NewSymDense(len(r.Space.Static), nil)
		for i := range r.Space.Static {
			cov.SetSym(i, i, 1e-12)
		}
		thrust := r.Space.InStatic[r.Space.Place[predict.LogThrust]]
		cov.SetSym(thrust, thrust, sq(c.sd))
		precision, ok := normal.Invert(cov)
		assert.True(t, ok)
		f := &diver{baseline: r.Models[0], m: r.Models[0], sp: r.Space, base: r.Base, origin: r.Base, noise: r.Noise, cov: cov, precision: precision, sc: newScratch(r.Model.Dim(), len(d.cells))}
		p := f.resting(&d)
		truth := slices.Clone(p)
		truth[predict.LogThrust]++
		d.predict(f.m, truth, perLine{}, f.sc, false)
		var pulls []int
		for k := range d.cells {
			if d.cells[k].Value = f.sc.predicted.want[k]; d.cells[k].Quantity == quantity.Pull {
				pulls = append(pulls, k)
			}
		}
		assert.NotEmpty(t, pulls)
		told := f.recalibrate(&d, p, pulls)
		if !c.told {
			assert.Nil(t, told)
			continue
		}
		assert.InDelta(t, truth[predict.LogThrust], told[predict.LogThrust], 0.02)
		assert.InDelta(t, p[predict.LogDrag], told[predict.LogDrag], 1e-6)
		assert.Nil(t, f.recalibrate(&d, p, nil))
	}
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
