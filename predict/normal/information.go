package normal

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// Information is a log-likelihood −½·xᵀ·Info·x + Lin·x gathered from residuals.
type Information struct {
	Info *mat.SymDense // its upper triangle
	Lin  []float64
}

// ErrNotDefinite reports information that rounding has left without an inverse.
var ErrNotDefinite = errors.New("readings beyond all that can be computed with")

// NewInformation returns zero information about n unknowns.
func NewInformation(n int) Information {
	return Information{mat.NewSymDense(n, nil), make([]float64, n)}
}

// Add adds a residual r with derivatives row of the prediction, both in standard deviations.
func (s *Information) Add(row []float64, r float64) {
	blas64.Syr(1, Vector(row), s.Info.RawSymmetric())
	blas64.Axpy(r, Vector(row), Vector(s.Lin))
}

// Prior adds what is known of unknown i alone: z standard deviations sd from zero.
func (s *Information) Prior(i int, z, sd float64) {
	s.Info.SetSym(i, i, s.Info.At(i, i)+1/(sd*sd))
	s.Lin[i] += z / sd
}

// Marginal integrates out all but the first n unknowns, whose block then holds what remains, and
// returns the log of the integral without its powers of 2π. With C = UᵀU the block of the rest, A
// that of the first n and B the one beside it, A − B·C⁻¹·Bᵀ = A − X·Xᵀ for X = B·U⁻¹.
func (s *Information) Marginal(n int) (log float64, err error) {
	raw, lin, rest := s.Info.RawSymmetric(), s.Lin, len(s.Lin)-n
	if rest == 0 {
		return 0, nil
	}
	c := raw
	c.N, c.Data = rest, raw.Data[n*raw.Stride+n:]
	u, ok := lapack64.Potrf(c)
	if !ok {
		return 0, ErrNotDefinite
	}
	y := Vector(lin[n:])
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
	blas64.Syrk(blas.NoTrans, -1, x, 1, raw) // of its first n rows
	blas64.Gemv(blas.NoTrans, -1, x, y, 1, Vector(lin[:n]))
	return log, nil
}

// Head copies the upper triangle of the block of the first len(lin) unknowns to info, and their Lin
// to lin.
func (s *Information) Head(info *mat.SymDense, lin []float64) {
	to, from := info.RawSymmetric(), s.Info.RawSymmetric()
	for i := range copy(lin, s.Lin) {
		copy(to.Data[i*to.Stride+i:i*to.Stride+to.N], from.Data[i*from.Stride+i:])
	}
}

// Vector wraps a slice for blas64.
func Vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }

// Invert inverts a positive definite matrix; ok is false if rounding has left it none.
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

// Congruent returns A·C·Aᵀ.
func Congruent(a *mat.Dense, c *mat.SymDense) *mat.SymDense {
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

// Rows returns n contiguous slices of dim numbers.
func Rows(n, dim int) [][]float64 {
	out, data := make([][]float64, n), make([]float64, n*dim)
	for i := range out {
		out[i] = data[i*dim : (i+1)*dim : (i+1)*dim]
	}
	return out
}
