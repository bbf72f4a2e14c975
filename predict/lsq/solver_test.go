package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// decay is y = b0·exp(−b1·t) at t = 0, 1, …, 7 with y = 3·exp(−t/2) + noise.
func decay(noise ...float64) lsq.Problem {
	return lsq.Problem{Dim: 2, Size: 8, Eval: func(r []float64, jac *mat.Dense, b []float64) {
		for i := range r {
			t := float64(i)
			e := math.Exp(-b[1] * t)
			r[i] = b[0]*e - 3*math.Exp(-t/2)
			if i < len(noise) {
				r[i] -= noise[i]
			}
			if jac != nil {
				jac.Set(i, 0, e)
				jac.Set(i, 1, -t*b[0]*e)
			}
		}
	}}
}

func TestExactData(t *testing.T) {
	res, err := new(lsq.Solver).Fit(decay(), []float64{1, 1}, nil)
	require.NoError(t, err)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.InEpsilon(t, 3.0, res.X[0], 1e-14)
	assert.InEpsilon(t, 0.5, res.X[1], 1e-14)
	assert.Less(t, res.Cost, 1e-29)
	assert.Equal(t, 6, res.DoF)
}

func TestStartAtMinimum(t *testing.T) {
	res, err := new(lsq.Solver).Fit(decay(), []float64{3, 0.5}, nil)
	require.NoError(t, err)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.Less(t, res.Cost, 1e-30) // 0 where no machine rounds a product and a sum at once
	assert.LessOrEqual(t, res.Iterations, 1)
	assert.LessOrEqual(t, res.Evals, 2)
	assert.InDeltaSlice(t, []float64{0, 0}, res.StdErr(), 1e-15)
}

func TestArgumentsLeftAlone(t *testing.T) {
	x0 := []float64{1, 1}
	res, err := new(lsq.Solver).Fit(decay(), x0, nil)
	require.NoError(t, err)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.Equal(t, []float64{1, 1}, x0)
}

// Eval may set only what is not zero, also on later calls.
func TestEvalFindsZeros(t *testing.T) {
	calls := 0
	p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		calls++
		assert.Equal(t, []float64{0, 0, 0}, r)
		if jac != nil {
			assert.Zero(t, mat.Norm(jac, 1))
			jac.Set(0, 0, 2*x[0])
			jac.Set(1, 1, 1)
		}
		r[0], r[1], r[2] = x[0]*x[0]-2, x[1]-1, 1
	}}
	res, err := new(lsq.Solver).Fit(p, []float64{3, 0}, nil)
	require.NoError(t, err)
	assert.Greater(t, calls, 3)
	assert.Equal(t, calls, res.Evals)
	assert.InEpsilon(t, math.Sqrt2, res.X[0], 1e-13)
}

// A model that answers NaN beyond an edge is fitted from inside: a step across
// is refused and shortened. √(x−1) = 0.1 has its answer 0.01 from the edge,
// and the first step from 3 would go to −0.72.
func TestTrialNotFinite(t *testing.T) {
	refused := 0
	p := lsq.Problem{Dim: 1, Size: 1, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		root := math.Sqrt(x[0] - 1)
		if math.IsNaN(root) {
			refused++
		}
		r[0] = root - 0.1
		if jac != nil {
			jac.Set(0, 0, 0.5/root)
		}
	}}
	res, err := new(lsq.Solver).Fit(p, []float64{3}, nil)
	require.NoError(t, err)
	assert.Positive(t, refused)
	assert.Equal(t, lsq.Converged, res.Status)
	assert.InEpsilon(t, 1.01, res.X[0], 1e-12)
	assert.Zero(t, res.DoF)
	assert.Equal(t, []float64{math.Inf(1)}, res.StdErr(), "no degrees of freedom")
}

// A derivative that is not finite where the residuals are is refused as well.
func TestTrialDerivativeNotFinite(t *testing.T) {
	p := decay()
	eval := p.Eval
	p.Eval = func(r []float64, jac *mat.Dense, b []float64) {
		eval(r, jac, b)
		if jac != nil && b[0] > 2 {
			jac.Set(0, 0, math.NaN())
		}
	}
	res, err := new(lsq.Solver).Fit(p, []float64{1, 1}, nil)
	require.NoError(t, err)
	assert.Equal(t, lsq.Stalled, res.Status, "the minimum lies where there are no derivatives")
	assert.LessOrEqual(t, res.X[0], 2.0)
	assert.False(t, math.IsNaN(mat.Norm(res.Cov, 1)))
}

