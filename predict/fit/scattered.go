package fit

import (
	"gonum.org/v1/gonum/mat"
)

// Scattered integrates a drift with the given variances out of a dive's
// likelihood: what is left speaks of the shared parameters, departures from Base,
// and of any level added to them.
func (r *Result) Scattered(s *Quadratic, variance []float64) (*mat.SymDense, []float64) {
	ns, nd := len(r.Shared), len(r.Drift)
	at := make([]int, nd)
	for i, d := range r.Drift {
		for j, k := range r.Shared {
			if k == d {
				at[i] = j
			}
		}
	}
	info, lin := mat.NewSymDense(ns+nd, nil), mat.NewVecDense(ns+nd, nil)
	for i, v := range variance {
		info.SetSym(ns+i, ns+i, 1/v)
	}
	addBlock(info, lin, s, at, ns)
	return marginal(info, lin.RawVector().Data, ns)
}

// Invert inverts a positive definite matrix.
func Invert(s *mat.SymDense) *mat.SymDense { return invert(s) }
