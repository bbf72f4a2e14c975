package lsq

import (
	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// maxCond is the condition number of the Jacobian, with columns scaled to norm 1, above which
// parameters count as dependent: half the digits.
const maxCond = 1e8

// covariance returns (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ at s.x, or nil if parameters are dependent.
func (s *Solver) covariance() *mat.SymDense {
	scaled := s.scaleColumns()
	if lapack64.Trcon(lapack.MaxColumnSum, scaled, make([]float64, 3*s.dim()), make([]int, s.dim())) < 1/maxCond {
		return nil
	}
	// R is the Cholesky factor of JᵀJ. The scaled R is inverted, so that very large or small
	// columns do not overflow.
	lapack64.Potri(scaled)
	cov := mat.NewSymDense(s.dim(), nil)
	for i := range s.dim() {
		for j := i; j < s.dim(); j++ {
			cov.SetSym(i, j, scaled.Data[i*s.dim()+j]/s.norms[i]/s.norms[j])
		}
	}
	return cov
}

// scaleColumns returns R as a dense matrix with columns of norm 1, or 0 where they are 0.
func (s *Solver) scaleColumns() blas64.Triangular {
	n := s.dim()
	out := make([]float64, n*n)
	put := func(i, j int, x float64) {
		if s.norms[j] > 0 {
			out[i*n+j] = x / s.norms[j]
		}
	}
	for i := range n {
		row, first := s.qr.row(i), s.first(i)
		if first < s.common() {
			for j := i; j < first+s.perGroup; j++ {
				put(i, j, row[j-first])
			}
			first = s.common()
		}
		for j := max(i, first); j < n; j++ {
			put(i, j, row[s.column(j)])
		}
	}
	return blas64.Triangular{N: n, Stride: n, Data: out, Uplo: blas.Upper, Diag: blas.NonUnit}
}