func TestWrongDerivativesStall(t *testing.T) {
	for _, x0 := range [][]float64{{1, 1}, {0, 0}} {
		p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, jac *mat.Dense, x []float64) {
			r[0], r[1], r[2] = x[0]-5, x[1]-7, 1
			if jac != nil {
				jac.Set(0, 0, -1)
				jac.Set(1, 1, -1)
			}
		}}
		res, err := new(lsq.Solver).Fit(p, x0, nil)
		require.NoError(t, err)
		assert.Equal(t, lsq.Stalled, res.Status)
		assert.True(t, res.Status.Early())
		require.Equal(t, lsq.Stalled, res.Status)
		assert.Equal(t, x0, res.X)
		assert.Less(t, res.Iterations, 100)
		assert.Equal(t, res.Iterations+1, res.Evals, "derivatives are not asked for where no step is taken")
	}
}

// Where no step lowers the cost, what the derivatives promise is rounding up to 1.5e-8 of the cost, 1e-4 standard errors
// per root of the degrees of freedom, and a failure beyond.
func TestPromisedFall(t *testing.T) {
	for _, unit := range []float64{1e-3, 1, 1e3} {
		for promised, want := range map[float64]lsq.Status{1.3e-8: lsq.Converged, 1.8e-8: lsq.Stalled} {
			p := lsq.Problem{Dim: 1, Size: 2, Eval: func(r []float64, jac *mat.Dense, _ []float64) {
				r[0], r[1] = unit, unit*math.Sqrt(promised) // whatever x is
				if jac != nil {
					jac.Set(1, 0, unit)
				}
			}}
			res, err := new(lsq.Solver).Fit(p, []float64{1}, nil)
			require.NoError(t, err)
			assert.Equal(t, want, res.Status, "%g of unit %g", promised, unit)
			assert.Equal(t, []float64{1}, res.X)
		}
	}
}

// Residuals below 1e-12 of the terms that they are the difference of are rounding, which no step lowers.
func TestDifferenceIsRounding(t *testing.T) {
	for left, want := range map[float64]lsq.Status{4.1e-12: lsq.Converged, 4.4e-12: lsq.Stalled} {
		p := lsq.Problem{Dim: 2, Size: 2, Eval: func(r []float64, jac *mat.Dense, _ []float64) {
			r[0], r[1] = left, left // whatever x is
			if jac != nil {
				jac.Set(0, 0, 1)
				jac.Set(1, 1, 1)
			}
		}}
		res, err := new(lsq.Solver).Fit(p, []float64{2, -4}, nil) // the terms' sizes add up to 6, the residuals to √2·left
		require.NoError(t, err)
		assert.Equal(t, want, res.Status, "%g", left)
	}
}

// At a minimum nothing is tried, be the cost zero or not.
func TestNothingToDo(t *testing.T) {
	for _, left := range []float64{0, 1} {
		p := lsq.Problem{Dim: 1, Size: 2, Eval: func(r []float64, jac *mat.Dense, x []float64) {
			r[0], r[1] = x[0]-5, left
			if jac != nil {
				jac.Set(0, 0, 1)
			}
		}}
		res, err := new(lsq.Solver).Fit(p, []float64{5}, nil)
		require.NoError(t, err)
		assert.Equal(t, lsq.Converged, res.Status)
		assert.Zero(t, res.Iterations)
		assert.Equal(t, 1, res.Evals)
	}
}

// Where every step is taken a step is evaluated once, with its derivatives.
func TestEachStepIsEvaluatedOnce(t *testing.T) {
	res, err := new(lsq.Solver).Fit(decay(), []float64{2.9, 0.49}, nil)
	require.NoError(t, err)
	require.Greater(t, res.Iterations, 2)
	assert.Equal(t, res.Iterations+1, res.Evals)
}

// Residuals known to eight digits only, as from an inner iteration, end at the
// minimum within that noise rather than as a failure.
func TestNoiseOfEvaluation(t *testing.T) {
	p := decay(0.1, -0.1, 0.05, 0, -0.05, 0.1)
	want, err := new(lsq.Solver).Fit(p, []float64{1, 1}, nil)
	require.NoError(t, err)
	eval := p.Eval
	p.Eval = func(r []float64, jac *mat.Dense, b []float64) {
		eval(r, jac, b)
		for i := range r {
			r[i] = math.Round(r[i]*1e8) / 1e8
		}
	}
	res, err := new(lsq.Solver).Fit(p, []float64{1, 1}, nil)
	require.NoError(t, err)
	require.Equal(t, lsq.Converged, res.Status)
	for j, se := range want.StdErr() { // 1e-4 standard errors per root of 6 degrees of freedom
		assert.InDelta(t, want.X[j], res.X[j], 2.5e-4*se)
	}
}

