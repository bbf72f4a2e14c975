package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
)

// The mean of the baseline's dives has what they have in common and the mean of what each has of its own, by their joint covariance; a sound
// dive scatters about the former alone. Of three parameters one is common, one scatters about a level in common, one about none.
func TestRecentre(t *testing.T) {
	const loop, thrust, stream = predict.LoopOhm, predict.LogThrust, predict.StreamMS
	sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), All: []int{loop, thrust, stream}, Place: make([]int, predict.FirstThruster),
		Static: []int{0, 1}, Scatter: []int{1, 2}, InStatic: []int{0, 1, -1}}
	const dives, dim = 3, 2 + 2*3
	r := &Result{Calibrated: mixture.Calibrated{Space: sp}, Baseline: dives, Base: make(predict.Params, predict.FirstThruster), Dives: make([]DiveFit, dives)}
	r.Base[loop], r.Base[thrust] = 0.3, -0.1
	for b := range r.Dives {
		r.Dives[b].Summary = &Summary{Firm: normal.Quadratic{Info: mat.NewSymDense(3, nil), Lin: make([]float64, 3)}}
	}
	root := mat.NewDense(dim, dim, nil)
	for i := range dim {
		for j := range dim {
			root.Set(i, j, float64((3*i+5*j)%7)/7-0.4)
		}
	}
	cov := mat.NewSymDense(dim, nil)
	cov.SymOuterK(1, root)
	x := mat.NewVecDense(dim, []float64{0.02, 0.05, 0.03, 0.1, -0.01, 0.2, 0.04, -0.15}) // loop, thrust, then thrust and stream of each dive
	r.recentre(cov, x)

	// each is a sum of some unknowns, whose variance is summed up here
	of := func(weights map[int]float64) (mean, variance float64) {
		for i, w := range weights {
			mean += w * x.AtVec(i)
			for j, v := range weights {
				variance += w * v * cov.At(i, j)
			}
		}
		return mean, variance
	}
	mean, variance := of(map[int]float64{1: 1, 2: 1. / 3, 4: 1. / 3, 6: 1. / 3})
	assert.InDelta(t, -0.1+mean, r.Base[thrust], 1e-12)
	assert.InDelta(t, variance, r.Cov.At(1, 1), 1e-12)
	assert.InDelta(t, 0.32, r.Base[loop], 1e-12)
	assert.InDelta(t, cov.At(0, 0), r.Cov.At(0, 0), 1e-12)
	assert.InDelta(t, cov.At(1, 1), r.SoundCov.At(1, 1), 1e-12)
	own, apart := of(map[int]float64{2: 1. / 3, 4: 1. / 3, 6: 1. / 3})
	assert.InDeltaSlice(t, []float64{0, -own}, r.SoundOffset, 1e-12)
	_, streams := of(map[int]float64{3: 1. / 3, 5: 1. / 3, 7: 1. / 3})
	assert.InDeltaSlice(t, []float64{apart, streams}, r.Apart, 1e-12)
	for b := range r.Dives {
		weights := map[int]float64{2: -1. / 3, 4: -1. / 3, 6: -1. / 3}
		weights[2+2*b]++
		mean, variance := of(weights)
		assert.InDelta(t, mean, r.Dives[b].Departures[1].Mean, 1e-12, "thrust of dive %d", b+1)
		assert.InDelta(t, variance, r.Dives[b].Departures[1].Variance, 1e-12, "thrust of dive %d", b+1)
		mean, variance = of(map[int]float64{3 + 2*b: 1})
		assert.InDelta(t, mean, r.Dives[b].Departures[2].Mean, 1e-12, "stream of dive %d", b+1)
		assert.InDelta(t, variance, r.Dives[b].Departures[2].Variance, 1e-12, "stream of dive %d", b+1)
	}
}
