package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// An open circuit is tried with one to 32 and a thousand times its thruster's resistance in its static test, a lost propeller
// with a seventh and less of its thrust and torque; a jam departs in nothing that is known beforehand.
func TestFarOff(t *testing.T) {
	v := vehicle.Example()
	f := &diver{m: predict.NewModel(v)}
	const i = 1
	ohm := v.Thrusters[i].TestV / v.Thrusters[i].TestA
	open := f.farOff(causes.Failure{Thruster: i + 1, How: causes.Open})
	require.Len(t, open, 7)
	for k, times := range []float64{1, 2, 4, 8, 16, 32, 1000} {
		require.Len(t, open[k], 1)
		assert.Equal(t, predict.OfThruster(i, predict.BranchOhm), open[k][0].Param)
		assert.InDelta(t, times*ohm, open[k][0].X, 1e-9)
		assert.InDelta(t, 0.35*times*ohm, open[k][0].SD, 1e-9)
	}
	lost := f.farOff(causes.Failure{Thruster: i + 1, How: causes.Lost})
	require.Len(t, lost, 4)
	for k, x := range []float64{2, 2.75, 3.5, 5} {
		assert.Equal(t, []Departure{{predict.OfThruster(i, predict.LogOneThrust), -x, 0.4}, {predict.OfThruster(i, predict.LogOneTorque), -x, 0.4}}, lost[k])
	}
	assert.Empty(t, f.farOff(causes.Failure{Thruster: i + 1}))
}

// What draws nothing draws less than a sound vehicle, and leaves the vehicle's voltage higher where no clamp was read.
func TestDrawsLess(t *testing.T) {
	for name, c := range map[string]struct {
		q    quantity.Quantity
		z    float64
		slip bool
		want bool
	}{
		"less":                    {quantity.CurrentA, -5, false, true},
		"hardly less":             {quantity.CurrentA, -1.5, false, false},
		"more":                    {quantity.CurrentA, 5, false, false},
		"a low one may be it":     {quantity.CurrentA, -5, true, true},
		"a high slip is no word":  {quantity.CurrentA, 5, true, true},
		"a higher battery":        {quantity.BatteryV, 5, false, true},
		"a lower battery":         {quantity.BatteryV, -5, false, false},
		"a higher vehicle's volt": {quantity.VehicleV, 5, false, true},
		"a lower vehicle's volt":  {quantity.VehicleV, -5, false, false},
	} {
		d, sc, _, p := preset(predict.LoopOhm, 0.2, [][]float64{{10 + 0.2*c.z}}, 10, 1)
		f := &diver{base: p, sc: sc}
		sc.predicted.p = f.resting(d)
		d.cells[0].Quantity, d.cells[0].slip, d.obs[0].Cond.Sign = c.q, c.slip, []int8{1}
		for _, how := range []causes.How{causes.Open, causes.Lost} {
			assert.Equal(t, c.want, f.draws(d, causes.Failure{Thruster: 1, How: how}), "%s, %d", name, how)
		}
	}
}

// A slip costs what a cell that is set aside costs, one that is set aside already nothing more.
func TestChargeOfSlips(t *testing.T) {
	assert.InDelta(t, 2*2.5*(2*6-2.5)/2, chargeOfSlips([]Cell{{slip: true, Outlier: true}, {Outlier: true}, {slip: true}, {}}), 1e-12)
}

// A dive looks as if a thruster failed in the ways that are likelier together than all else, each that may be the one.
func TestLikeliestFailure(t *testing.T) {
	jam, open, lost := causes.Failure{Thruster: 1}, causes.Failure{Thruster: 2, How: causes.Open}, causes.Failure{Thruster: 2, How: causes.Lost}
	r := &Result{Calibrated: mixture.Calibrated{Space: &priors.Space{Causes: []causes.Cause{{Fails: jam}, {}, {Fails: open}, {Fails: lost}}}}}
	of := func(worth float64) Failed { return Failed{worth: worth} }
	s := &Summary{turning: -7, Failed: map[causes.Failure]Failed{jam: of(-3), open: of(2), lost: of(1)}}
	_, failed, err := r.likeliest(s)
	require.NoError(t, err)
	assert.Equal(t, []causes.Failure{open, lost}, failed, "a jam is one in 200")
	assert.Equal(t, -5.0, s.likeliest())
	s.Failed[jam] = of(0)
	_, failed, err = r.likeliest(s)
	require.NoError(t, err)
	assert.Equal(t, []causes.Failure{jam, open, lost}, failed, "one in twelve")
	s.Failed = map[causes.Failure]Failed{open: of(-0.5), lost: of(-0.5)}
	_, failed, err = r.likeliest(s)
	require.NoError(t, err)
	assert.Equal(t, []causes.Failure{open, lost}, failed, "together likelier than all else, neither by itself")
	assert.Equal(t, -7.0, (&Summary{turning: -7, Failed: map[causes.Failure]Failed{jam: of(math.Inf(-1))}}).likeliest())
}

func TestAsIf(t *testing.T) {
	assert.Empty(t, Looks{}.AsIf())
	assert.Equal(t, "as if port or lift were jammed (unplugged, turn it by hand)", Looks{Jammed: []string{"port", "lift"}}.AsIf())
	assert.Equal(t, "as if port got next to no current (look at its wiring and its relay), or the propeller of port or lift were lost or slipped on its shaft",
		Looks{Open: []string{"port"}, Lost: []string{"port", "lift"}}.AsIf())
}
