package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A state is what is known of the static parameters and the amplitudes of some columns. While
// gathered it holds their information and its linear term; solved, their mean, the Cholesky factor
// U of the information Uᵀ·U, and the log evidence.
type state struct {
	n     int
	info  []float64 // n×n, of which the upper triangle counts; U when solved
	lin   []float64 // the mean when solved
	white []float64 // U⁻ᵀ times the linear term, when solved
	log   float64
}

// newState returns the information of a normal prior.
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

// grown returns a copy with room for more unknowns.
func (s *state) grown(more int) *state {
	n := s.n + more
	out := &state{n: n, info: make([]float64, n*n), lin: make([]float64, n), log: s.log}
	for i := range s.n {
		copy(out.info[i*n:], s.info[i*s.n:(i+1)*s.n])
	}
	copy(out.lin, s.lin)
	return out
}

// without returns a copy of a gathered state without the columns that drop accepts, and the columns
// kept. Columns follow the static unknowns.
func (s *state) without(static int, cols []column, drop func(*column) bool) (*state, []column) {
	var at []int
	var kept []column
	out := &state{log: s.log}
	for i := range s.n {
		if c := i - static; c >= 0 && drop(&cols[c]) {
			if cols[c].sd > 0 {
				out.log += math.Log(cols[c].sd)
			}
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

// addBlock adds sign times what a block says of the static parameters, which come first.
func (s *state) addBlock(static []int, b *block, sign float64) {
	places := len(b.lin[0])
	for i, pi := range static {
		s.lin[i] += sign * b.lin[0][pi]
		row, to := b.info[0][pi*places:(pi+1)*places], s.info[i*s.n:]
		for j := i; j < len(static); j++ {
			to[j] += sign * row[static[j]]
		}
	}
}

// addColumns adds sign times what a block says of columns, which follow the static parameters.
func (s *state) addColumns(static []int, cols []column, b *block, sign float64, work *product) {
	ns := len(static)
	work.profiles(b, cols)
	for c := range cols {
		by := work.profile[c]
		if by.level == 0 {
			continue
		}
		work.of(b, &cols[c])
		work.under(b, by.level, by.slope)
		for i, pi := range static {
			s.info[i*s.n+ns+c] += sign * work.still[pi]
		}
		s.lin[ns+c] += sign * b.linear(&cols[c], by.level, by.slope)
		for e := c; e < len(cols); e++ {
			s.info[(ns+c)*s.n+ns+e] += sign * work.with(b, cols, e)
		}
	}
}

// clone returns a copy of a gathered state.
func (s *state) clone() *state { return s.grown(0) }

// reset makes s a state of n unknowns without information.
func (s *state) reset(n int, log float64) {
	s.n, s.log = n, log
	s.info, s.lin = append(s.info[:0], make([]float64, n*n)...), append(s.lin[:0], make([]float64, n)...)
}

// addPrior adds the prior that unknown i is normal about 0 with standard deviation sd.
func (s *state) addPrior(i int, sd float64) {
	s.info[i*s.n+i] += 1 / sq(sd)
	s.log -= math.Log(sd)
}

// solve replaces information and linear term by U and the mean, and completes the log evidence. ok
// is false if rounding has left the information not positive definite, or it is too large for a float.
func (s *state) solve() (ok bool) {
	u, ok := lapack64.Potrf(blas64.Symmetric{N: s.n, Stride: s.n, Data: s.info, Uplo: blas.Upper})
	if !ok {
		return false
	}
	for i := range s.n {
		s.log -= math.Log(s.info[i*s.n+i])
	}
	s.whiten(row(s.lin))
	s.log += 0.5 * blas64.Dot(vector(s.lin), vector(s.lin))
	s.white = append(s.white[:0], s.lin...)
	blas64.Trsv(blas.NoTrans, u, vector(s.lin))
	return !math.IsInf(s.log, 0) && !math.IsNaN(s.log)
}

// triangle returns U of a solved state.
func (s *state) triangle() blas64.Triangular {
	return blas64.Triangular{N: s.n, Stride: s.n, Data: s.info, Uplo: blas.Upper, Diag: blas.NonUnit}
}

// whiten replaces each row x of a matrix by U⁻ᵀ·x of a solved state: the dot product of two such
// rows is their product by the covariance.
func (s *state) whiten(rows blas64.General) {
	blas64.Trsm(blas.Right, blas.NoTrans, 1, s.triangle(), rows)
}

// sd returns the standard deviation of unknown i of a solved state.
func (s *state) sd(i int) float64 {
	x := make([]float64, s.n-i) // entries before i stay 0
	x[0] = 1
	blas64.Trsv(blas.Trans, blas64.Triangular{N: s.n - i, Stride: s.n, Data: s.info[i*s.n+i:], Uplo: blas.Upper, Diag: blas.NonUnit}, vector(x))
	return blas64.Nrm2(vector(x))
}

// linear returns the mean and variance of w·x, where x are the unknowns.
func (s *state) linear(w []float64) (mean, variance float64) {
	by := slices.Clone(w)
	s.whiten(row(by))
	return blas64.Dot(vector(w), vector(s.lin)), blas64.Dot(vector(by), vector(by))
}

func row(x []float64) blas64.General { return general(x, len(x)) }

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }
