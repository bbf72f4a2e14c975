package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

const (
	// maxCond is the condition number of the Jacobian, its columns scaled to
	// norm 1, from which parameters are called dependent: half the digits.
	maxCond = 1e8
	// nullTol is the relative singular value below which a direction is not
	// determined at all.
	nullTol = 1e-12
)

// covariance returns (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ at s.x and warnings of dependence.
func (s *Solver) covariance() (*mat.SymDense, []error) {
	scaled := s.scaleColumns()
	if lapack64.Trcon(lapack.MaxColumnSum, scaled, s.work, s.iwork) < 1/maxCond {
		return s.dependentCovariance(scaled)
	}
	// R is the Cholesky factor of JᵀJ; the scaled one is inverted to keep
	// powers of small and large columns out of overflow.
	lapack64.Potri(scaled)
	cov := mat.NewSymDense(s.dim, nil)
	for i := range s.dim {
		for j := i; j < s.dim; j++ {
			cov.SetSym(i, j, scaled.Data[i*s.dim+j]/s.norms[i]/s.norms[j])
		}
	}
	return cov, nil
}

// scaleColumns sets s.scaled to R with columns of norm 1, or 0.
func (s *Solver) scaleColumns() blas64.Triangular {
	n := s.dim
	clear(s.scaled.Data)
	for i := range n {
		row := s.qr.row(i)
		for j := i; j < n; j++ {
			if s.norms[j] > 0 {
				s.scaled.Data[i*n+j] = row[j] / s.norms[j]
			}
		}
	}
	return s.scaled
}

// dependentCovariance is covariance by singular values, for what of the
// parameters is determined.
func (s *Solver) dependentCovariance(scaled blas64.Triangular) (*mat.SymDense, []error) {
	n := s.dim
	var svd mat.SVD
	svd.Factorize(mat.NewDense(n, n, scaled.Data), mat.SVDFull)
	values := svd.Values(nil)
	var v mat.Dense
	svd.VTo(&v)
	cov := mat.NewSymDense(n, nil)
	null := mat.NewSymDense(n, nil)
	for k, value := range values {
		if direction := v.ColView(k); value > nullTol*values[0] {
			cov.SymRankOne(cov, 1/(value*value), direction)
		} else {
			null.SymRankOne(null, 1, direction)
		}
	}
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, s.unscaled(cov.At(i, j), null, i, j))
		}
	}
	return cov, dependences(values, &v)
}

// unscaled undoes the column scaling of an element of the covariance matrix
// unless one of its parameters takes part in a direction without a bound.
func (s *Solver) unscaled(value float64, null *mat.SymDense, i, j int) float64 {
	free := null.At(i, i) > nullTol || null.At(j, j) > nullTol
	switch {
	case free && i == j:
		return math.Inf(1)
	case free:
		return 0
	}
	return value / s.norms[i] / s.norms[j]
}
