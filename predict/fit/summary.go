package fit

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
)

// A Quadratic is the log-likelihood −½·δᵀ·Info·δ + Lin·δ of one dive in the
// departure δ of the shared parameters from the calibration, the dive's
// battery voltage and its sag integrated out.
type Quadratic struct {
	Info *mat.SymDense // len(shared)², per unit² of each parameter
	Lin  []float64
}

// A Summary is what one dive's readings say of the parameters it was made
// under.
type Summary struct {
	Params predict.Params // where the dive fits best
	Quadratic
	Loose Quadratic // the same were the loop's resistance to vary by line
	// Within says how much better the readings fit when the loop's resistance
	// scatters from line to line: the log likelihood ratio for each of
	// WithinOhm, and the size that the fit then used (0: none).
	Within    []float64
	WithinOhm float64
}

// looseOhm is how far a contact that comes and goes is taken to vary from
// line to line, one standard deviation.
const looseOhm = 0.2

// summarise expands the dive's log likelihood about its fit, in place of what
// sum held before.
func (d *dive) summarise(m *predict.Model, l layout, base predict.Params, sum *Summary, sc *scratch) {
	d.residuals(m, sum.Params, nil, sc, true)
	d.blunt(sc)
	d.expand(&sum.Quadratic, l, base, sum.Params, sum.WithinOhm, sc)
	if sum.WithinOhm > 0 {
		sum.Loose = sum.Quadratic
	} else {
		d.expand(&sum.Loose, l, base, sum.Params, looseOhm, sc)
	}
}

// sharpest is how many times better than was thought beforehand one reading may
// tell a parameter: an instrument's hundredths of a volt make some hundred.
const sharpest = 3e3

// blunt holds the slopes in sc to sharpest. Steeper ones come of readings at
// the edge of what the model can do, where no quadratic holds for long, and
// would leave the other parameters no digits.
func (d *dive) blunt(sc *scratch) {
	for k := range d.cells {
		steepest := 0.0
		for i, x := range sc.jac[k] {
			steepest = max(steepest, math.Abs(x)*priorSD(i))
		}
		if f := sharpest / steepest; f < 1 {
			blas64.Scal(f, vector(sc.jac[k]))
			sc.r[k] *= f
		}
	}
}

// expand sets out to the quadratic about at from the residuals and slopes in sc.
func (d *dive) expand(out *Quadratic, l layout, base, at predict.Params, withinOhm float64, sc *scratch) {
	ns := len(l.shared)
	sum, row, shared := &sc.dive, sc.slopes, sc.shared
	sum.clear()
	for start, end := 0, 0; start < len(d.cells); start = end {
		clear(shared)
		var total, residual float64 // of the line, in what its cells share
		for end = start; end < len(d.cells) && d.cells[end].obs == d.cells[start].obs; end++ {
			jac := sc.jac[end]
			for i, k := range l.shared {
				row[i] = jac[k]
			}
			row[ns], row[ns+1] = jac[predict.OpenCircuitV], jac[predict.SagVPerMinute]
			sum.add(1, row, sc.r[end])
			u := jac[predict.LoopOhm] * withinOhm
			total, residual = total+u*u, residual+u*sc.r[end]
			blas64.Axpy(u, vector(row), vector(shared))
		}
		if withinOhm > 0 { // the inverse of I + u·uᵀ is I − u·uᵀ/(1 + uᵀu)
			sum.add(-1/(1+total), shared, residual)
		}
	}
	for i, k := range []int{predict.OpenCircuitV, predict.SagVPerMinute} {
		mean := d.rest
		if k == predict.SagVPerMinute {
			mean = sagMean
		}
		sum.prior(ns+i, (mean-at[k])/prior[k], prior[k])
	}
	if out.Info == nil {
		*out = Quadratic{mat.NewSymDense(ns, nil), make([]float64, ns)}
	}
	sum.marginal(ns)
	sum.head(out.Info, out.Lin)
	// recentre from the dive's own optimum to the calibration
	for a := range ns {
		for b, k := range l.shared {
			out.Lin[a] += out.Info.At(a, b) * (at[k] - base[k])
		}
	}
}

// information gathers a log-likelihood −½·xᵀ·info·x + lin·x from residuals.
type information struct {
	info *mat.SymDense
	lin  []float64
}

func newInformation(n int) information {
	return information{mat.NewSymDense(n, nil), make([]float64, n)}
}

func (s *information) clear() {
	s.info.Zero()
	clear(s.lin)
}

// add takes in a residual r with derivatives row (of what is predicted), of
// the given weight.
func (s *information) add(weight float64, row []float64, r float64) {
	blas64.Syr(weight, vector(row), s.info.RawSymmetric())
	blas64.Axpy(weight*r, vector(row), vector(s.lin))
}

// prior takes in what is known of unknown i alone: off by z standard
// deviations sd.
func (s *information) prior(i int, z, sd float64) {
	s.info.SetSym(i, i, s.info.At(i, i)+1/(sd*sd))
	s.lin[i] += z / sd
}

func vector(x []float64) blas64.Vector { return blas64.Vector{N: len(x), Inc: 1, Data: x} }

func sq(x float64) float64 { return x * x }

// marginal integrates out all but the first n unknowns, whose block is then
// what is left of them: with C = UᵀU the block of the rest and B the one beside
// it, A − B·C⁻¹·Bᵀ = A − X·Xᵀ for X = B·U⁻¹.
func (s *information) marginal(n int) {
	raw, lin, rest := s.info.RawSymmetric(), s.lin, len(s.lin)-n
	a, c := raw, raw
	a.N = n
	c.N, c.Data = rest, raw.Data[n*raw.Stride+n:]
	u, ok := lapack64.Potrf(c)
	if !ok {
		panic("fit: nuisance information is not positive definite")
	}
	x := blas64.General{Rows: n, Cols: rest, Stride: raw.Stride, Data: raw.Data[n:]}
	blas64.Trsm(blas.Right, blas.NoTrans, 1, u, x)
	blas64.Syrk(blas.NoTrans, -1, x, 1, a)
	y := vector(lin[n:])
	blas64.Trsv(blas.Trans, u, y)
	blas64.Gemv(blas.NoTrans, -1, x, y, 1, vector(lin[:n]))
}

// head copies the block of the first unknowns.
func (s *information) head(info *mat.SymDense, lin []float64) {
	to, from := info.RawSymmetric(), s.info.RawSymmetric()
	for i := range copy(lin, s.lin) {
		copy(to.Data[i*to.Stride+i:i*to.Stride+to.N], from.Data[i*from.Stride+i:])
	}
}
