package lsq_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"sagline/predict/lsq"
)

// drawLinear draws a well-conditioned design and a response: values in [−1, 1]
// with 5 added on the diagonal of the square part.
func drawLinear(t *rapid.T) (*mat.Dense, []float64) {
	n := rapid.IntRange(1, 6).Draw(t, "n")
	m := n + rapid.IntRange(1, 10).Draw(t, "more")
	value := rapid.Float64Range(-1, 1)
	a := mat.NewDense(m, n, rapid.SliceOfN(value, m*n, m*n).Draw(t, "a"))
	for i := range n {
		a.Set(i, i, a.At(i, i)+5)
	}
	return a, rapid.SliceOfN(value, m, m).Draw(t, "y")
}

// A linear problem has the answer of mat.Solve and the covariance of the
// normal equations.
func TestLinearEqualsSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, y := drawLinear(t)
		m, n := a.Dims()
		x0 := rapid.SliceOfN(rapid.Float64Range(-10, 10), n, n).Draw(t, "x0")
		res, err := new(lsq.Solver).Fit(linear(a, y), x0, nil)
		require.NoError(t, err)
		require.Equal(t, lsq.Converged, res.Status)
		var want mat.VecDense
		require.NoError(t, want.SolveVec(a, mat.NewVecDense(m, y)))
		for j, se := range res.StdErr() { // CostTol lets a fit end 1e-7 standard errors per root of DoF away
			assert.InDelta(t, want.AtVec(j), res.X[j], 1e-9+1e-7*math.Sqrt(float64(res.DoF))*se)
		}
		var normal, cov mat.Dense
		normal.Mul(a.T(), a)
		require.NoError(t, cov.Inverse(&normal))
		assert.True(t, mat.EqualApprox(&cov, res.Cov, 1e-10))
		logDet, sign := mat.LogDet(&normal)
		assert.InDelta(t, logDet, res.LogDet, 1e-8)
		assert.Equal(t, 1.0, sign)
	})
}

// Other units for the parameters change nothing but the units. Powers of two
// scale without rounding, so that every step is the same.
func TestInvariantUnderUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		noise := rapid.SliceOfN(rapid.Float64Range(-0.2, 0.2), 8, 8).Draw(t, "noise")
		x0 := rapid.SliceOfN(rapid.Float64Range(0.5, 2), 2, 2).Draw(t, "x0")
		units := []float64{
			math.Ldexp(1, rapid.IntRange(-40, 40).Draw(t, "unit 0")),
			math.Ldexp(1, rapid.IntRange(-40, 40).Draw(t, "unit 1")),
		}
		p := decay(noise...)
		want, err := new(lsq.Solver).Fit(p, x0, nil)
		require.NoError(t, err)
		got, err := new(lsq.Solver).Fit(inUnits(p, units), []float64{x0[0] / units[0], x0[1] / units[1]}, nil)
		require.NoError(t, err)
		assert.Equal(t, want.Iterations, got.Iterations)
		assert.Equal(t, want.Status, got.Status)
		assert.InEpsilon(t, want.Cost, got.Cost, 1e-12)
		for j, u := range units {
			assert.InEpsilon(t, want.X[j], got.X[j]*u, 1e-10)
			assert.InEpsilon(t, want.StdErr()[j], got.StdErr()[j]*u, 1e-9)
		}
	})
}

// Other units for the residuals change nothing but the units, of fits that end in a minimum, at a standstill or
// with steps that are refused.
func TestInvariantUnderUnitsOfResiduals(t *testing.T) {
	against := decay(0.1, -0.1, 0.05)
	against.Eval = func(r []float64, jac *mat.Dense, x []float64) {
		decay(0.1, -0.1, 0.05).Eval(r, jac, x)
		if jac != nil {
			jac.Scale(-1, jac)
		}
	}
	for name, p := range map[string]lsq.Problem{"a minimum": decay(0.1, -0.1, 0.05), "exact data": decay(), "wrong derivatives": against} {
		for _, x0 := range [][]float64{{1, 1}, {-2, 3}, {0, 0}} {
			want, err := new(lsq.Solver).Fit(p, x0, nil)
			require.NoError(t, err)
			for _, unit := range []float64{0x1p-30, 0x1p30} {
				scaled := p
				scaled.Eval = func(r []float64, jac *mat.Dense, x []float64) {
					p.Eval(r, jac, x)
					floats.Scale(unit, r)
					if jac != nil {
						jac.Scale(unit, jac)
					}
				}
				got, err := new(lsq.Solver).Fit(scaled, x0, nil)
				require.NoError(t, err)
				assert.Equal(t, want.Status, got.Status, "%s from %v", name, x0)
				assert.Equal(t, want.X, got.X, "%s from %v", name, x0)
				assert.Equal(t, want.Iterations, got.Iterations, "%s from %v", name, x0)
				assert.Equal(t, want.Evals, got.Evals, "%s from %v", name, x0)
			}
		}
	}
}

// inUnits returns p as a problem in x/units.
func inUnits(p lsq.Problem, units []float64) lsq.Problem {
	eval := p.Eval
	p.Eval = func(r []float64, jac *mat.Dense, u []float64) {
		x := make([]float64, len(u))
		for j := range x {
			x[j] = u[j] * units[j]
		}
		eval(r, jac, x)
		if jac != nil {
			jac.Apply(func(_, j int, v float64) float64 { return v * units[j] }, jac)
		}
	}
	return p
}

// The cost never rises from one limit of iterations to the next, nor above the
// cost at the start, and is that of the parameters returned.
func TestCostNeverIncreases(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		noise := rapid.SliceOfN(rapid.Float64Range(-1, 1), 8, 8).Draw(t, "noise")
		x0 := rapid.SliceOfN(rapid.Float64Range(-3, 3), 2, 2).Draw(t, "x0")
		bound := rapid.Float64Range(0.1, 100).Draw(t, "bound")
		p := decay(noise...)
		last := cost(p, x0)
		for limit := 1; limit <= 15; limit++ {
			res, err := new(lsq.Solver).Fit(p, x0, &lsq.Settings{MaxIter: limit, StepBound: bound})
			require.NoError(t, err)
			require.LessOrEqual(t, res.Cost, last, fmt.Sprint(limit))
			require.Equal(t, cost(p, res.X), res.Cost)
			last = res.Cost
		}
	})
}

func cost(p lsq.Problem, x []float64) (sum float64) {
	r := make([]float64, p.Size)
	p.Eval(r, nil, x)
	v := mat.NewVecDense(len(r), r)
	return mat.Dot(v, v)
}
