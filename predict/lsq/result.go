package lsq

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// A Result is the outcome of a fit.
type Result struct {
	X    []float64 // parameters, in their units
	Cost float64   // rᵀr at X, never more than at the start

	// Cov is (JᵀJ)⁻¹ at X, Dim×Dim: the covariance matrix of X if residuals are in units of their
	// standard deviations; otherwise multiply it by Cost/DoF. It is nil if the residuals hardly
	// tell parameters apart.
	Cov *mat.SymDense
	// LogDet is ln det JᵀJ at X, −Inf where J lacks rank.
	LogDet float64

	DoF        int // Size − Dim
	Iterations int // steps tried
	Evals      int // calls of Eval
	Status     Status
}

// Status says why a fit ended, and so whether its answer may be believed.
type Status int

const (
	// Converged: a minimum, within Settings or within rounding.
	Converged Status = iota + 1
	// Stalled: no step lowers the cost although the derivatives promise a fall. The derivatives are
	// wrong, or the residuals jump or are not finite next to the answer.
	Stalled
	// IterationLimit: Settings.MaxIter steps were tried.
	IterationLimit
)

// Early reports whether the fit ended before a minimum was found.
func (s Status) Early() bool { return s != Converged }

func (s Status) String() string {
	switch s {
	case Converged:
		return "converged"
	case Stalled:
		return "stalled"
	case IterationLimit:
		return "iteration limit"
	}
	return fmt.Sprintf("status %d", int(s))
}
