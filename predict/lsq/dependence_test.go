package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// design returns a 10×5 matrix of columns 1, t, t², t³, t⁴ on [−1, 1], changed
// cell by cell.
func design(change func(row []float64)) *mat.Dense {
	a := mat.NewDense(10, 5, nil)
	for i := range 10 {
		t := -1 + 2*float64(i)/9
		row := []float64{1, t, t * t, t * t * t, t * t * t * t}
		change(row)
		a.SetRow(i, row)
	}
	return a
}

var response = []float64{1, 3, 2, 5, 4, 4, 6, 3, 2, 8}

func TestDependence(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name   string
		change func(row []float64)
		want   [][2]int
		free   []int
		text   string
	}{
		{"copy", func(r []float64) { r[3] = -2e6 * r[1] }, [][2]int{{1, 3}}, []int{1, 3},
			"parameters 1 and 3 not separable: condition number "},
		{"zeros", func(r []float64) { r[2] = 0 }, [][2]int{{2, -1}}, []int{2},
			"parameter 2 without effect on the residuals"},
		{"two copies", func(r []float64) { r[1], r[4] = 3*r[0], r[2]/7 }, [][2]int{{0, 1}, {2, 4}}, []int{0, 1, 2, 4},
			"parameters 0 and 1 not separable: condition number "},
		{"nearly a copy", func(r []float64) { r[3] = r[1] + 1e-9*r[3] }, [][2]int{{1, 3}}, nil,
			"parameters 1 and 3 not separable: condition number "},
	} {
		t.Run(c.name, func(t *testing.T) {
			res, err := new(lsq.Solver).Fit(linear(design(c.change), response), make([]float64, 5), nil)
			require.NoError(t, err)
			require.Equal(t, lsq.Converged, res.Status)
			require.Len(t, res.Warnings, len(c.want))
			for k, want := range c.want {
				var d *lsq.Dependence
				require.ErrorAs(t, res.Warnings[k], &d)
				assert.Equal(t, want, [2]int{d.I, d.J})
				assert.Greater(t, d.Cond, 1e8)
			}
			assert.Contains(t, res.Warnings[0].Error(), c.text)
			free := map[int]bool{}
			for _, j := range c.free {
				free[j] = true
			}
			for j, se := range res.StdErr() {
				assert.Equal(t, free[j], se == inf, "standard error of parameter %d: %v", j, se)
				assert.Equal(t, 10-5, res.DoF)
			}
		})
	}
}

// What the residuals do determine is as if the dependent column were left out.
func TestDependenceLeavesTheRest(t *testing.T) {
	full := design(func(r []float64) { r[4] = 5 * r[3] })
	less := mat.DenseCopyOf(full.Slice(0, 10, 0, 4))
	got, err := new(lsq.Solver).Fit(linear(full, response), make([]float64, 5), nil)
	require.NoError(t, err)
	want, err := new(lsq.Solver).Fit(linear(less, response), make([]float64, 4), nil)
	require.NoError(t, err)
	assert.InEpsilon(t, want.Cost, got.Cost, 1e-13)
	for i := range 3 {
		assert.InEpsilon(t, want.X[i], got.X[i], 1e-9)
		for j := range 3 {
			assert.InDelta(t, want.Cov.At(i, j), got.Cov.At(i, j), 1e-13)
		}
		assert.Zero(t, got.Cov.At(i, 3))
	}
	assert.InEpsilon(t, want.X[3], got.X[3]+5*got.X[4], 1e-9)
}

func TestNoParameterHasEffect(t *testing.T) {
	p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, _ *mat.Dense, _ []float64) { r[0] = 1 }}
	res, err := new(lsq.Solver).Fit(p, []float64{4, 5}, nil)
	require.NoError(t, err)
	assert.Equal(t, []float64{4, 5}, res.X)
	assert.Len(t, res.Warnings, 2)
	for _, se := range res.StdErr() {
		assert.True(t, math.IsInf(se, 1))
	}
}

// Columns of very different sizes are not dependent.
func TestScaleIsNotDependence(t *testing.T) {
	a := design(func(r []float64) {
		for j := range r {
			r[j] *= math.Pow(10, float64(30*j-60))
		}
	})
	res, err := new(lsq.Solver).Fit(linear(a, response), make([]float64, 5), nil)
	require.NoError(t, err)
	assert.Empty(t, res.Warnings)
	assert.Equal(t, lsq.Converged, res.Status)
}
