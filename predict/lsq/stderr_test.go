package lsq

import "math"

// ResidualSD returns √(Cost/DoF), +Inf without degrees of freedom.
func (r *Result) ResidualSD() float64 {
	if r.DoF == 0 {
		return math.Inf(1)
	}
	return math.Sqrt(r.Cost / float64(r.DoF))
}

// StdErr returns the standard errors of X, √(diag(Cov)·Cost/DoF): +Inf without
// degrees of freedom. They hold as far as the model is linear across them.
func (r *Result) StdErr() []float64 {
	out := make([]float64, len(r.X))
	for j := range out {
		out[j] = math.Sqrt(r.Cov.At(j, j)) * r.ResidualSD()
	}
	return out
}
