package lsq

import "gonum.org/v1/gonum/mat"

// A System collects what Problem.Eval computes at X, row by row: the residuals and, unless Jac is
// nil, their slopes.
type System struct {
	R   []float64
	Jac *mat.Dense
	X   []float64
	row int

	PerGroup, Groups int // as in Problem
}

// Add adds a reading's residual and returns its row of slopes, all zero, or nil if Jac is nil.
func (s *System) Add(residual float64) (slopes []float64) {
	s.R[s.row] = residual
	if s.Jac != nil {
		slopes = s.Jac.RawRowView(s.row)
	}
	s.row++
	return slopes
}

// Known adds the normal prior of unknown i as a residual.
func (s *System) Known(i int, mean, sd float64) {
	if slopes := s.Add((s.X[i] - mean) / sd); slopes != nil {
		slopes[s.Column(i)] = 1 / sd
	}
}

// Column returns the column of unknown i in a row of slopes.
func (s *System) Column(i int) int {
	return layout{perGroup: s.PerGroup, groups: s.Groups}.column(i)
}
