package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

func TestErrors(t *testing.T) {
	good := decay()
	fit := func(change func(p *lsq.Problem), x0 []float64) error {
		p := good
		change(&p)
		res, err := new(lsq.Solver).Fit(p, x0, nil)
		assert.Nil(t, res)
		return err
	}
	same := func(*lsq.Problem) {}
	two := []float64{1, 1}
	for _, c := range []struct {
		want   string
		change func(p *lsq.Problem)
		x0     []float64
	}{
		{"lsq: 0 parameters, need >= 1", func(p *lsq.Problem) { p.Dim = 0 }, nil},
		{"lsq: -1 parameters, need >= 1", func(p *lsq.Problem) { p.Dim = -1 }, nil},
		{"lsq: 1 residuals for 2 parameters, need >= 2", func(p *lsq.Problem) { p.Size = 1 }, two},
		{"lsq: no Eval", func(p *lsq.Problem) { p.Eval = nil }, two},
		{"lsq: start of 3 values for 2 parameters", same, []float64{1, 1, 1}},
		{"lsq: start of parameter 1: NaN", same, []float64{1, math.NaN()}},
		{"lsq: start of parameter 0: -Inf", same, []float64{math.Inf(-1), 1}},
	} {
		require.EqualError(t, fit(c.change, c.x0), c.want)
	}
}

func TestStartNotFinite(t *testing.T) {
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
