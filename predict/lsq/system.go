package lsq

import "gonum.org/v1/gonum/mat"

// A System is what a Problem is asked to evaluate at X, filled row by row:
// the residuals and, unless Jac is nil, their slopes.
type System struct {
	R   []float64
	Jac *mat.Dense
	X   []float64
	row int

	Own, Groups int // as in Problem
}

// Add adds a reading's residual and gives its row of slopes, all zero; nil
// where none are asked for.
func (s *System) Add(residual float64) (slopes []float64) {
	s.R[s.row] = residual
	if s.Jac != nil {
		slopes = s.Jac.RawRowView(s.row)
	}
	s.row++
	return slopes
}

// Known adds what was known of unknown i beforehand.
func (s *System) Known(i int, mean, sd float64) {
	if slopes := s.Add((s.X[i] - mean) / sd); slopes != nil {
		slopes[s.Column(i)] = 1 / sd
	}
}

// Column is where unknown i stands in a row of slopes.
func (s *System) Column(i int) int {
	return layout{own: s.Own, groups: s.Groups}.column(i)
}
