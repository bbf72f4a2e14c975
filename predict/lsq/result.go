package lsq

import (
	"math"

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

// ResidualSD returns √(Cost/DoF), +Inf without degrees of freedom.
func (r *Result) ResidualSD() float64 {
	if r.DoF == 0 {
		return math.Inf(1)
	}
	return math.Sqrt(r.Cost / float64(r.DoF))
}

// StdErr returns the standard errors of X, √(diag(Cov)·Cost/DoF): +Inf for
// parameters that the residuals do not determine, and for all without degrees
// of freedom. They hold as far as the model is linear across them.
func (r *Result) StdErr() []float64 {
	out := make([]float64, len(r.X))
	sd := r.ResidualSD()
	for j := range out {
		v := r.Cov.At(j, j)
		if math.IsInf(v, 1) {
			out[j] = v // also with residuals of zero
			continue
		}
		out[j] = math.Sqrt(v) * sd
	}
	return out
}
