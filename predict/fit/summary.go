package fit

import (
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

// summarise expands the dive's log likelihood about its fit.
func (d *dive) summarise(m *predict.Model, l layout, base predict.Params, sum *Summary, sc *scratch) {
	d.residuals(m, sum.Params, nil, sc, true)
	sum.Quadratic = d.expand(l, base, sum.Params, sum.WithinOhm, sc)
	sum.Loose = sum.Quadratic
	if sum.WithinOhm == 0 {
		sum.Loose = d.expand(l, base, sum.Params, looseOhm, sc)
	}
}

// expand is the quadratic about at from the residuals and slopes in sc.
func (d *dive) expand(l layout, base, at predict.Params, withinOhm float64, sc *scratch) (out Quadratic) {
	ns := len(l.shared)
	full := ns + 2
	index := append(append([]int(nil), l.shared...), predict.OpenCircuitV, predict.SagVPerMinute)
	info := mat.NewSymDense(full, nil)
	lin := make([]float64, full)
	add := func(rows [][]float64, res []float64, cov *mat.SymDense) {
		for a := range full {
			for i := range rows {
				for j := range rows {
					lin[a] += rows[i][index[a]] * cov.At(i, j) * res[j]
				}
			}
			for b := a; b < full; b++ {
				s := info.At(a, b)
				for i := range rows {
					for j := range rows {
						s += rows[i][index[a]] * cov.At(i, j) * rows[j][index[b]]
					}
				}
				info.SetSym(a, b, s)
			}
		}
	}
	for start := 0; start < len(d.cells); {
		end := start
		for end < len(d.cells) && d.cells[end].obs == d.cells[start].obs {
			end++
		}
		add(sc.jac[start:end], sc.r[start:end], lineWeight(sc.jac[start:end], withinOhm))
		start = end
	}
	lin[ns] += (d.rest - at[predict.OpenCircuitV]) / sq(prior[predict.OpenCircuitV])
	lin[ns+1] += (sagMean - at[predict.SagVPerMinute]) / sq(prior[predict.SagVPerMinute])
	info.SetSym(ns, ns, info.At(ns, ns)+1/sq(prior[predict.OpenCircuitV]))
	info.SetSym(ns+1, ns+1, info.At(ns+1, ns+1)+1/sq(prior[predict.SagVPerMinute]))
	out.Info, out.Lin = marginal(info, lin, ns)
	// recentre from the dive's own optimum to the calibration
	for a := range ns {
		for b := range ns {
			k := l.shared[b]
			out.Lin[a] += out.Info.At(a, b) * (at[k] - base[k])
		}
	}
	return out
}

func sq(x float64) float64 { return x * x }

// lineWeight is the inverse covariance of one line's residuals (in standard
// deviations) when its loop resistance scatters by ohm.
func lineWeight(jac [][]float64, ohm float64) *mat.SymDense {
	n := len(jac)
	w := mat.NewSymDense(n, nil)
	total := 0.0
	for i := range n {
		total += sq(jac[i][predict.LoopOhm] * ohm)
	}
	for i := range n {
		for j := i; j < n; j++ {
			x := -jac[i][predict.LoopOhm] * jac[j][predict.LoopOhm] * sq(ohm) / (1 + total)
			if i == j {
				x++
			}
			w.SetSym(i, j, x)
		}
	}
	return w
}

// marginal integrates out all but the first n unknowns of a quadratic form.
func marginal(info *mat.SymDense, lin []float64, n int) (*mat.SymDense, []float64) {
	rest := len(lin) - n
	c := mat.NewSymDense(rest, nil)
	b := mat.NewDense(n, rest, nil)
	for i := range rest {
		for j := i; j < rest; j++ {
			c.SetSym(i, j, info.At(n+i, n+j))
		}
		for a := range n {
			b.Set(a, i, info.At(a, n+i))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		panic("fit: nuisance information is not positive definite")
	}
	var cb mat.Dense // C⁻¹·Bᵀ
	_ = chol.SolveTo(&cb, b.T())
	out := mat.NewSymDense(n, nil)
	ln := make([]float64, n)
	for a := range n {
		ln[a] = lin[a]
		for i := range rest {
			ln[a] -= cb.At(i, a) * lin[n+i]
		}
		for e := a; e < n; e++ {
			s := info.At(a, e)
			for i := range rest {
				s -= b.At(a, i) * cb.At(i, e)
			}
			out.SetSym(a, e, s)
		}
	}
	return out, ln
}
