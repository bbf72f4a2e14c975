package lsq_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// What was known beforehand counts as a reading of its own: 10 ± 1 known and 12 ± 2 read are 10.4 ± 2/√5.
func TestSystem(t *testing.T) {
	p := lsq.Problem{Dim: 2, Size: 4, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		s := lsq.System{R: r, Jac: jac, X: x}
		s.Known(0, 10, 1)
		slopes := s.Add((x[0] - 12) / 2)
		assert.Equal(t, jac != nil, slopes != nil)
		if slopes != nil {
			slopes[0] = 0.5
		}
		s.Known(1, -3, 0.5)
		s.Known(1, -3, 0.5)
	}}
	res, err := new(lsq.Solver).Fit(p, []float64{0, 0}, nil)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{10.4, -3}, res.X, 1e-12)
	assert.InDelta(t, 0.8, res.Cov.At(0, 0), 1e-12)
	assert.InDelta(t, 0.125, res.Cov.At(1, 1), 1e-12)
}
