package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A Result is a logbook fitted: the calibration of the baseline dives and
// every dive against it.
type Result struct {
	Model    *predict.Model
	Base     predict.Params // the mean of the baseline dives
	Cov      *mat.SymDense  // of Base's shared parameters
	Usual    []float64      // of the shared parameters, what sound dives scatter about, less Base
	UsualCov *mat.SymDense  // of Base + Usual
	aside    []float64      // variance of Usual by drift, scatter as expected
	Shared   []int          // indices of predict.Params in Cov and Summary
	Drift    []int          // indices of predict.Params that a dive may change
	Baseline int            // how many of the first dives count as sound
	Dives    []DiveFit

	prec *mat.SymDense // inverse of Cov
}

// A DiveFit is one dive's own estimates, which rest on its lines and the
// calibration alone.
type DiveFit struct {
	Log     *session.Dive
	Summary *Summary
	Cells   []Cell
	// Drift is the posterior of each of Result.Drift (relative to Base; the
	// battery's own resistance absolute).
	Drift []Interval

	d   dive
	own own
	raw []raw
}

// An Interval is a value with its 95 % interval and standard deviation.
type Interval struct{ Value, Low, High, SD float64 }

// Fit calibrates on the baseline dives and fits each dive of a log; of one
// without dives it knows the vehicle's file and how far vehicles differ from
// theirs. progress, when not nil, is called after each dive.
func Fit(v *vehicle.Vehicle, log *session.Log, progress func(done, all int)) (*Result, error) {
	m := predict.NewModel(v)
	dives, err := match(m, log)
	if err != nil {
		return nil, err
	}
	l := newLayout(m)
	n := min(v.Baseline.Dives, len(dives))
	base := make([]*dive, n)
	asBuilt := m.NewParams()
	for i := range base {
		base[i] = &dives[i]
		base[i].markSlips(m, withBattery(asBuilt, base[i].rest), vague, vagueTrimG)
	}
	workers := newWorkers(m, l, dives)
	sc := workers[0].sc
	own, variance, err := calibrate(m, l, base, sc)
	if err != nil {
		return nil, orAbsurd(err, log, base[0])
	}
	r := &Result{Model: m, Shared: l.shared, Drift: l.drift, Baseline: n, Base: asBuilt, Dives: make([]DiveFit, len(dives))}
	if n > 0 {
		r.Base = mean(own)
	}
	for i := range base {
		sum := &Summary{Params: own[i], Within: base[i].within(m, own[i], sc)}
		base[i].summarise(m, l, r.Base, sum, sc)
		r.Dives[i].Summary = sum
	}
	expected := r.Scatter(0)
	r.baselinePosterior(l, variance)
	done := counter(progress, len(dives))
	if err := inParallel(workers, len(dives), func(i int, w worker) error {
		defer done()
		d := &r.Dives[i]
		if i >= n {
			sum, err := fitDive(w.m, l, &dives[i], r.Base, w.sc)
			if err != nil {
				return orAbsurd(err, log, &dives[i])
			}
			d.Summary = sum
			r.expandAgain(w.m, l, d, &dives[i], w.sc, expected)
		}
		d.own = r.ownInformation(l, d.Summary, w.sc)
		d.raw = rawDrifts(d.own, w.sc)
		d.Log, d.Cells, d.d = dives[i].log, dives[i].cells, dives[i]
		return nil
	}); err != nil {
		return nil, err
	}
	learnt := r.Scatter(len(dives))
	return r, inParallel(workers, len(dives), func(i int, w worker) error {
		d := &r.Dives[i]
		if i >= n {
			d.Drift = r.drifts(l, r.mixture(l, d.own, learnt, w.sc), true)
		}
		if !r.thinkable(d) {
			return absurd(log, &dives[i])
		}
		return nil
	})
}

// expandAgain expands a dive's likelihood about what is believed of it: where
// a dive alone cannot tell its drifts apart, its best fit lies far out.
func (r *Result) expandAgain(m *predict.Model, l layout, d *DiveFit, own *dive, sc *scratch, variance []float64) {
	sum := d.Summary
	believed := r.drifts(l, r.mixture(l, r.ownInformation(l, sum, sc), variance, sc), false)
	for k, p := range l.drift {
		x := believed[k].Value
		if p == predict.BatteryOhm {
			x -= r.Base[p] + r.Model.Vehicle.Battery.ResistanceOhm
		}
		sum.Params[p] = r.Base[p] + x
	}
	own.summarise(m, l, r.Base, sum, sc)
}

func mean(ps []predict.Params) predict.Params {
	out := make(predict.Params, len(ps[0]))
	for _, p := range ps {
		for k, x := range p {
			out[k] += x / float64(len(ps))
		}
	}
	return out
}

