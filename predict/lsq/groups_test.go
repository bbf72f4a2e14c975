package lsq_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/lsq"
)

// lines are curves through points of their own, each with a level and a slope of
// its own beside a slope and a bend that all share; of each unknown
// something is known beforehand. grouped tells the solver.
func lines(n int, grouped bool) lsq.Problem {
	const points, own, shared = 4, 2, 2
	dim := own*n + shared
	p := lsq.Problem{Dim: dim, Size: n*(points+own) + shared}
	if grouped {
		p.PerGroup, p.Rows = own, make([]int, n)
		for g := range p.Rows {
			p.Rows[g] = points + own
		}
	}
	p.Eval = func(r []float64, jac *mat.Dense, x []float64) {
		s := lsq.System{R: r, Jac: jac, X: x, PerGroup: p.PerGroup, Groups: len(p.Rows)}
		slope, bend := x[dim-2], x[dim-1]
		for g := range n {
			level, own := x[2*g], x[2*g+1]
			for k := range points {
				t := float64(k) + 0.1*float64(g%7)
				want := math.Sin(float64(5*g+k)) + 0.2*t
				if row := s.Add(level + (slope+own)*t + math.Exp(bend*t) - want); row != nil {
					row[s.Column(2*g)], row[s.Column(2*g+1)] = 1, t
					row[s.Column(dim-2)], row[s.Column(dim-1)] = t, t*math.Exp(bend*t)
				}
			}
			s.Known(2*g, 0.3, 2)
			s.Known(2*g+1, 0, 0.5)
		}
		s.Known(dim-2, 1, 3)
		s.Known(dim-1, 0.5, 1)
	}
	return p
}

// Unknowns that groups of residuals have to themselves are found as without groups, steps that are damped too.
func TestGroups(t *testing.T) {
	for _, set := range []lsq.Settings{{}, {StepBound: 0.01}, {MaxIter: 3, StepBound: 0.01}} {
		x0 := make([]float64, 2*9+2)
		x0[len(x0)-1] = -1
		want, err := new(lsq.Solver).Fit(lines(9, false), x0, &set)
		require.NoError(t, err)
		got, err := new(lsq.Solver).Fit(lines(9, true), x0, &set)
		require.NoError(t, err)
		assert.Equal(t, want.Status, got.Status)
		assert.Equal(t, want.Iterations, got.Iterations)
		assert.InDeltaSlice(t, want.X, got.X, 1e-9)
		assert.InEpsilon(t, want.Cost, got.Cost, 1e-12)
		assert.InEpsilon(t, want.LogDet, got.LogDet, 1e-9)
		assert.Equal(t, want.DoF, got.DoF)
		require.NotNil(t, got.Cov)
		assert.True(t, mat.EqualApprox(want.Cov, got.Cov, 1e-8))
	}
}

// An unknown of one group that nothing depends on stays where it is, and takes no other with it.
func TestGroupWithoutEffect(t *testing.T) {
	p := lsq.Problem{Dim: 3, Size: 6, PerGroup: 1, Rows: []int{2, 2}, Eval: func(r []float64, jac *mat.Dense, x []float64) {
		s := lsq.System{R: r, Jac: jac, X: x, PerGroup: 1, Groups: 2}
		for k := range 4 {
			if row := s.Add(x[2] - float64(k)); row != nil {
				row[1] = 1
			}
			if row := s.R; k > 1 {
				row[k] += x[1]
				if jac != nil {
					jac.Set(k, 0, 1)
				}
			}
		}
		s.Known(2, 0, 1)
		s.Known(2, 0, 1)
	}}
	res, err := new(lsq.Solver).Fit(p, []float64{7, 0, 0}, nil)
	require.NoError(t, err)
	assert.Equal(t, 7.0, res.X[0])
	assert.InDelta(t, 0.25, res.X[2], 1e-9) // 0 and 1 read, 0 known twice
	assert.InDelta(t, 2.25, res.X[1], 1e-9)
	assert.Nil(t, res.Cov)
}

// BenchmarkGroups is a fit of so many groups.
func BenchmarkGroups(b *testing.B) {
	for name, n := range map[string]int{"10": 10, "1000": 1000} {
		p, x0 := lines(n, true), make([]float64, 2*n+2)
		var solver lsq.Solver
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := solver.Fit(p, x0, &lsq.Settings{PointOnly: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
