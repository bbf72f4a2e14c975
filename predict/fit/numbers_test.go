package fit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// Whatever the vehicle, its season and what is read of it, the calibration's
// covariance is positive definite, no dive's readings say less than nothing,
// and every estimate is a number within its interval.
func TestNumbersOfEveryFit(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := simulate.Fleet(rapid.Uint64().Draw(rt, "vehicle"))
		var without []quantity.Quantity
		for q := range quantity.Count {
			if rapid.IntRange(0, 3).Draw(rt, "unread") == 0 {
				without = append(without, q)
			}
		}
		s := simulate.Season{Dives: rapid.IntRange(1, 8).Draw(rt, "dives"), Seed: rapid.Uint64().Draw(rt, "seed"), Without: without,
			Rough: rapid.Bool().Draw(rt, "rough"), Sites: rapid.Bool().Draw(rt, "sites"), Slips: rapid.SampledFrom([]float64{0, 0.05, 0.5}).Draw(rt, "slips")}
		r, err := fit.Fit(v, simulate.Log(v, s), nil)
		require.NoError(rt, err)
		require.True(rt, positive(r.Cov, 0), "the calibration's covariance")
		for d := range r.Dives {
			require.True(rt, positive(r.Dives[d].Summary.Info, 1e-9), "what dive %d says", d+1)
			for _, i := range r.Dives[d].Drift {
				require.False(rt, math.IsNaN(i.SD) || math.IsInf(i.High-i.Low, 0))
				require.True(rt, i.SD > 0 || i.SD == 0 && len(r.Dives) == 1, "a baseline of one dive is its own mean")
				require.LessOrEqual(rt, i.Low, i.Value)
				require.LessOrEqual(rt, i.Value, i.High)
			}
		}
	})
}

// positive says whether a matrix, scaled to ones on its diagonal, has no
// eigenvalue below −slack, which is for rounding; with none, it must have a
// Cholesky factor.
func positive(s *mat.SymDense, slack float64) bool {
	n := s.SymmetricDim()
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			if x := math.Sqrt(s.At(i, i) * s.At(j, j)); x > 0 {
				scaled.SetSym(i, j, s.At(i, j)/x)
			}
		}
	}
	if slack == 0 {
		var c mat.Cholesky
		return c.Factorize(scaled)
	}
	var e mat.EigenSym
	return e.Factorize(scaled, false) && e.Values(nil)[0] > -slack
}