// baselinePosterior solves for the shared parameters g and every baseline
// dive's drift θ together, then moves to the baseline's own mean
// g* = g + M·mean(θ), which is what every estimate is relative to. Later sound
// dives scatter about g itself. variance is of each baseline dive's drifts.
func (r *Result) baselinePosterior(l layout, variance [][]float64) {
	ns, nd, nb := len(l.shared), len(l.drift), r.Baseline
	dim := ns + nd*nb
	sum := newInformation(dim)
	for i, k := range l.shared {
		sum.prior(i, -r.Base[k]/priorSD(k), priorSD(k))
	}
	at := r.positions()
	for b := range nb {
		s := r.Dives[b].Summary
		for i := range nd {
			o := ns + b*nd + i
			sum.info.SetSym(o, o, 1/variance[b][i])
		}
		addBlock(&sum, &s.Quadratic, at, ns+b*nd)
	}
	cov := Invert(sum.info)
	var x mat.VecDense
	x.MulVec(cov, mat.NewVecDense(dim, sum.lin))
	toMean := mat.NewDense(ns, dim, nil)
	for i := range ns {
		toMean.Set(i, i, 1)
	}
	for i, a := range at {
		for b := range nb {
			toMean.Set(a, ns+b*nd+i, 1/float64(nb))
		}
	}
	r.Cov = congruent(toMean, cov)
	r.prec = Invert(r.Cov)
	var shift mat.VecDense
	shift.MulVec(toMean, &x)
	r.Usual, r.UsualCov = make([]float64, ns), mat.NewSymDense(ns, nil)
	for i, k := range l.shared {
		r.Base[k] += shift.AtVec(i)
		r.Usual[i] = x.AtVec(i) - shift.AtVec(i)
		for j := i; j < ns; j++ {
			r.UsualCov.SetSym(i, j, cov.At(i, j))
		}
	}
	r.aside = make([]float64, nd)
	for i := range nd {
		for b := range nb {
			for e := range nb {
				r.aside[i] += cov.At(ns+b*nd+i, ns+e*nd+i) / sq(float64(nb))
			}
		}
	}
	for b := range nb {
		own := mat.NewDense(nd, dim, nil)
		for i := range nd {
			if l.drift[i] == predict.BatteryOhm {
				own.Set(i, at[i], 1)
				own.Set(i, ns+b*nd+i, 1)
				continue
			}
			for e := range nb {
				own.Set(i, ns+e*nd+i, -1/float64(nb))
			}
			own.Set(i, ns+b*nd+i, 1-1/float64(nb))
		}
		c := congruent(own, cov)
		var value mat.VecDense
		value.MulVec(own, &x)
		out := make([]Interval, nd)
		for i := range out {
			variance := max(c.At(i, i), 0)
			if l.drift[i] == predict.BatteryOhm {
				variance += sq(recoveryOhm)
			}
			out[i] = normal(value.AtVec(i), math.Sqrt(variance))
			if l.drift[i] == predict.BatteryOhm {
				// the mean was subtracted when Base moved: absolute again
				out[i] = out[i].plus(r.Base[predict.BatteryOhm] - shift.AtVec(at[i]) + r.Model.Vehicle.Battery.ResistanceOhm)
			}
		}
		r.Dives[b].Drift = out
	}
}

// positions maps each drift to its place among the shared parameters.
func (r *Result) positions() []int {
	at := make([]int, len(r.Drift))
	for i, d := range r.Drift {
		at[i] = slices.Index(r.Shared, d)
	}
	return at
}

// addBlock adds one dive's quadratic in (g, θ), p = g + M·θ, with θ at o.
func addBlock(sum *information, s *Quadratic, at []int, o int) {
	to, from, ns := sum.info.RawSymmetric(), s.Info.RawSymmetric(), len(s.Lin)
	out := sum.lin
	for a := range ns {
		out[a] += s.Lin[a]
		row := to.Data[a*to.Stride:]
		for b, x := range from.Data[a*from.Stride+a : a*from.Stride+ns] {
			row[a+b] += x
		}
		for i, p := range at {
			row[o+i] += s.Info.At(a, p)
		}
	}
	for i, p := range at {
		out[o+i] += s.Lin[p]
		row := to.Data[(o+i)*to.Stride+o:]
		for j := i; j < len(at); j++ {
			row[j] += s.Info.At(p, at[j])
		}
	}
}

// Invert inverts a positive definite matrix.
func Invert(s *mat.SymDense) *mat.SymDense {
	out := mat.NewSymDense(s.SymmetricDim(), nil)
	out.CopySym(s)
	u, ok := lapack64.Potrf(out.RawSymmetric())
	if !ok {
		panic("fit: information is not positive definite")
	}
	lapack64.Potri(u)
	return out
}

// congruent is A·C·Aᵀ.
func congruent(a *mat.Dense, c *mat.SymDense) *mat.SymDense {
	var ac mat.Dense
	ac.Mul(a, c)
	n, _ := a.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, mat.Dot(ac.RowView(i), a.RowView(j)))
		}
	}
	return out
}

const z95 = 1.959963984540054 // normal quantile at 0.975

func normal(x, sd float64) Interval { return Interval{x, x - z95*sd, x + z95*sd, sd} }

func (i Interval) plus(x float64) Interval { return Interval{i.Value + x, i.Low + x, i.High + x, i.SD} }
