package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// information gathers a log-likelihood −½·xᵀ·info·x + lin·x from residuals.
type information struct {
	info *mat.SymDense
	lin  []float64
}

// errNotDefinite reports information that rounding has left no inverse.
var errNotDefinite = errors.New("readings beyond all that can be computed with")

func newInformation(n int) information {
	return information{mat.NewSymDense(n, nil), make([]float64, n)}
}

// add takes in a residual r with derivatives row (of what is predicted).
func (s *information) add(row []float64, r float64) {
	blas64.Syr(1, vector(row), s.info.RawSymmetric())
	blas64.Axpy(r, vector(row), vector(s.lin))
}

// prior takes in what is known of unknown i alone: off by z standard
// deviations sd.
func (s *information) prior(i int, z, sd float64) {
	s.info.SetSym(i, i, s.info.At(i, i)+1/(sd*sd))
	s.lin[i] += z / sd
}

// marginal integrates out all but the first n unknowns, whose block is then
// what is left of them, and returns the log of the integral but for its powers
// of 2π: with C = UᵀU the block of the rest and B the one beside it,
// A − B·C⁻¹·Bᵀ = A − X·Xᵀ for X = B·U⁻¹.
func (s *information) marginal(n int) (log float64, err error) {
	raw, lin, rest := s.info.RawSymmetric(), s.lin, len(s.lin)-n
	if rest == 0 {
		return 0, nil
	}
	a, c := raw, raw
	a.N = n
	c.N, c.Data = rest, raw.Data[n*raw.Stride+n:]
	u, ok := lapack64.Potrf(c)
	if !ok {
		return 0, errNotDefinite
	}
	y := vector(lin[n:])
	blas64.Trsv(blas.Trans, u, y)
	for k := range rest {
		log -= math.Log(u.Data[k*u.Stride+k])
	}
	log += 0.5 * blas64.Dot(y, y)
	if n == 0 {
		return log, nil
	}
	x := blas64.General{Rows: n, Cols: rest, Stride: raw.Stride, Data: raw.Data[n:]}
	blas64.Trsm(blas.Right, blas.NoTrans, 1, u, x)
	blas64.Syrk(blas.NoTrans, -1, x, 1, a)
	blas64.Gemv(blas.NoTrans, -1, x, y, 1, vector(lin[:n]))
	return log, nil
}

// head copies the block of the first unknowns, both triangles.
func (s *information) head(info *mat.SymDense, lin []float64) {
	to, from := info.RawSymmetric(), s.info.RawSymmetric()
	for i := range copy(lin, s.lin) {
		copy(to.Data[i*to.Stride+i:i*to.Stride+to.N], from.Data[i*from.Stride+i:])
	}
}

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }

// Invert inverts a positive definite matrix; ok is false where rounding has
// left it none.
func Invert(s *mat.SymDense) (out *mat.SymDense, ok bool) {
	out = mat.NewSymDense(s.SymmetricDim(), nil)
	out.CopySym(s)
	u, ok := lapack64.Potrf(out.RawSymmetric())
	if !ok {
		return nil, false
	}
	lapack64.Potri(u)
	return out, true
}

// congruent is A·C·Aᵀ.
func congruent(a *mat.Dense, c *mat.SymDense) *mat.SymDense {
	var ac, full mat.Dense
	ac.Mul(a, c)
	full.Mul(&ac, a.T())
	n, _ := a.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return out
}

func rows(n, dim int) [][]float64 {
	out, data := make([][]float64, n), make([]float64, n*dim)
	for i := range out {
		out[i] = data[i*dim : (i+1)*dim : (i+1)*dim]
	}
	return out
}
