package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict/fit"
)

// A hypothesis is one fault that began at a dive in one pattern.
type hypothesis struct {
	fault   int
	pattern string
	onset   int
}

// at is the hypothesis's profile at a dive per unit of its size.
func (h hypothesis) at(dive int) float64 {
	switch {
	case dive < h.onset || h.pattern == Intermittent:
		return 0
	case h.pattern == Ramp:
		return float64(dive - h.onset + 1)
	}
	return 1
}

// posterior is the joint Gaussian of the shared parameters and the amplitudes
// of some hypotheses (then of the services' fresh levels) after dives up to n.
type posterior struct {
	chol mat.Cholesky
	mean mat.VecDense
	log  float64 // evidence, up to a constant shared by all hypotheses
	ns   int
}

// columns are the profiles whose amplitudes are unknown: hypotheses, then a
// level for each trend that a service started anew.
type column struct {
	place int
	sign  float64
	sd    float64
	at    func(dive int) float64
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
		out = append(out, column{a.place[h.fault], f.worse, sd, h.at})
	}
	for i, f := range a.faults {
		if e := a.epoch[i]; f.param != within && e > a.r.Baseline && e <= n {
			out = append(out, column{a.place[i], f.worse, 0.3 * f.step, func(d int) float64 {
				if d >= e {
					return 1
				}
				return 0
			}})
		}
	}
	return out
}

// solve is the posterior under hypotheses hs after dive n.
func (a *analysis) solve(hs []hypothesis, n int) *posterior {
	loose := settled(hs, n)
	cols := a.columns(hs, n)
	ns := len(a.r.Shared)
	dim := ns + len(cols)
	info, lin := mat.NewSymDense(dim, nil), mat.NewVecDense(dim, nil)
	for i := range ns {
		lin.SetVec(i, a.start[i])
		for j := i; j < ns; j++ {
			info.SetSym(i, j, a.prec.At(i, j))
		}
	}
	p := &posterior{ns: ns}
	for c, col := range cols {
		info.SetSym(ns+c, ns+c, 1/(col.sd*col.sd))
		p.log -= math.Log(col.sd)
	}
	for d := a.r.Baseline; d <= n; d++ {
		s, l := a.at(d, loose)
		for i := range ns {
			lin.SetVec(i, lin.AtVec(i)+l[i])
			for j := i; j < ns; j++ {
				info.SetSym(i, j, info.At(i, j)+s.At(i, j))
			}
		}
		for c, col := range cols {
			x := col.sign * col.at(d)
			if x == 0 {
				continue
			}
			o := ns + c
			lin.SetVec(o, lin.AtVec(o)+x*l[col.place])
			for i := range ns {
				info.SetSym(i, o, info.At(i, o)+x*s.At(i, col.place))
			}
			for e := c; e < len(cols); e++ {
				if y := cols[e].sign * cols[e].at(d); y != 0 {
					info.SetSym(o, ns+e, info.At(o, ns+e)+x*y*s.At(col.place, cols[e].place))
				}
			}
		}
	}
	if !p.chol.Factorize(info) {
		panic("drift: information is not positive definite")
	}
	_ = p.chol.SolveVecTo(&p.mean, lin)
	p.log += 0.5*mat.Dot(lin, &p.mean) - 0.5*p.chol.LogDet()
	for c := range a.levels(hs) {
		// a fault goes one way: the share of the amplitude that does, doubled
		m, v := p.mean.AtVec(ns+c), p.variance(ns+c)
		p.log += math.Log(2*distuv.UnitNormal.CDF(m/math.Sqrt(v)) + 1e-300)
	}
	for _, h := range hs {
		if h.pattern == Intermittent {
			p.log += a.within(h.onset, n)
		}
	}
	return p
}

// settled is the first dive since which hs believe in a contact that comes
// and goes, past n without.
func settled(hs []hypothesis, n int) int {
	for _, h := range hs {
		if h.pattern == Intermittent {
			return h.onset
		}
	}
	return n + 1
}

// within is the log evidence for a contact that comes and goes since onset,
// averaged over the sizes tried.
func (a *analysis) within(onset, n int) float64 {
	best := math.Inf(-1)
	for i := range fit.WithinSizes {
		ll := 0.0
		for d := onset; d <= n; d++ {
			ll += max(a.r.Dives[d].Summary.Within[i], withinFloor)
		}
		best = max(best, ll)
	}
	return best - math.Log(float64(len(fit.WithinSizes)))
}

// at is what dive d says of the shared parameters, sound scatter integrated
// out, the contact loose from a dive on.
func (a *analysis) at(d, loose int) (*mat.SymDense, []float64) {
	if d >= loose {
		return a.looseInfo[d], a.looseLin[d]
	}
	return a.info[d], a.lin[d]
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
func (p *posterior) variance(i int) float64 { return p.covariance(i, i) }

func (p *posterior) covariance(i, j int) float64 {
	unit := mat.NewVecDense(p.mean.Len(), nil)
	unit.SetVec(i, 1)
	var x mat.VecDense
	_ = p.chol.SolveVecTo(&x, unit)
	return x.AtVec(j)
}
