package drift

import (
	"math"

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

// without is a gathered state but for some of its columns, which stand after its
// first static unknowns, and those that it keeps.
func (s *state) without(static int, cols []column, drop func(*column) bool) (*state, []column) {
	var at []int
	var kept []column
	out := &state{log: s.log}
	for i := range s.n {
		if c := i - static; c >= 0 && drop(&cols[c]) {
			out.log += math.Log(cols[c].sd)
			continue
		} else if c >= 0 {
			kept = append(kept, cols[c])
		}
		at = append(at, i)
	}
	out.n = len(at)
	out.info, out.lin = make([]float64, out.n*out.n), make([]float64, out.n)
	for i, from := range at {
		out.lin[i] = s.lin[from]
		for j, k := range at[i:] {
			out.info[i*out.n+i+j] = s.info[from*s.n+k]
		}
	}
	return out, kept
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

// reset makes it a state of n unknowns of which nothing is known.
func (s *state) reset(n int, log float64) {
	s.n, s.log = n, log
	s.info, s.lin = append(s.info[:0], make([]float64, n*n)...), append(s.lin[:0], make([]float64, n)...)
}

// solve turns information into mean and covariance; ok is false where rounding
// has left it no inverse.
func (s *state) solve() (ok bool) {
	u, ok := s.evidence()
	if !ok {
		return false
	}
	lapack64.Potri(u)
	for i := range s.n {
		for j := range i {
			s.info[i*s.n+j] = s.info[j*s.n+i]
		}
	}
	return true
}

// evidence solves the mean and the log of the evidence alone, and leaves the
// triangle U of the information, which is Uᵀ·U, in its place.
func (s *state) evidence() (u blas64.Triangular, ok bool) {
	if u, ok = lapack64.Potrf(blas64.Symmetric{N: s.n, Stride: s.n, Data: s.info, Uplo: blas.Upper}); !ok {
		return u, false
	}
	for i := range s.n {
		s.log -= math.Log(s.info[i*s.n+i])
	}
	blas64.Trsv(blas.Trans, u, vector(s.lin))
	s.log += 0.5 * blas64.Dot(vector(s.lin), vector(s.lin))
	blas64.Trsv(blas.NoTrans, u, vector(s.lin))
	return u, true
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
