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

// Parameters that the residuals hardly tell apart have no covariance.
func TestDependence(t *testing.T) {
	for name, change := range map[string]func(row []float64){
		"copy":          func(r []float64) { r[3] = -2e6 * r[1] },
		"zeros":         func(r []float64) { r[2] = 0 },
		"two copies":    func(r []float64) { r[1], r[4] = 3*r[0], r[2]/7 },
		"nearly a copy": func(r []float64) { r[3] = r[1] + 1e-9*r[3] },
	} {
		res, err := new(lsq.Solver).Fit(linear(design(change), response), make([]float64, 5), nil)
		require.NoError(t, err, name)
		assert.Equal(t, lsq.Converged, res.Status, name)
		assert.Nil(t, res.Cov, name)
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
	}
	assert.InEpsilon(t, want.X[3], got.X[3]+5*got.X[4], 1e-9)
}

func TestNoParameterHasEffect(t *testing.T) {
	p := lsq.Problem{Dim: 2, Size: 3, Eval: func(r []float64, _ *mat.Dense, _ []float64) { r[0] = 1 }}
	res, err := new(lsq.Solver).Fit(p, []float64{4, 5}, nil)
	require.NoError(t, err)
	assert.Equal(t, []float64{4, 5}, res.X)
	assert.Nil(t, res.Cov)
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
	assert.NotNil(t, res.Cov)
	assert.Equal(t, lsq.Converged, res.Status)
}
