package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// Along a winding valley whose floor hardly falls every step is bounded. The fit ends there all the same, as soon
// as no step is worth having, and not before.
func TestWindingValley(t *testing.T) {
	const wide, slope = 300.0, 3e-3
	p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		r[0], r[1], r[2] = wide*(x[1]-math.Sin(9*x[0])), slope*x[0], 1
		if jac != nil {
			jac.SetRow(0, []float64{-9 * wide * math.Cos(9*x[0]), wide})
			jac.SetRow(1, []float64{slope, 0})
			jac.SetRow(2, []float64{0, 0})
		}
	}}
	fit := func(tol float64) *lsq.Result {
		res, err := new(lsq.Solver).Fit(p, []float64{4, 0}, &lsq.Settings{CostTol: tol, MaxIter: 150})
		require.NoError(t, err)
		return res
	}
	coarse, fine := fit(1e-6), fit(1e-12)
	assert.Equal(t, lsq.Converged, coarse.Status)
	assert.Less(t, coarse.Iterations, 40)
	assert.Greater(t, fine.Iterations, coarse.Iterations)
	assert.Less(t, fine.Cost, coarse.Cost-1e-9)
}
