package fit

import "gonum.org/v1/gonum/mat"

// A system is what package lsq asks to have evaluated at x, filled row by row:
// the residuals and, unless jac is nil, their slopes.
type system struct {
	r   []float64
	jac *mat.Dense
	x   []float64
	row int
}

// reading adds a reading's residual and gives its row of slopes, all zero; nil
// where none are asked for.
func (s *system) reading(residual float64) (slopes []float64) {
	s.r[s.row] = residual
	if s.jac != nil {
		slopes = s.jac.RawRowView(s.row)
	}
	s.row++
	return slopes
}

// known adds what was known of unknown i beforehand.
func (s *system) known(i int, mean, sd float64) {
	if slopes := s.reading((s.x[i] - mean) / sd); slopes != nil {
		slopes[i] = 1 / sd
	}
}
