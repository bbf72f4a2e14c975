package forecast

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
)

// ofExample is the fit of an example, which tests leave as it is.
var ofExample = sync.OnceValue(func() *fit.Result {
	v, err := vehicle.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log, err := session.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log.Dives = log.Dives[:9]
	r, err := fit.Fit(v, log)
	if err != nil {
		panic(err)
	}
	return r
})

// Batteries of one vehicle differ in resistance and in rest voltage: a forecast with another knows little of either.
func TestAnotherBattery(t *testing.T) {
	r := ofExample()
	f := New(r, r.Base, nil, fit.Posterior{})
	before := [2]float64{f.cov.At(predict.BatteryOhm, predict.BatteryOhm), f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV)}
	loop := f.cov.At(predict.LoopOhm, predict.LoopOhm)
	f.AnotherBattery()
	assert.Greater(t, f.cov.At(predict.BatteryOhm, predict.BatteryOhm), before[0])
	assert.Greater(t, f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV), before[1])
	assert.Equal(t, loop, f.cov.At(predict.LoopOhm, predict.LoopOhm))
}

// A dive begins on a battery as the last dives had theirs; a line goes on from those that were learnt.
func TestForecastsGoOn(t *testing.T) {
	r := ofExample()
	f, rest := New(r, r.Base, nil, fit.Posterior{}), 0.0
	for i := range r.Dives {
		rest += r.Dives[i].Summary.Params[predict.OpenCircuitV] / float64(len(r.Dives))
	}
	assert.InDelta(t, rest, f.p[predict.OpenCircuitV], 1e-9)
	column, _ := session.Find("tether_out_m")
	require.NoError(t, f.Learn(&session.Line{TetherOut: session.Value{X: 7, Entered: 7, Column: column}}))
	o, err := f.observe(&session.Line{})
	require.NoError(t, err)
	assert.Equal(t, 7.0, o.Cond.TetherOutM)
	require.Error(t, f.Learn(&session.Line{Drives: []session.Drive{{Name: "sideways"}}}))
	assert.Len(t, f.lines, 1)
}

// A battery whose voltage at rest is lower has spent more of its charge.
func TestForecastsCharge(t *testing.T) {
	r := ofExample()
	b := &r.Model.Vehicle.Battery
	f := New(r, r.Base, nil, fit.Posterior{})
	f.charge, f.p[predict.OpenCircuitV] = 0.8, b.RestAt(0.6)
	o, err := f.observe(&session.Line{})
	require.NoError(t, err)
	assert.InDelta(t, 0.2, o.Cond.Spent, 1e-9)
}

// The battery that a forecast begins with is the mean of the last ten dives', within their scatter and what is not known
// of the mean; of none it is open.
func TestForecastsBattery(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Models: []*predict.Model{m}}
	for d := range 12 {
		p := m.NewParams()
		p[predict.OpenCircuitV] = 12.5 + 0.2*float64(d%2)
		if d < 2 {
			p[predict.OpenCircuitV] = 14
		}
		r.Dives = append(r.Dives, fit.DiveFit{Summary: &fit.Summary{Params: p}})
	}
	f := forecastAt(m, m.NewParams())
	f.cov.SetSym(predict.OpenCircuitV, predict.LoopOhm, 0.3)
	f.restVoltage(r)
	assert.InDelta(t, 12.6, f.p[predict.OpenCircuitV], 1e-12)
	assert.Equal(t, priors.SagMean, f.p[predict.SagVPerMinute])
	assert.Zero(t, f.cov.At(predict.OpenCircuitV, predict.LoopOhm))
	assert.InDelta(t, (10*0.01+3*0.15*0.15)/(9+3)*(1+0.1), f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV), 1e-12)
	half, other := vehicle.Example(), vehicle.Example()
	half.Battery.NominalV /= 2
	other.Battery.Chemistry = "lithium-iron"
	for _, c := range []struct {
		v    *vehicle.Vehicle
		want float64
	}{{half, 2 * 12.6}, {other, 12.6}} { // the last, of no dive on these cells, leaves it
		r.Models = []*predict.Model{predict.NewModel(c.v)}
		f.p[predict.OpenCircuitV] = 12.6
		f.restVoltage(r)
		assert.InDelta(t, c.want, f.p[predict.OpenCircuitV], 1e-12)
	}
	f.restVoltage(&fit.Result{})
	assert.Equal(t, 1.0, f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV))
}
