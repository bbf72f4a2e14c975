package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/fit"
)

// A hypothesis is one fault that began at a dive in one pattern.
type hypothesis struct {
	fault   int
	pattern string
	onset   int
}

// posterior is the joint Gaussian of the shared parameters and the amplitudes
// of some hypotheses (then of the services' fresh levels) after dives up to n.
type posterior struct {
	mean []float64
	cov  *mat.SymDense
	log  float64 // evidence, up to a constant shared by all hypotheses
	ns   int
}

// A column is a profile whose amplitude is unknown: a hypothesis, or the level
// of a trend that a service started anew.
type column struct {
	place int
	sign  float64
	sd    float64
	from  int
	ramp  bool
}

// share is the profile over a run of dives that begin does not divide, as
// constant + slope·t.
func (c *column) share(begin int) (constant, slope float64) {
	switch {
	case begin < c.from:
		return 0, 0
	case c.ramp:
		return float64(begin - c.from + 1), 1
	}
	return 1, 0
}

// at is the profile at a dive per unit of its amplitude.
func (c *column) at(dive int) float64 {
	x, _ := c.share(dive)
	return x
}

func (a *analysis) columns(hs []hypothesis, n int) []column {
	var out []column
	for _, h := range hs {
		f := a.faults[h.fault]
		if f.param == within {
			continue
		}
		sd := f.step
		if h.pattern == Ramp {
			sd = f.ramp
		}
		out = append(out, column{a.place[h.fault], f.worse, sd, h.onset, h.pattern == Ramp})
	}
	for i, f := range a.faults {
		if e := a.epoch[i]; f.param != within && e > a.r.Baseline && e <= n {
			out = append(out, column{a.place[i], f.worse, 0.3 * f.step, e, false})
		}
	}
	return out
}

// solve is the posterior under hypotheses hs after dive n.
func (a *analysis) solve(hs []hypothesis, n int) *posterior {
	cols := a.columns(hs, n)
	ns := len(a.r.Shared)
	dim := ns + len(cols)
	info, lin := mat.NewSymDense(dim, nil), make([]float64, dim)
	info.SliceSym(0, ns).(*mat.SymDense).CopySym(a.prec)
	copy(lin, a.start)
	p := &posterior{ns: ns, mean: lin, cov: info}
	for c, col := range cols {
		info.SetSym(ns+c, ns+c, 1/(col.sd*col.sd))
		p.log -= math.Log(col.sd)
	}
	w := a.walk(hs, cols)
	for end := n + 1; end > a.r.Baseline; {
		run, begin := w.before(end, a.r.Baseline)
		gather(info.RawSymmetric(), lin, run, begin, cols)
		end = begin
	}
	p.factorize()
	for c := range a.levels(hs) {
		// a fault goes one way: the share of the amplitude that does, doubled
		p.log += math.Log(oneWay(p.mean[ns+c] / math.Sqrt(p.variance(ns+c))))
	}
	for _, h := range hs {
		if h.pattern == Intermittent {
			p.log += a.within(h.onset, n)
		}
	}
	return p
}

// gather adds what a run of dives says of the shared parameters and of the
// columns' amplitudes.
func gather(info blas64.Symmetric, lin []float64, run *sums, begin int, cols []column) {
	ns := len(run.lin[0])
	for i, x := range run.lin[0] {
		lin[i] += x
		to := info.Data[i*info.Stride:]
		for j, y := range run.row(0, i)[i:] {
			to[i+j] += y
		}
	}
	for c := range cols {
		col := &cols[c]
		x, slope := col.share(begin)
		if x == 0 {
			continue
		}
		o := ns + c
		lin[o] += col.sign * (x*run.linAt(0, col.place) + slope*run.linAt(1, col.place))
		for i := range ns {
			info.Data[i*info.Stride+o] += col.sign * (x*run.at(0, col.place, i) + slope*run.at(1, col.place, i))
		}
		for e := c; e < len(cols); e++ {
			other := &cols[e]
			y, rise := other.share(begin)
			both := func(moment int) float64 { return run.at(moment, col.place, other.place) }
			info.Data[o*info.Stride+ns+e] += col.sign * other.sign * (x*y*both(0) + (x*rise+slope*y)*both(1) + slope*rise*both(2))
		}
	}
}

// factorize turns information in cov and mean into covariance and mean.
func (p *posterior) factorize() {
	lin := slices.Clone(p.mean)
	n := len(lin)
	u, ok := lapack64.Potrf(p.cov.RawSymmetric())
	if !ok {
		panic("drift: information is not positive definite")
	}
	for i := range n {
		p.log -= math.Log(u.Data[i*u.Stride+i])
	}
	lapack64.Potrs(u, blas64.General{Rows: n, Cols: 1, Stride: 1, Data: p.mean})
	lapack64.Potri(u)
	for i, x := range lin {
		p.log += 0.5 * x * p.mean[i]
	}
}

// oneWay is twice the probability that a normal amplitude whose mean is z
// standard deviations above zero is above it.
func oneWay(z float64) float64 { return math.Erfc(-z/math.Sqrt2) + 1e-300 }

// walk goes back over the dives in runs that no onset and no contact come
// loose divides.
type walk struct {
	a      *analysis
	loose  int
	breaks []int
}

func (a *analysis) walk(hs []hypothesis, cols []column) walk {
	w := walk{a: a, loose: math.MaxInt}
	for _, h := range hs {
		if h.pattern == Intermittent {
			w.loose = min(w.loose, h.onset)
			w.breaks = append(w.breaks, h.onset)
		}
	}
	for _, c := range cols {
		w.breaks = append(w.breaks, c.from)
	}
	return w
}

// before is a run that ends before dive end and begins at first or later.
func (w *walk) before(end, first int) (*sums, int) {
	for _, b := range w.breaks {
		if b < end {
			first = max(first, b)
		}
	}
	if end > w.loose {
		return w.a.loose.before(end, first)
	}
	return w.a.firm.before(end, first)
}

// within is the log evidence for a contact that comes and goes since onset,
// averaged over the sizes tried.
func (a *analysis) within(onset, n int) float64 {
	var total [len(fit.WithinSizes)]float64
	for end := n + 1; end > onset; {
		run, begin := a.firm.before(end, onset)
		for i, x := range run.within {
			total[i] += x
		}
		end = begin
	}
	return slices.Max(total[:]) - math.Log(float64(len(total)))
}

// levels are the hypotheses that have an amplitude, in column order.
func (a *analysis) levels(hs []hypothesis) []hypothesis {
	var out []hypothesis
	for _, h := range hs {
		if a.faults[h.fault].param != within {
			out = append(out, h)
		}
	}
	return out
}

// variance of one unknown.
func (p *posterior) variance(i int) float64 { return p.cov.At(i, i) }
