package audit

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Readings that scatter by 1.6 times what is said of their instrument and more, or by 0.35 and less, are told from forty on.
func TestScatters(t *testing.T) {
	v := vehicle.Example()
	for _, c := range []struct {
		n             int
		times, factor float64
		want          string
	}{
		{41, 1.57, 1, ""}, {41, 1.63, 1, "too narrow"}, {41, 0.82, 2, "too narrow"}, {41, 0.36, 1, ""}, {41, 0.34, 1, "wider than need be"}, {40, 1.63, 1, "too narrow"}, {39, 1.63, 1, ""},
	} {
		var z []float64
		for range c.n {
			z = append(z, c.times*0.6745) // half of a normal's lie within
		}
		noise := &instrument.Noise{}
		noise.Factor[quantity.BatteryV] = c.factor
		of := map[quantity.Quantity][]float64{quantity.BatteryV: z}
		got := scatters(v, noise, of, of, &vehicle.Places{})
		if c.want == "" {
			assert.Empty(t, got, "%+v", c)
		} else if assert.Len(t, got, 1, "%+v", c) {
			assert.Contains(t, got[0].Error(), c.want)
		}
	}
}

// A dive's fit goes through few readings, which say nothing of how little an instrument scatters.
func TestLittleScatterOfAmpleDives(t *testing.T) {
	few, enough := []float64{0.1, 0.1, 0.1}, slices.Repeat([]float64{0.2}, 6)
	ample := ofAmpleDives([]map[quantity.Quantity][]float64{{quantity.BatteryV: few, quantity.CurrentA: enough}, {quantity.BatteryV: few, quantity.CurrentA: enough[:5]}})
	assert.Equal(t, map[quantity.Quantity][]float64{quantity.CurrentA: enough}, ample)
	noise := &instrument.Noise{}
	noise.Factor[quantity.BatteryV] = 1
	of := map[quantity.Quantity][]float64{quantity.BatteryV: slices.Repeat([]float64{0.05}, 60)}
	assert.Empty(t, scatters(vehicle.Example(), noise, of, ample, &vehicle.Places{}))
	assert.Len(t, scatters(vehicle.Example(), noise, of, of, &vehicle.Places{}), 1)
}

// Of a calibration whose covariance has no inverse the keys stay as the file has them.
func TestKeysOfNothing(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Models: []*predict.Model{m}, Base: m.NewParams(), Calibrated: mixture.Calibrated{Space: priors.New(m, priors.Log{})}}
	ns := len(r.Space.Static)
	k := keysGiven(r, fit.Statics{Mean: make([]float64, ns), Cov: mat.NewSymDense(ns, nil)})
	assert.Empty(t, k.z)
	assert.Equal(t, []float64{1, 0}, []float64{k.cov.At(0, 0), k.cov.At(0, 1)})
	k.move()
	assert.Len(t, k.moved, len(r.Space.Keys))
}

// Keys of which what is known goes together by more than half are told together.
func TestBeside(t *testing.T) {
	k := &givenKeys{keys: []priors.Doubt{{Key: "a"}, {Key: "b"}, {Key: "c"}, {Key: "d"}}, cov: mat.NewSymDense(4, []float64{
		4, 3.3, 2.7, -3.3,
		3.3, 9, 0, 0,
		2.7, 0, 9, 0,
		-3.3, 0, 0, 9})}
	assert.Equal(t, []string{"b", "d"}, k.beside("a"))
	assert.Empty(t, k.beside("c"))
	assert.Empty(t, k.beside("none"))
}

// Readings of a dive that comes and goes, is jammed or contradicts itself say nothing of their instruments; nor do slips.
func TestDistances(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:7]
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	q := quantity.BatteryV
	z, _ := distances(r)
	all, s, own := len(z[q]), r.Dives[6].Summary, 0
	for _, c := range r.Compare(6, s.Params) {
		if c.Quantity == q && !c.Outlier {
			own++
		}
	}
	require.Greater(t, own, 3)
	for name, set := range map[string]func(s *fit.Summary){"contradicts": func(s *fit.Summary) { s.Contradicts = true },
		"failed": func(s *fit.Summary) { s.Failed = map[causes.Failure]fit.Failed{{Thruster: 1}: {}} }, "comes and goes": func(s *fit.Summary) { s.Intermittent = &s.Quadratic }} {
		now := *s
		set(&now)
		r.Dives[6].Summary = &now
		z, _ = distances(r)
		assert.Len(t, z[q], all-own, name)
	}
	now := *s
	now.Failed = map[causes.Failure]fit.Failed{} // all thought of and dropped
	r.Dives[6].Summary = &now
	z, _ = distances(r)
	assert.Len(t, z[q], all)
}
