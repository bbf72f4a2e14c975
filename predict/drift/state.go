package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A state is what is known of the static parameters and the amplitudes of some
// columns: while it gathers, information and its linear term; solved, mean and
// covariance with the log of the evidence.
type state struct {
	n    int
	info []float64 // n×n, full; the covariance when solved
	lin  []float64 // the mean when solved
	log  float64
}

// newState is information about parameters that lie about mean.
func newState(precision *mat.SymDense, mean []float64) *state {
	n := len(mean)
	s := &state{n: n, info: make([]float64, n*n), lin: make([]float64, n)}
	for i := range n {
		for j := range n {
			s.info[i*n+j] = precision.At(i, j)
			s.lin[i] += precision.At(i, j) * mean[j]
		}
	}
	return s
}

// grown is a copy with room for more unknowns.
func (s *state) grown(more int) *state {
	n := s.n + more
	out := &state{n: n, info: make([]float64, n*n), lin: make([]float64, n), log: s.log}
	for i := range s.n {
		copy(out.info[i*n:], s.info[i*s.n:(i+1)*s.n])
	}
	copy(out.lin, s.lin)
	return out
}

// take adds what a block says of the static parameters, which stand first.
func (s *state) take(static []int, b *block, sign float64) {
	places := len(b.lin[0])
	for i, pi := range static {
		s.lin[i] += sign * b.lin[0][pi]
		row, to := b.info[0][pi*places:(pi+1)*places], s.info[i*s.n:]
		for j := i; j < len(static); j++ {
			to[j] += sign * row[static[j]]
		}
	}
}

// takeColumns adds what a block says of columns, which stand after the static
// parameters.
func (s *state) takeColumns(static []int, cols []column, b *block, sign float64, work *product) {
	ns := len(static)
	for c := range cols {
		level, slope := cols[c].over(b)
		if level == 0 {
			continue
		}
		work.of(b, &cols[c])
		work.under(b, level, slope)
		for i, pi := range static {
			s.info[i*s.n+ns+c] += sign * work.still[pi]
		}
		s.lin[ns+c] += sign * b.linear(&cols[c], level, slope)
		for e := c; e < len(cols); e++ {
			s.info[(ns+c)*s.n+ns+e] += sign * work.with(b, &cols[e])
		}
	}
}

// solve turns information into mean and covariance; ok is false where rounding
// has left it no inverse.
func (s *state) solve() (ok bool) {
	lin := slices.Clone(s.lin)
	u, ok := lapack64.Potrf(blas64.Symmetric{N: s.n, Stride: s.n, Data: s.info, Uplo: blas.Upper})
	if !ok {
		return false
	}
	for i := range s.n {
		s.log -= math.Log(s.info[i*s.n+i])
	}
	lapack64.Potrs(u, blas64.General{Rows: s.n, Cols: 1, Stride: 1, Data: s.lin})
	lapack64.Potri(u)
	for i, x := range lin {
		s.log += 0.5 * x * s.lin[i]
	}
	for i := range s.n {
		for j := range i {
			s.info[i*s.n+j] = s.info[j*s.n+i]
		}
	}
	return true
}

// times sets to to the solved state's covariance times v.
func (s *state) times(to, v []float64) {
	blas64.Gemv(blas.NoTrans, 1, blas64.General{Rows: s.n, Cols: s.n, Stride: s.n, Data: s.info}, vector(v), 0, vector(to))
}

// linear is the mean and variance of w·x.
func (s *state) linear(w []float64) (mean, variance float64) {
	by := make([]float64, s.n)
	s.times(by, w)
	return blas64.Dot(vector(w), vector(s.lin)), max(blas64.Dot(vector(w), vector(by)), 0)
}

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }
