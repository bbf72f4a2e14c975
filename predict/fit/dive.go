package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
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

// WithinSizes are the standard deviations in Ω, from line to line, that are
// tried for an intermittent contact.
var WithinSizes = []float64{0.05, 0.1, 0.2, 0.4}

// fitDive finds the parameters of one dive, the calibration given: drifts
// with wide priors, robust weights, and a loop resistance that may scatter
// from line to line when the readings ask for it.
func fitDive(m *predict.Model, l layout, d *dive, base predict.Params) (*Summary, error) {
	sc := newScratch(l.dim, len(d.cells))
	d.markSlips(m, withBattery(base, d.rest), 0.3, 150)
	d.markTrimSlip(m, withBattery(base, d.rest))
	sum := &Summary{}
	x, none, err := d.solve(m, l, base, sc, 0)
	if err != nil {
		return nil, err
	}
	own := d.params(l, base, x)
	sum.Within = d.within(m, own, sc)
	sound := withBattery(base, own[predict.OpenCircuitV])
	sound[predict.SagVPerMinute] = own[predict.SagVPerMinute]
	if slices.Max(sum.Within) > 0 || slices.Max(d.within(m, sound, sc)) > 0 {
		if x, err = d.solveWithin(m, l, base, sc, sum, x, none); err != nil {
			return nil, err
		}
	}
	sum.Params = d.params(l, base, x)
	d.summarise(m, l, base, sum, sc)
	return sum, nil
}

// withinWorth is the log of the evidence above which a dive is fitted with a
// contact that comes and goes.
const withinWorth = 2

// solveWithin fits the dive with each size of contact scatter, notes its
// evidence against none, and keeps the best that is worth it.
func (d *dive) solveWithin(m *predict.Model, l layout, base predict.Params, sc *scratch, sum *Summary, x []float64, none float64) ([]float64, error) {
	kept := slices.Clone(d.cells)
	best := float64(withinWorth)
	sum.Within = make([]float64, len(WithinSizes))
	fresh := slices.Clone(d.cells)
	for k := range fresh {
		fresh[k].Aside, fresh[k].weight = fresh[k].slip, 1
	}
	for i, ohm := range WithinSizes {
		copy(d.cells, fresh)
		y, log, err := d.solve(m, l, base, sc, ohm)
		if err != nil {
			return nil, err
		}
		sum.Within[i] = log - none
		if sum.Within[i] > best {
			best, x, sum.WithinOhm = sum.Within[i], y, ohm
			copy(kept, d.cells)
		}
	}
	copy(d.cells, kept)
	return x, nil
}

// evidence is the log of the integral over a dive's unknowns about its fit,
// by Laplace's method, with Huber's loss and a bounded one for cells set
// aside. Constants that no choice of withinOhm changes are left out.
func (d *dive) evidence(res *lsq.Result, withinOhm float64, extra int) float64 {
	loss := res.Cost
	for k := range d.cells {
		c := &d.cells[k]
		switch {
		case c.slip:
		case c.Aside:
			loss += huber * (2*hopeless - huber)
		case c.weight < 1:
			z := huber / c.weight
			loss += huber*(2*z-huber) - c.weight*z*z
		}
	}
	var chol mat.Cholesky
	if res.Cov == nil || !chol.Factorize(res.Cov) {
		return math.Inf(-1)
	}
	out := -0.5*loss + 0.5*chol.LogDet()
	if extra > 0 {
		out -= float64(extra) * math.Log(withinOhm)
	}
	return out
}

func withBattery(base predict.Params, rest float64) predict.Params {
	p := append(predict.Params(nil), base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = rest, sagMean
	return p
}

// params adds a dive's own unknowns x (drifts, rest voltage, sag) to base.
func (d *dive) params(l layout, base predict.Params, x []float64) predict.Params {
	p := append(predict.Params(nil), base...)
	for i, k := range l.drift {
		p[k] += x[i]
	}
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = x[len(l.drift)], x[len(l.drift)+1]
	return p
}

// solve fits one dive's unknowns; with withinOhm > 0 each line has a loop
// resistance of its own besides. It returns the log evidence as well.
func (d *dive) solve(m *predict.Model, l layout, base predict.Params, sc *scratch, withinOhm float64) ([]float64, float64, error) {
	nd := len(l.drift) + 2
	extra := 0
	if withinOhm > 0 {
		extra = len(d.obs)
	}
	dim := nd + extra
	x := make([]float64, dim)
	x[nd-2], x[nd-1] = d.rest, sagMean
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		if jac != nil {
			jac.Zero()
		}
		d.residuals(m, d.params(l, base, x[:nd]), x[nd:], sc, jac != nil)
		for k := range d.cells {
			r[k] = -sc.r[k]
			if jac == nil {
				continue
			}
			for i, p := range l.drift {
				jac.Set(k, i, sc.jac[k][p])
			}
			jac.Set(k, nd-2, sc.jac[k][predict.OpenCircuitV])
			jac.Set(k, nd-1, sc.jac[k][predict.SagVPerMinute])
			if extra > 0 {
				jac.Set(k, nd+d.cells[k].obs, sc.jac[k][predict.LoopOhm])
			}
		}
		for i := range x {
			mean, sd := 0.0, withinOhm
			switch {
			case i == nd-2:
				mean, sd = d.rest, prior[predict.OpenCircuitV]
			case i == nd-1:
				mean, sd = sagMean, prior[predict.SagVPerMinute]
			case i < nd-2:
				sd = pick(wide, branchWide, i)
			}
			r[len(d.cells)+i] = (x[i] - mean) / sd
			if jac != nil {
				jac.Set(len(d.cells)+i, i, 1/sd)
			}
		}
	}
	log := 0.0
	for range robustPasses {
		res, err := lsq.Fit(lsq.Problem{Dim: dim, Size: len(d.cells) + dim, Eval: eval}, x, nil)
		if err != nil {
			return nil, 0, err
		}
		x, log = res.X, d.evidence(res, withinOhm, extra)
		if !d.reweigh(m, d.params(l, base, x[:nd]), x[nd:], sc) {
			break
		}
	}
	return x, log, nil
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

// within is the log likelihood ratio, for each of WithinSizes, of a loop
// resistance that scatters from line to line against one that does not.
// Residuals are taken at the dive's fit; the loss of freedom by fitting the
// dive's mean is allowed for by integrating a free common level out.
func (d *dive) within(m *predict.Model, p predict.Params, sc *scratch) []float64 {
	keep := append([]Cell(nil), d.cells...)
	for k := range d.cells {
		c := &d.cells[k]
		if c.weight < 1 || c.Aside {
			c.weight = 1
			c.Aside = c.slip
		}
	}
	d.residuals(m, p, nil, sc, true)
	copy(d.cells, keep)
	type point struct{ at, info float64 }
	var pts []point
	for start := 0; start < len(d.cells); {
		end := start
		var g, h float64
		for end < len(d.cells) && d.cells[end].obs == d.cells[start].obs {
			j := sc.jac[end][predict.LoopOhm]
			g, h = g+j*sc.r[end], h+j*j
			end++
		}
		if h > 0 {
			pts = append(pts, point{g / h, h})
		}
		start = end
	}
	like := func(ohm float64) float64 {
		var w, wx, ll float64
		for _, q := range pts {
			v := 1/q.info + ohm*ohm
			w, wx = w+1/v, wx+q.at/v
		}
		if w == 0 {
			return 0
		}
		mean := wx / w
		for _, q := range pts {
			v := 1/q.info + ohm*ohm
			ll -= 0.5 * (math.Log(v) + sq(q.at-mean)/v)
		}
		return ll - 0.5*math.Log(w)
	}
	out := make([]float64, len(WithinSizes))
	none := like(0)
	for i, s := range WithinSizes {
		out[i] = like(s) - none
	}
	return out
}
