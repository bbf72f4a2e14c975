package lsq_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// readLinear returns the response and the design matrix, constant first.
func readLinear(t *testing.T, name string) (y []float64, design *mat.Dense) {
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	rows = rows[1:] // header
	design = mat.NewDense(len(rows), len(rows[0]), nil)
	for i, row := range rows {
		for j, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			if j == 0 {
				y = append(y, v)
				v = 1
			}
			design.Set(i, j, v)
		}
	}
	return y, design
}

// linear returns the problem A·x ≈ y.
func linear(a *mat.Dense, y []float64) lsq.Problem {
	m, n := a.Dims()
	return lsq.Problem{Dim: n, Size: m, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		v := mat.NewVecDense(m, r)
		v.MulVec(a, mat.NewVecDense(n, x))
		v.SubVec(v, mat.NewVecDense(m, y))
		if jac != nil {
			jac.Copy(a)
		}
	}}
}

// NIST StRD linear regression. Norris is of lower difficulty; Longley's columns
// are nearly dependent (condition number 4e4 with columns scaled to norm 1).
func TestNISTLinear(t *testing.T) {
	for _, want := range []struct {
		file           string
		params, sd     []float64
		residualSD     float64
		digits, sdPart float64
	}{
		{"norris.csv",
			[]float64{-0.262323073774029, 1.00211681802045},
			[]float64{0.232818234301152, 0.429796848199937e-03},
			0.884796396144373, 12, 12},
		{"longley.csv",
			[]float64{-3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683,
				-1.03322686717359, -0.511041056535807e-01, 1829.15146461355},
			[]float64{890420.383607373, 84.9149257747669, 0.334910077722432e-01, 0.488399681651699,
				0.214274163161675, 0.226073200069370, 455.478499142212},
			304.854073561965, 10, 10},
	} {
		y, a := readLinear(t, want.file)
		res, err := new(lsq.Solver).Fit(linear(a, y), make([]float64, len(want.params)), nil)
		require.NoError(t, err)
		require.Equal(t, lsq.Converged, res.Status, want.file)
		require.NotNil(t, res.Cov, want.file)
		params, sd := digits(want.params, res.X), digits(want.sd, res.StdErr())
		t.Logf("%s: digits: parameters %.1f, standard deviations %.1f; %d steps", want.file, params, sd, res.Iterations)
		assert.Greater(t, params, want.digits, want.file)
		assert.Greater(t, sd, want.sdPart, want.file)
		assert.InEpsilon(t, want.residualSD, res.ResidualSD(), 5e-12, want.file) // 7e4 less 7e4, rounded, to 305
		assert.LessOrEqual(t, res.Iterations, 12, want.file)                     // the bound on the first step from zero is doubled
	}
}
