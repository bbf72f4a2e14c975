package fit

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// An open circuit is tried with one to 32 and a thousand times its thruster's voltage over its current, as calibrated, a lost propeller
// with a seventh and less of its thrust and torque; a jam departs in nothing that is known beforehand.
func TestFarOff(t *testing.T) {
	v := vehicle.Example()
	f := &diver{m: predict.NewModel(v)}
	f.base = f.m.NewParams()
	f.base[predict.LogSize] = math.Log(0.25) // a smaller motor than the file's
	const i = 1
	ohm := f.m.TestOhm(f.base, i)
	assert.InEpsilon(t, 4*v.Thrusters[i].TestV/v.Thrusters[i].TestA, ohm, 0.1)
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
		"a low slip of volts":     {quantity.BatteryV, -5, true, true},
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

// A slip loses what it lies off by, as far as one that is set aside does, and with its decimal point astray no more than that is
// rare; what counts loses nothing.
func TestLossOfSlips(t *testing.T) {
	cells := []Cell{{Value: 12, SD: 2, slip: true}, {Value: 60, SD: 2, slip: true}, {Value: 60, SD: 2, Outlier: true}, {Value: 60, SD: 2}}
	assert.InDelta(t, (1+lossOfOutlier)/2, lossOfSlips(cells, []float64{10, 20, 10, 10}), 1e-12)
	assert.InDelta(t, lossOfOutlier/2, lossOfSlips(cells, []float64{12, 20, 10, 10}), 1e-12)
	astray := -math.Log(slipPrior)
	assert.InDelta(t, astray, lossOfSlips(cells, []float64{12, 6, 10, 10}), 1e-12)
	assert.InDelta(t, astray+0.5, lossOfSlips(cells, []float64{12, 8, 10, 10}), 1e-12)
	assert.InDelta(t, astray, lossOfSlips(cells, []float64{12, 600, 10, 10}), 1e-12)
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
	likely := s.Failed[open]
	likely.alone, likely.By = ofExample().Dives[7].alone, []Departure{{Param: 1, X: 40}}
	s.Failed[open] = likely
	alone, _, err := r.likeliest(s)
	require.NoError(t, err)
	assert.Equal(t, likely.alone, alone, "the departures are those of the likeliest")
	assert.Equal(t, open, s.likeliestOf(failed))
	assert.Equal(t, lost, s.likeliestOf([]causes.Failure{jam, lost}), "of the others")
	assert.Zero(t, s.likeliestOf(nil))
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

// doing has a dive of the example read exactly what its vehicle does with some parameters set otherwise and a thruster jammed,
// which−1, but for pulls that are those of a sound one where it pulls; it returns how it looks to fail.
func doing(t *testing.T, set func(predict.Params), which int, pulls bool, slips ...int) (*Result, map[causes.Failure]Failed) {
	t.Helper()
	r := ofExample()
	d := r.Dives[7].d
	d.cells, d.obs = slices.Clone(d.cells), slices.Clone(d.obs)
	f := &diver{baseline: r.Models[0], m: r.Models[0], sp: r.Space, free: r.Free, base: r.Base, origin: r.Base, noise: r.Noise, scatter: r.expectedScatter(), cov: r.Cov, precision: r.Precision, sc: newScratch(r.Model.Dim(), len(d.cells))}
	truth := f.resting(&d)
	sum := &Summary{Params: slices.Clone(truth)}
	d.predict(f.m, truth, perLine{}, f.sc, false)
	sound := slices.Clone(f.sc.predicted.want)
	set(truth)
	f.jam(&d, which)
	d.predict(f.m, truth, perLine{}, f.sc, false)
	for k := range d.cells {
		if d.cells[k].Value = f.sc.predicted.want[k]; pulls && d.cells[k].Quantity == quantity.Pull {
			d.cells[k].Value = sound[k]
		}
	}
	f.jam(&d, 0)
	d.setAnew()
	for _, k := range slips {
		d.cells[k].Outlier, d.cells[k].slip = true, true
	}
	require.NoError(t, f.fitFailures(&d, sum))
	return r, sum.Failed
}

// A dive in which a thruster did nothing looks so, whichever it is; neither does a sound one, nor one whose thruster's wiring is a
// little worse, that still pushes, or that a meter reads low.
func TestFitFailures(t *testing.T) {
	const i = 0
	ohm := predict.OfThruster(i, predict.BranchOhm)
	jam, open, lost := causes.Failure{Thruster: i + 1}, causes.Failure{Thruster: i + 1, How: causes.Open}, causes.Failure{Thruster: i + 1, How: causes.Lost}
	as := func(predict.Params) {}
	more := func(by float64) func(predict.Params) { return func(p predict.Params) { p[ohm] += by } }
	for name, c := range map[string]struct {
		set      func(p predict.Params)
		jam      int
		pulls    bool
		has, not []causes.Failure
	}{
		"sound":             {as, 0, true, nil, []causes.Failure{jam, open, lost}},
		"open":              {more(1e4), 0, false, []causes.Failure{open}, []causes.Failure{jam}},
		"open, but pulls":   {more(1e4), 0, true, nil, []causes.Failure{jam, open, lost}},
		"worse wiring":      {more(0.7), 0, false, nil, []causes.Failure{jam, open, lost}},
		"a clamp reads low": {func(p predict.Params) { p[predict.LogClamp] -= 0.1 }, 0, true, nil, []causes.Failure{jam, open, lost}},
		"jammed":            {as, i + 1, false, []causes.Failure{jam}, []causes.Failure{open, lost}},
		"jammed, but pulls": {as, i + 1, true, nil, []causes.Failure{jam, open, lost}},
	} {
		_, failed := doing(t, c.set, c.jam, c.pulls)
		for _, how := range c.has {
			assert.Contains(t, failed, how, name)
		}
		for _, how := range c.not {
			assert.NotContains(t, failed, how, name)
		}
	}
}

// A dive with a thruster that does nothing leaves open by how much more than 32 times its resistance its circuit has, and what a
// standing motor has in other dives. Its current is Ohm's law alone, which the model has right.
func TestWhatAFailureLeavesOpen(t *testing.T) {
	const i = 0
	ohm := predict.OfThruster(i, predict.BranchOhm)
	jam, open := causes.Failure{Thruster: i + 1}, causes.Failure{Thruster: i + 1, How: causes.Open}
	r, failed := doing(t, func(p predict.Params) { p[ohm] += 1e4 }, 0, false)
	motor := &r.Model.Vehicle.Thrusters[i]
	most := 32 * r.Model.TestOhm(r.Base, i)
	assert.Equal(t, []Departure{{ohm, most, 0.35 * most}}, failed[open].By)
	of := func(q *normal.Quadratic, param int) float64 {
		at := r.Space.Place[param]
		return q.Info.At(at, at)
	}
	assert.InEpsilon(t, of(failed[open].exact, predict.LogClamp), of(failed[open].Quadratic, predict.LogClamp), 1e-4)

	_, failed = doing(t, func(predict.Params) {}, i+1, false)
	assert.Less(t, of(failed[jam].exact, ohm), 1/sq(0.1*motor.ArmatureOhm))
}

// A standing motor's resistance is found to a quarter of its winding's, up to half more or less, from whichever start the readings
// are likelier; each costs what it is apart.
func TestStandingMotor(t *testing.T) {
	const i = 0
	r := ofExample()
	d := r.Dives[7].d
	d.cells, d.obs = slices.Clone(d.cells), slices.Clone(d.obs)
	d.setAnew()
	f := &diver{baseline: r.Models[0], m: r.Models[0], sp: r.Space, free: r.Free, base: r.Base, origin: r.Base, noise: r.Noise, scatter: r.expectedScatter(), cov: r.Cov, precision: r.Precision, sc: newScratch(r.Model.Dim(), len(d.cells))}
	ohm, winding := predict.OfThruster(i, predict.BranchOhm), r.Model.ArmatureOhm(r.Base, i)
	resting := f.resting(&d)
	charged := slices.Clone(resting)
	charged[predict.OpenCircuitV] += 2
	d.jam(i+1, f.sc)
	for k, starts := range [][2]predict.Params{{resting, charged}, {charged, resting}} {
		for _, share := range []float64{-0.5, -0.25, 0, 0.25, 0.5} {
			truth := slices.Clone(resting)
			truth[ohm] += share * winding
			d.predict(f.m, truth, perLine{}, f.sc, false)
			for k := range d.cells {
				d.cells[k].Value = f.sc.predicted.want[k]
			}
			at, loss := f.standing(&d, i, starts, math.Inf(1))
			assert.InDelta(t, share*winding, at[ohm]-resting[ohm], 1e-9, "start %d", k)
			assert.InDelta(t, resting[predict.OpenCircuitV], at[predict.OpenCircuitV], 1e-9, "start %d", k)
			assert.InDelta(t, sq(share/0.15), loss, 1e-6, "start %d", k)
		}
	}
}

// A current that a dive by itself takes for a slip and a jam explains costs the jam nothing.
func TestAJamExplainsASlip(t *testing.T) {
	const i = 0
	d := &ofExample().Dives[7].d
	k := slices.IndexFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.CurrentA && d.obs[c.obs].Cond.Sign[i] != 0 })
	require.GreaterOrEqual(t, k, 0)
	jam := causes.Failure{Thruster: i + 1}
	as := func(predict.Params) {}
	_, none := doing(t, as, i+1, false)
	_, slip := doing(t, as, i+1, false, k)
	assert.InDelta(t, none[jam].exact.Log+lossOfOutlier/2, slip[jam].exact.Log, 0.01)
}

// A standing motor's resistance is known better where the file gives the winding's, as a number or a range.
func TestStallOhm(t *testing.T) {
	const text = "name = \"x\"\nbattery.nominal_v = 12\ntether.length_m = 20\ntether.power.area_mm2 = 2.5\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"
	for more, share := range map[string]float64{"": 0.3, "armature_ohm = 0.5\n": 0.15, "armature_ohm = [0.4, 0.6]\n": 0.15} {
		v, err := vehicle.Read(strings.NewReader(text+more), vehicle.FileName)
		require.NoError(t, err)
		m := predict.NewModel(v)
		p := m.NewParams()
		assert.InDelta(t, share*v.Thrusters[0].ArmatureOhm, stallOhm(m, p, 0), 1e-12, more)
		p[predict.LogSize] = math.Log(0.25)
		assert.InDelta(t, 4*share*v.Thrusters[0].ArmatureOhm, stallOhm(m, p, 0), 1e-9, "%s: of a quarter of its size", more)
	}
}
