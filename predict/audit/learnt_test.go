package audit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// readOnce is the example's vehicle after readings that tell one parameter alone: where it lies from the prior's mean, and
// one standard deviation.
func readOnce(t *testing.T, v *vehicle.Vehicle, param int, x, sd float64) (*fit.Result, fit.Statics) {
	t.Helper()
	m := predict.NewModel(v)
	sp := priors.New(m, priors.Log{})
	r := &fit.Result{Models: []*predict.Model{m}, Model: m, Base: m.NewParams(), Calibrated: mixture.Calibrated{Space: sp}, Noise: instrument.NewNoise(v),
		Eras: []vehicle.Era{{Vehicle: v}}}
	ns, i := len(sp.Static), sp.InStatic[sp.Place[param]]
	precision := mat.NewSymDense(ns, nil)
	precision.CopySym(sp.Prior.Precision)
	precision.SetSym(i, i, precision.At(i, i)+1/sq(sd))
	cov, ok := normal.Invert(precision)
	require.True(t, ok)
	s := fit.Statics{Mean: make([]float64, ns), Cov: cov}
	for j, at := range sp.Static { // the posterior's mean, told from Base
		s.Mean[j] = sp.Prior.Mean[j] - r.Base[sp.All[at]] + cov.At(j, i)*x/sq(sd)
	}
	return r, s
}

// A reading of one parameter is shared out among the keys that enter it as their variances are, beside what is in none:
// zᵢ = Bᵢ·x/Σ, of covariance δ − Bᵢ·Bⱼ/Σ with Σ = ΣB² + D + sd².
func TestKeysShareAReading(t *testing.T) {
	const x, sd = 0.002, 0.03 // small: h is straight there
	r, s := readOnce(t, vehicle.Example(), predict.LoopOhm, x, sd)
	at := r.Space.InStatic[r.Space.Place[predict.LoopOhm]]
	sum := r.Space.Prior.Beside.At(at, at) + sq(sd)
	for _, d := range r.Space.Keys {
		sum += sq(d.By[predict.LoopOhm])
	}
	k := keysGiven(r, s)
	enter := 0
	for i, a := range r.Space.Keys {
		b := a.By[predict.LoopOhm]
		assert.InDelta(t, b*x/sum, k.z[a.Key], 0.04*math.Abs(b*x/sum)+1e-6, a.Key)
		for j, c := range r.Space.Keys {
			want := -b * c.By[predict.LoopOhm] / sum
			if i == j {
				want++
			}
			assert.InDelta(t, want, k.cov.At(i, j), 0.01, "%s, %s", a.Key, c.Key)
		}
		if b != 0 {
			enter++
		}
	}
	assert.GreaterOrEqual(t, enter, 3)

	all := map[string]Known{}
	for _, x := range Keys(r, s) {
		all[x.Path] = x
	}
	i := slices.IndexFunc(r.Space.Keys, func(d priors.Doubt) bool { return d.Key == "tether.power.joints_ohm" })
	joints := all["tether.power.joints_ohm"]
	assert.InDelta(t, math.Sqrt(k.cov.At(i, i)), joints.Left, 0.01)
	assert.Less(t, joints.Left, 0.95)
	assert.Greater(t, joints.Now.Value, joints.Value)
	assert.Less(t, joints.Now.High, joints.High)
	drag := all["hull.drag_area_m2"]
	assert.InDelta(t, 1, drag.Left, 1e-3)
	assert.InDelta(t, drag.Value, drag.Now.Value, 1e-3*drag.Value)
	volts := all["battery.nominal_v"]
	assert.Equal(t, 1.0, volts.Left, "what the file gives for certain stays")
	assert.Equal(t, normal.Range{Value: volts.Value, Low: volts.Low, High: volts.High}, volts.Now)
}

