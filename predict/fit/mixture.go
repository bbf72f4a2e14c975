package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"sagline/predict"
)

// faulty is the prior probability that a given drift of a given dive is a
// fault and not scatter.
const faulty = 0.1

// drifts is the posterior of one later dive's drifts: a mixture over which
// (at most two) of them are faults, so that a sound dive is not blurred by
// what it cannot tell and a faulty one is not pulled back to soundness. Sound
// is what the baseline's dives scatter about: their mean, but for a bad one.
func (r *Result) drifts(l layout, d *DiveFit, variance []float64) {
	info, lin := r.ownInformation(l, d.Summary)
	nd := len(l.drift)
	at := r.positions(l)
	shifted := mat.NewVecDense(nd+1, nil)
	parts := make([]part, 0, 1+nd*(nd+1)/2)
	work := mat.NewSymDense(nd+1, nil)
	for i := -1; i < nd; i++ {
		for j := i; j < nd; j++ {
			if i < 0 && j >= 0 {
				break
			}
			work.CopySym(info)
			shifted.CopyVec(lin)
			logPrior := 0.0
			for k := range nd {
				s := variance[k] * (1 + r.aside[k]/sq(pick(scatter, branchScatter, k)))
				p := 1 - faulty
				if k == i || k == j {
					s, p = s+sq(pick(wide, branchWide, k)), faulty
				}
				usual := r.Usual[at[k]]
				work.SetSym(k, k, work.At(k, k)+1/s)
				shifted.SetVec(k, shifted.AtVec(k)+usual/s)
				logPrior += math.Log(p) - 0.5*math.Log(s) - 0.5*sq(usual)/s
			}
			parts = append(parts, solvePart(work, shifted, logPrior, l))
		}
	}
	parts = weigh(parts)
	d.Drift = make([]Interval, nd)
	for k := range nd {
		d.Drift[k] = mix(parts, k)
		if l.drift[k] == predict.BatteryOhm {
			d.Drift[k] = d.Drift[k].plus(r.Base[predict.BatteryOhm] + r.Model.Vehicle.Battery.ResistanceOhm)
		}
	}
}

// ownInformation is what a dive and the calibration say of the dive's drifts
// and, last, of the baseline's battery resistance, all else integrated out:
// the drifts' own priors are left to be added.
func (r *Result) ownInformation(l layout, s *Summary) (*mat.SymDense, *mat.VecDense) {
	ns, nd := len(l.shared), len(l.drift)
	at := r.positions(l)
	all, lin := mat.NewSymDense(ns+nd, nil), mat.NewVecDense(ns+nd, nil)
	calibrated := r.precision()
	for a := range ns {
		for b := a; b < ns; b++ {
			all.SetSym(a, b, calibrated.At(a, b))
		}
	}
	addBlock(all, lin, &s.Quadratic, at, ns)
	order := make([]int, 0, ns+nd)
	for k := range nd {
		order = append(order, ns+k)
	}
	battery := 0
	for k, p := range l.shared {
		if p == predict.BatteryOhm {
			battery = k
		}
	}
	order = append(order, battery)
	for k := range ns {
		if k != battery {
			order = append(order, k)
		}
	}
	sorted, sortedLin := mat.NewSymDense(ns+nd, nil), make([]float64, ns+nd)
	for i, a := range order {
		sortedLin[i] = lin.AtVec(a)
		for j := i; j < len(order); j++ {
			sorted.SetSym(i, j, all.At(a, order[j]))
		}
	}
	info, left := marginal(sorted, sortedLin, nd+1)
	return info, mat.NewVecDense(nd+1, left)
}

// precision is the inverse of Cov, made once.
func (r *Result) precision() *mat.SymDense {
	if r.prec == nil {
		r.prec = invert(r.Cov)
	}
	return r.prec
}

// part is one component of the mixture.
type part struct {
	log, weight float64
	mean, sd    []float64
}

func solvePart(info *mat.SymDense, lin *mat.VecDense, logPrior float64, l layout) part {
	var chol mat.Cholesky
	if !chol.Factorize(info) {
		panic("fit: dive information is not positive definite")
	}
	var cov mat.SymDense
	_ = chol.InverseTo(&cov)
	var x mat.VecDense
	x.MulVec(&cov, lin)
	nd := len(l.drift)
	p := part{log: logPrior + 0.5*mat.Dot(lin, &x) - 0.5*chol.LogDet(), mean: make([]float64, nd), sd: make([]float64, nd)}
	for k := range nd {
		m, v := x.AtVec(k), cov.At(k, k)
		if l.drift[k] == predict.BatteryOhm {
			m += x.AtVec(nd)
			v += cov.At(nd, nd) + 2*cov.At(k, nd)
		}
		p.mean[k], p.sd[k] = m, math.Sqrt(v)
	}
	return p
}

// negligible is the weight below which a part of the mixture is dropped.
const negligible = 1e-6

// weigh turns log evidence into weights and drops what does not matter.
func weigh(parts []part) []part {
	top, total := math.Inf(-1), 0.0
	for _, p := range parts {
		top = max(top, p.log)
	}
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].log - top)
		total += parts[i].weight
	}
	kept := parts[:0]
	for _, p := range parts {
		if p.weight /= total; p.weight > negligible {
			kept = append(kept, p)
		}
	}
	return kept
}

// mix is the mean and the 2.5 and 97.5 % points of drift k.
func mix(parts []part, k int) Interval {
	var out Interval
	var total float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		total += p.weight
		out.Value += p.weight * p.mean[k]
		lo, hi = min(lo, p.mean[k]-8*p.sd[k]), max(hi, p.mean[k]+8*p.sd[k])
	}
	out.Value /= total
	for _, p := range parts {
		out.SD += p.weight / total * (sq(p.sd[k]) + sq(p.mean[k]-out.Value))
	}
	out.SD = math.Sqrt(out.SD)
	point := func(q float64) float64 {
		return quantile(lo, hi, out.Value+distuv.UnitNormal.Quantile(q)*out.SD, func(x float64) (float64, float64) {
			c, slope := -q*total, 0.0
			for _, p := range parts {
				n := distuv.Normal{Mu: p.mean[k], Sigma: p.sd[k]}
				c, slope = c+p.weight*n.CDF(x), slope+p.weight*n.Prob(x)
			}
			return c, slope
		})
	}
	out.Low, out.High = point(0.025), point(0.975)
	return out
}

// quantile finds where an increasing f crosses zero in [lo, hi], from x, by
// Newton's steps kept in the bracket, to a thousandth of a per cent of it.
func quantile(lo, hi, x float64, f func(float64) (value, slope float64)) float64 {
	close := 1e-7 * (hi - lo)
	for range 60 {
		y, slope := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - y/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < close {
			return next
		}
		x = next
	}
	return x
}
