package fit

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
)

// of is the trial of a prior and its direction, of a calibration of static parameters alone, by what one reading h·x of
// unit variance says of them.
func ofReading(prior priors.Prior, h []float64, reading float64) (*calibration, *trial) {
	n := len(h)
	precision := mat.NewSymDense(n, nil)
	precision.SymRankOne(prior.Precision, 1, mat.NewVecDense(n, h))
	var chol mat.Cholesky
	chol.Factorize(precision)
	cov := mat.NewSymDense(n, nil)
	_ = chol.InverseTo(cov)
	left := reading
	for i := range h {
		left -= h[i] * prior.Mean[i]
	}
	var away mat.VecDense
	away.MulVec(cov, mat.NewVecDense(n, h))
	x := make([]float64, n)
	for i := range x {
		x[i] = prior.Mean[i] + left*away.AtVec(i)
	}
	return &calibration{dim: n}, &trial{res: &lsq.Result{X: x, Cov: cov}, prior: &prior}
}

// By how much the score test has a direction make readings likelier is the ratio of their evidence, where nothing is
// curved; that it goes the better way makes nothing likelier. How far a calibration with it lies is its mean given the readings.
func TestGain(t *testing.T) {
	still := priors.Direction{Per: make([]float64, 2)}
	prior := (&priors.Prior{Mean: []float64{0.3, -1}, Cov: mat.NewSymDense(2, []float64{0.5, 0.1, 0.1, 0.2})}).Along(still)
	h, d := []float64{2, -1.5}, priors.Direction{Per: []float64{1, 0.4}, SD: 3}
	variance := 1 + 4*0.5 - 2*3*0.1 + 2.25*0.2 // of the reading, and with what lies along the direction
	along := 2 - 1.5*0.4
	wide := variance + along*along*9
	for _, reading := range []float64{12, 2.6, -7} {
		left := reading - (2*0.3 + 1.5)
		c, s := ofReading(prior, h, reading)
		want := (left*left/variance - left*left/wide - math.Log(wide/variance)) / 2
		assert.InDelta(t, want, s.gain(c, d, 0), 1e-9, "reading %g", reading)
		for _, worse := range []float64{1, -1} {
			if worse*left < 0 {
				assert.Zero(t, s.gain(c, d, worse), "reading %g, worse %g", reading, worse)
			} else {
				assert.InDelta(t, want, s.gain(c, d, worse), 1e-9, "reading %g, worse %g", reading, worse)
			}
		}
		c, s = ofReading(prior.Along(d), h, reading)
		assert.InDelta(t, 9*along*left/wide, s.amplitude(c, d), 1e-9, "reading %g", reading)
		s.res.Cov = nil
		assert.Zero(t, s.gain(c, d, 0))
		assert.Zero(t, s.amplitude(c, d))
	}
}

// With what the baseline is fitted besides is what the readings ask for, the likeliest of it first: a cause the way that is
// worse, in each of its sizes and as far as it may go, and a key; of what was not written down ballast alone, nor what they do not ask for.
func TestDirections(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	sp := priors.New(m, priors.Log{})
	f := &fitting{r: &Result{Calibrated: mixture.Calibrated{Space: sp}}}
	of := func(param int, reading float64) []direction {
		h := make([]float64, len(sp.Static))
		i := slices.Index(sp.Static, sp.Place[param])
		require.GreaterOrEqual(t, i, 0)
		h[i] = 50
		c, none := ofReading(sp.Prior, h, 50*(sp.Prior.Mean[i]+reading))
		c.models = []*predict.Model{m}
		return f.directions(c, none)
	}
	names := func(all []direction) (out []string) {
		for _, d := range all {
			if d.Cause != nil {
				out = append(out, d.Cause.Name)
			} else {
				out = append(out, d.Key.Key)
			}
		}
		return slices.Compact(slices.Sorted(slices.Values(out)))
	}
	friction := predict.OfThruster(0, predict.OneFrictionA)
	assert.Empty(t, of(predict.LoopOhm, 0))
	assert.Contains(t, names(of(predict.LoopOhm, 1.5)), "power_loop")
	assert.NotContains(t, names(of(predict.LoopOhm, -1.5)), "power_loop")
	assert.Contains(t, names(of(friction, 3)), "friction:port")
	assert.NotContains(t, names(of(friction, -3)), "friction:port")
	for _, g := range []float64{-400, 400} {
		assert.Contains(t, names(of(predict.TrimG, g)), "ballast", "either way")
	}
	for _, all := range [][]direction{of(predict.LoopOhm, 1.5), of(friction, 3), of(predict.TrimG, -400), of(predict.BatteryOhm, 0.4)} {
		require.NotEmpty(t, all)
		assert.LessOrEqual(t, len(all), mostTrials)
		for i, d := range all {
			assert.GreaterOrEqual(t, d.gain, leastGain)
			assert.True(t, i == 0 || d.gain+d.odds <= all[i-1].gain+all[i-1].odds, "the likeliest first")
			if d.Cause == nil {
				assert.Equal(t, keyOff, d.SD)
				assert.InDelta(t, keyWrong, 1/(1+math.Exp(-d.odds)), 1e-12)
				assert.True(t, math.IsInf(d.most, 1), "a key may be off by any")
				continue
			}
			assert.True(t, d.Cause.Kind != causes.NotLogged || d.Cause.Name == "ballast", d.Cause.Name)
			assert.Equal(t, d.Cause.Worse, d.worse)
			assert.True(t, d.Cause.Most == 0 || d.most <= d.Cause.Most)
			for _, o := range all[i+1:] {
				assert.False(t, o.Cause == d.Cause && o.SD == d.SD, "each size once")
				assert.True(t, o.Cause != d.Cause || o.most == d.most && math.Max(o.SD/d.SD, d.SD/o.SD) == causes.Sizes[1].Times)
			}
		}
	}
}

// Of two calibrations the likelier is taken, the first if they are equal, the other is none or fails, or no steps are left for it; what the
// other changed is then as it was.
func TestLikelierCalibration(t *testing.T) {
	still := priors.Direction{Per: make([]float64, 2)}
	prior := (&priors.Prior{Mean: []float64{0.3, -1}, Cov: mat.NewSymDense(2, []float64{0.5, 0.1, 0.1, 0.2})}).Along(still)
	at := func(by float64) *lsq.Result { return &lsq.Result{X: []float64{0.3 + by, -1}} }
	best := at(0.2)
	for name, c := range map[string]struct {
		other *lsq.Result
		err   error
		steps int
		taken bool
	}{
		"nearer":         {at(-0.1), nil, 1, true},
		"farther":        {at(0.3), nil, 1, false},
		"as near":        {at(0.2), nil, 1, false},
		"none":           {nil, nil, 1, false},
		"one that fails": {at(0), lsq.ErrStart, 1, false},
		"no steps left":  {at(0), nil, 0, false},
	} {
		noise := &instrument.Noise{}
		for q := range noise.Factor {
			noise.Factor[q], noise.Doubt[q], noise.Worth[q] = 1, 1, 1
		}
		k := &calibration{dim: 2, sp: &priors.Space{}, prior: &prior, noise: noise, sc: newScratch(predict.FirstThruster, 1), steps: c.steps}
		got := k.likelier(best, func() (*lsq.Result, error) {
			noise.Worth[0] = 7
			return c.other, c.err
		})
		want, worth := best, 1.0
		if c.taken {
			want, worth = c.other, 7
		}
		assert.Same(t, want, got, name)
		assert.Equal(t, worth, noise.Worth[0], name)
	}
}