// Of an instrument so many readings as it was worth before, and as it is with the log's, leave the share; its value goes by
// the factor.
func TestKeysOfInstruments(t *testing.T) {
	r, s := readOnce(t, vehicle.Example(), predict.LoopOhm, 0, 1)
	q := quantity.CurrentA
	r.Noise.Factor[q], r.Noise.Doubt[q], r.Noise.Worth[q] = 2, 6, 24
	for _, x := range Keys(r, s) {
		of, is := instrumentOf(x.Path)
		if is && of == q {
			by := math.Exp(vehicle.Z95 * x.SD / 2)
			assert.InDelta(t, 0.5, x.Left, 1e-12)
			assert.InDeltaSlice(t, []float64{2 * x.Value, 2 * x.Value / by, 2 * x.Value * by}, []float64{x.Now.Value, x.Now.Low, x.Now.High}, 1e-12)
		}
	}
	of, is := instrumentOf("instruments." + instrument.Key(q))
	assert.True(t, is)
	assert.Equal(t, q, of)
	for _, path := range []string{"hull.trim_g", "trim_g", "instruments.none"} {
		_, is := instrumentOf(path)
		assert.False(t, is, path)
	}
}

// What lights draw that the file does not say is as lines with lights on tell, and never less than nothing; what it does say
// is no key that was left out.
func TestLightsAsRead(t *testing.T) {
	v := vehicle.Example()
	v.Lights.Supply, v.Lights.CurrentA = "power", 0
	r, s := readOnce(t, v, predict.LoopOhm, 0, 1)
	at := r.Space.Place[predict.LightsA]
	if at < 0 {
		at = len(r.Space.All)
		r.Space.All, r.Space.Place[predict.LightsA] = append(r.Space.All, predict.LightsA), at
		r.Space.Static = append(r.Space.Static, at)
		r.Space.InStatic = append(r.Space.InStatic, len(r.Space.Static)-1)
	}
	i, n := r.Space.InStatic[at], len(r.Space.Static)
	r.Space.Of[predict.LightsA].Mean, r.Space.Of[predict.LightsA].Beside = 1, 0.8
	s.Mean, s.Cov = make([]float64, n), mat.NewSymDense(n, nil)
	r.Base[predict.LightsA], s.Mean[i] = 2, 0.1
	s.Cov.SetSym(i, i, sq(0.2))
	x, ok := lights(r, s)
	require.True(t, ok)
	assert.InDelta(t, 0.25, x.Left, 1e-12)
	assert.InDeltaSlice(t, []float64{2.1, 2.1 - vehicle.Z95*0.2, 2.1 + vehicle.Z95*0.2}, []float64{x.Now.Value, x.Now.Low, x.Now.High}, 1e-12)
	assert.InDeltaSlice(t, []float64{1, 0, 1 + vehicle.Z95*0.8}, []float64{x.Value, x.Low, x.High}, 1e-12)
	s.Cov.SetSym(i, i, 4)
	x, _ = lights(r, s)
	assert.Zero(t, x.Now.Low)
	r.Space.Of[predict.LightsA].Beside = 0
	_, ok = lights(r, s)
	assert.False(t, ok)
	r.Space.Of[predict.LightsA].Beside = 0.8
	v.Lights.CurrentA = 1.5
	_, ok = lights(r, s)
	assert.False(t, ok)
}

// What sound dives scatter by is not known of the baseline's mean, by so many dives less.
func TestAsDived(t *testing.T) {
	r, _ := readOnce(t, vehicle.Example(), predict.LoopOhm, 0, 1)
	n := len(r.Space.Static)
	r.Cov = mat.NewSymDense(n, nil)
	i := r.Space.InStatic[r.Space.Place[predict.TrimG]]
	r.Cov.SetSym(i, i, 9)
	scatter := r.Space.Of[predict.TrimG].Scatter
	require.Greater(t, scatter, 0.0)
	for baseline, of := range map[int]float64{0: 1, 1: 1, 4: 4} {
		r.Baseline = baseline
		assert.InDelta(t, 9+sq(scatter)/of, asDived(r).Cov.At(i, i), 1e-12, "%d dives", baseline)
	}
}

// Before the first dive nothing is learnt, of numbers at an end of their keys' ranges either.
func TestNothingIsLearntFromNoDives(t *testing.T) {
	v := vehicle.Example()
	for _, set := range []string{"battery.nominal_v=60", "battery.chemistry=lithium-ion", "battery.capacity_ah=0.1", "hull.wake=0"} {
		require.NoError(t, v.Set(set))
	}
	r, err := fit.Fit(v, &session.Log{})
	require.NoError(t, err)
	for _, x := range Keys(r, r.OfBaseline()) {
		assert.InDelta(t, 1, x.Left, 1e-3, x.Path)
	}
}
