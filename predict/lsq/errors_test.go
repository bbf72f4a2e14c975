package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

func TestShapesThatDoNotMatch(t *testing.T) {
	require.Panics(t, func() { _, _ = new(lsq.Solver).Fit(decay(), []float64{1}, nil) })
}

func TestStartNotFinite(t *testing.T) {
	_, err := new(lsq.Solver).Fit(decay(), []float64{1, math.NaN()}, nil)
	require.ErrorIs(t, err, lsq.ErrStart)
	for name, spoil := range map[string]func(r []float64, jac *mat.Dense){
		"residual NaN":    func(r []float64, _ *mat.Dense) { r[3] = math.NaN() },
		"residual Inf":    func(r []float64, _ *mat.Dense) { r[3] = math.Inf(1) },
		"cost overflows":  func(r []float64, _ *mat.Dense) { r[3] = 1e200 },
		"derivative NaN":  func(_ []float64, jac *mat.Dense) { jac.Set(1, 1, math.NaN()) },
		"derivative -Inf": func(_ []float64, jac *mat.Dense) { jac.Set(1, 1, math.Inf(-1)) },
	} {
		p := decay()
		eval := p.Eval
		p.Eval = func(r []float64, jac *mat.Dense, x []float64) {
			eval(r, jac, x)
			spoil(r, jac)
		}
		_, err := new(lsq.Solver).Fit(p, []float64{1, 1}, nil)
		require.ErrorIs(t, err, lsq.ErrStart, name)
	}
}
