package lsq

import "math"

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
