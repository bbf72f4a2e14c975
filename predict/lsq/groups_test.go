package lsq_test

import (
	"fmt"
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

// coupled is a linear problem of groups of unequal size with own unknowns, and shared ones, in the
// columns that Problem.Eval is given: grouped tells the solver. Some entries are zero, so that rows are
// skipped.
func coupled(own, shared int, rows []int, grouped bool) lsq.Problem {
	dim := own*len(rows) + shared
	p := lsq.Problem{Dim: dim, Size: dim}
	for _, n := range rows {
		p.Size += n
	}
	if grouped {
		p.PerGroup = own
		for _, n := range rows {
			p.Rows = append(p.Rows, n+own)
		}
	}
	entry := func(i, j int) float64 {
		if (i+2*j)%5 == 0 {
			return 0
		}
		return math.Sin(float64(7*i+3*j+1)) + float64(i%(j+2))/3
	}
	p.Eval = func(r []float64, jac *mat.Dense, x []float64) {
		s := lsq.System{R: r, Jac: jac, X: x, PerGroup: p.PerGroup, Groups: len(p.Rows)}
		i := 0
		for g, n := range rows {
			for range n {
				i++
				residual, row := -math.Cos(float64(i)), make([]float64, dim)
				for j := range own {
					row[g*own+j] = entry(i, j)
				}
				for j := range shared {
					row[own*len(rows)+j] = entry(i, own+j)
				}
				for j, per := range row {
					residual += per * x[j]
				}
				if slopes := s.Add(residual); slopes != nil {
					for j, per := range row {
						if per != 0 {
							slopes[s.Column(j)] = per
						}
					}
				}
			}
			for j := range own {
				s.Known(g*own+j, 0.1*float64(j), 2)
			}
		}
		for j := range shared {
			s.Known(own*len(rows)+j, 1, 3)
		}
	}
	return p
}

// However many unknowns groups have to themselves and share, fewer of these than of those too, and however
// many rows they have, the answer and its covariance are those without groups.
func TestLayouts(t *testing.T) {
	var reused lsq.Solver
	for own := 1; own <= 4; own++ {
		for shared := 1; shared <= 4; shared++ {
			for _, rows := range [][]int{{4}, {5, 1}, {0, 7, 3, 2}, {70, 3, 130}} {
				dim := own*len(rows) + shared
				want, err := new(lsq.Solver).Fit(coupled(own, shared, rows, false), make([]float64, dim), nil)
				require.NoError(t, err)
				for _, grouped := range []bool{false, true} {
					got, err := reused.Fit(coupled(own, shared, rows, grouped), make([]float64, dim), nil)
					require.NoError(t, err)
					of := fmt.Sprint(own, shared, rows, grouped)
					assert.InDeltaSlice(t, want.X, got.X, 1e-9, of)
					assert.InDelta(t, want.LogDet, got.LogDet, 1e-9, of)
					require.NotNil(t, got.Cov, of)
					assert.True(t, mat.EqualApprox(want.Cov, got.Cov, 1e-9), of)
				}
			}
		}
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
