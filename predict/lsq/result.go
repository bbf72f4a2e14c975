package lsq

import (
	"gonum.org/v1/gonum/mat"
)

// Result is the end of a fit.
type Result struct {
	X    []float64 // parameters, in their units
	Cost float64   // rᵀr at X, never more than at the start

	// Cov is (JᵀJ)⁻¹ at X, Dim×Dim, the covariance matrix of X if residuals
	// are in units of their standard deviations, else to be multiplied by
	// Cost/DoF. A parameter that the residuals do not determine has +Inf on
	// the diagonal and zeros beside it.
	Cov *mat.SymDense
	// LogDet is the logarithm of det JᵀJ at X, −Inf where J lacks rank.
	LogDet float64

	DoF        int // Size − Dim
	Iterations int // steps tried
	Evals      int // calls of Eval
	Status     Status
	Warnings   []error // of type *Dependence
}
