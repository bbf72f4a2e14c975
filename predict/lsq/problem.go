package lsq

import (
	"cmp"
	"errors"

	"gonum.org/v1/gonum/mat"
)

// A Problem is a sum of squares to minimise: ½‖r(x)‖².
type Problem struct {
	// Dim is the number of parameters n, Size the number of residuals m ≥ n.
	// A residual standard deviation and standard errors need m > n.
	Dim, Size int

	// PerGroup is the number of unknowns that each group of residuals has to itself, and Rows the
	// number of residuals of each group, at least PerGroup. The groups' own unknowns come first in
	// x, group by group, and their residuals first in r; the other residuals depend on the shared
	// unknowns only. A row of jac then has PerGroup columns for its group's unknowns and one for
	// each shared unknown, in all Dim − PerGroup·(len(Rows) − 1), and the work grows with the
	// number of groups. Without groups a row has Dim columns.
	PerGroup int
	Rows     []int

	// Eval sets the Size residuals r at x and, unless jac is nil, their derivatives jac[i,j] =
	// ∂r[i]/∂x[j], of Size rows. Both are zero on entry. Residuals should be in units of their
	// standard deviations if these differ. Eval answers an x outside the model's range with NaN;
	// the step is then shortened. Eval must not keep its arguments or change x.
	Eval func(r []float64, jac *mat.Dense, x []float64)
}

// Settings bound the work and say when to stop. A zero field means its default.
type Settings struct {
	// MaxIter bounds the steps tried, refused ones included; 0 means 1000.
	MaxIter int
	// CostTol bounds the fall of the cost that an undamped step promises, relative to the cost; 0
	// means 1e-14. The parameters are then still √(CostTol·DoF) standard errors from the minimum,
	// and that step is taken as the last one. Bounded steps also end a fit when three in a row
	// neither promise nor bring that much.
	CostTol float64
	// StepBound bounds the first step: ‖D·p‖ ≤ StepBound·‖D·x0‖, or near x0 = 0 ‖J·p‖ ≤
	// StepBound/100·‖r‖ for a step in any one parameter; 0 means 100 (Moré 1978). Where a long
	// first step may end on a plateau, 1 is safer.
	StepBound float64
	// PointOnly leaves Result.Cov nil.
	PointOnly bool
}

func (s *Settings) withDefaults() Settings {
	if s == nil {
		s = &Settings{}
	}
	return Settings{MaxIter: cmp.Or(s.MaxIter, 1000), CostTol: cmp.Or(s.CostTol, 1e-14), StepBound: cmp.Or(s.StepBound, 100), PointOnly: s.PointOnly}
}

// ErrStart reports residuals or derivatives that are not finite at x0.
var ErrStart = errors.New("lsq: residuals or derivatives not finite at the start")

func finite(v float64) bool { return v-v == 0 }

// allFinite has no branch per value because it reads every Jacobian.
func allFinite(values []float64) bool {
	sum := 0.0
	for _, v := range values {
		sum += v * 0
	}
	return sum == 0
}