// A start a rounding away from zero is as good as zero.
func TestStartNearZero(t *testing.T) {
	for _, x := range []float64{0, 1e-300, 1e-19, -1e-9} {
		p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, jac *mat.Dense, x []float64) {
			r[0], r[1], r[2] = x[0]-5, x[1]-7, 1
			if jac != nil {
				jac.Set(0, 0, 1)
				jac.Set(1, 1, 1)
			}
		}}
		res, err := new(lsq.Solver).Fit(p, []float64{x, x}, nil)
		require.NoError(t, err)
		require.Equal(t, lsq.Converged, res.Status)
		assert.InEpsilon(t, 5.0, res.X[0], 1e-12)
		assert.InEpsilon(t, 7.0, res.X[1], 1e-12)
	}
}

// The first step goes no farther than a tenth beyond its bound, and all the way where that is near enough.
func TestFirstStep(t *testing.T) {
	p := lsq.Problem{Dim: 1, Size: 2, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		r[0], r[1] = x[0]-5, 1
		if jac != nil {
			jac.Set(0, 0, 1)
		}
	}}
	for bound, full := range map[float64]bool{0.3: false, 1: false, 3: false, 3.6: false, 3.7: true, 5: true} {
		res, err := new(lsq.Solver).Fit(p, []float64{1}, &lsq.Settings{MaxIter: 1, StepBound: bound})
		require.NoError(t, err)
		if full {
			assert.InDelta(t, 5, res.X[0], 1e-12, "%g", bound)
			continue
		}
		assert.InDelta(t, bound, res.X[0]-1, 0.1*bound, "%g", bound)
	}
}

func TestIterationLimit(t *testing.T) {
	res, err := new(lsq.Solver).Fit(decay(), []float64{1, 1}, &lsq.Settings{MaxIter: 2})
	require.NoError(t, err)
	assert.Equal(t, lsq.IterationLimit, res.Status)
	require.Equal(t, lsq.IterationLimit, res.Status)
	assert.Equal(t, 2, res.Iterations)
}

func TestStatusText(t *testing.T) {
	assert.Equal(t, "converged", lsq.Converged.String())
	assert.Equal(t, "stalled", lsq.Stalled.String())
	assert.Equal(t, "iteration limit", lsq.IterationLimit.String())
	assert.False(t, lsq.Converged.Early())
	var none lsq.Status
	assert.True(t, none.Early())
	assert.Equal(t, "status 0", none.String())
}

// A solver used again, for other shapes too, gives what a new one gives, and
// keeps no hold of results.
func TestSolverReuse(t *testing.T) {
	var solver lsq.Solver
	noisy := decay(0.1, -0.1, 0.05, 0, -0.05, 0.1)
	first, err := solver.Fit(noisy, []float64{1, 1}, nil)
	require.NoError(t, err)
	_, err = solver.Fit(decay(), []float64{2, 2}, nil)
	require.NoError(t, err)
	p, x0 := waves()
	larger, err := solver.Fit(p, x0, nil)
	require.NoError(t, err)
	alone, err := new(lsq.Solver).Fit(p, x0, nil)
	require.NoError(t, err)
	assert.Equal(t, alone, larger)
	want, err := new(lsq.Solver).Fit(noisy, []float64{1, 1}, nil)
	require.NoError(t, err)
	assert.Equal(t, want, first)
	again, err := solver.Fit(noisy, []float64{1, 1}, nil)
	require.NoError(t, err)
	assert.Equal(t, want, again)
}

// A solver may be used for more residuals of as many parameters, or fewer.
func TestSolverReuseForOtherSizes(t *testing.T) {
	var solver lsq.Solver
	for _, size := range []int{8, 5, 12, 3} {
		p := decay(0.1, -0.1, 0.05)
		p.Size = size
		want, err := new(lsq.Solver).Fit(p, []float64{1, 1}, nil)
		require.NoError(t, err)
		got, err := solver.Fit(p, []float64{1, 1}, nil)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
}

func TestPointOnly(t *testing.T) {
	want, err := new(lsq.Solver).Fit(decay(), []float64{1, 1}, nil)
	require.NoError(t, err)
	got, err := new(lsq.Solver).Fit(decay(), []float64{1, 1}, &lsq.Settings{PointOnly: true})
	require.NoError(t, err)
	assert.NotNil(t, want.Cov)
	want.Cov = nil
	assert.Equal(t, want, got)
}

func TestLoopDoesNotAllocate(t *testing.T) {
	var solver lsq.Solver
	p, x0 := decay(), []float64{1, 1}
	allocs := func(iterations int) float64 {
		s := &lsq.Settings{MaxIter: iterations}
		return testing.AllocsPerRun(20, func() {
			if _, err := solver.Fit(p, x0, s); err != nil {
				t.Error(err)
			}
		})
	}
	assert.Equal(t, allocs(1), allocs(5))
	assert.LessOrEqual(t, allocs(5), 8.0)
}
