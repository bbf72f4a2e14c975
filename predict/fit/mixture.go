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
// what it cannot tell and a faulty one is not pulled back to soundness.
func (r *Result) drifts(l layout, d *DiveFit) {
	ns, nd := len(l.shared), len(l.drift)
	at := r.positions(l)
	info, lin := mat.NewSymDense(ns+nd, nil), mat.NewVecDense(ns+nd, nil)
	calibrated := invert(r.Cov)
	for a := range ns {
		for b := a; b < ns; b++ {
			info.SetSym(a, b, calibrated.At(a, b))
		}
	}
	addBlock(info, lin, &d.Summary.Quadratic, at, ns)
	parts := make([]part, 0, 1+nd*(nd+1)/2)
	work := mat.NewSymDense(ns+nd, nil)
	for i := -1; i < nd; i++ {
		for j := i; j < nd; j++ {
			if i < 0 && j >= 0 {
				break
			}
			work.CopySym(info)
			logPrior := 0.0
			for k := range nd {
				s := sq(pick(scatter, branchScatter, k)) * (1 + 1/float64(r.Baseline))
				p := 1 - faulty
				if k == i || k == j {
					s, p = s+sq(pick(wide, branchWide, k)), faulty
				}
				work.SetSym(ns+k, ns+k, work.At(ns+k, ns+k)+1/s)
				logPrior += math.Log(p) - 0.5*math.Log(s)
			}
			parts = append(parts, solvePart(work, lin, logPrior, ns, at, l))
		}
	}
	weigh(parts)
	d.Drift = make([]Interval, nd)
	for k := range nd {
		d.Drift[k] = mix(parts, k)
		if l.drift[k] == predict.BatteryOhm {
			d.Drift[k] = d.Drift[k].plus(r.Base[predict.BatteryOhm] + r.Model.Vehicle.Battery.ResistanceOhm)
		}
	}
}

// part is one component of the mixture.
type part struct {
	log, weight float64
	mean, sd    []float64
}

func solvePart(info *mat.SymDense, lin *mat.VecDense, logPrior float64, ns int, at []int, l layout) part {
	var chol mat.Cholesky
	if !chol.Factorize(info) {
		panic("fit: dive information is not positive definite")
	}
	var cov mat.SymDense
	_ = chol.InverseTo(&cov)
	var x mat.VecDense
	x.MulVec(&cov, lin)
	p := part{log: logPrior + 0.5*mat.Dot(lin, &x) - 0.5*chol.LogDet()}
	for k := range at {
		m, v := x.AtVec(ns+k), cov.At(ns+k, ns+k)
		if l.drift[k] == predict.BatteryOhm {
			m += x.AtVec(at[k])
			v += cov.At(at[k], at[k]) + 2*cov.At(at[k], ns+k)
		}
		p.mean, p.sd = append(p.mean, m), append(p.sd, math.Sqrt(v))
	}
	return p
}

func weigh(parts []part) {
	top, total := math.Inf(-1), 0.0
	for _, p := range parts {
		top = max(top, p.log)
	}
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].log - top)
		total += parts[i].weight
	}
	for i := range parts {
		parts[i].weight /= total
	}
}

// mix is the mean and the 2.5 and 97.5 % points of drift k.
func mix(parts []part, k int) Interval {
	var out Interval
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		out.Value += p.weight * p.mean[k]
		lo, hi = min(lo, p.mean[k]-8*p.sd[k]), max(hi, p.mean[k]+8*p.sd[k])
	}
	for _, p := range parts {
		out.SD += p.weight * (sq(p.sd[k]) + sq(p.mean[k]-out.Value))
	}
	out.SD = math.Sqrt(out.SD)
	quantile := func(q float64) float64 {
		a, b := lo, hi
		for range 60 {
			x, c := (a+b)/2, 0.0
			for _, p := range parts {
				if p.weight > 1e-6 {
					c += p.weight * distuv.Normal{Mu: p.mean[k], Sigma: p.sd[k]}.CDF(x)
				}
			}
			if c < q {
				a = x
			} else {
				b = x
			}
		}
		return (a + b) / 2
	}
	out.Low, out.High = quantile(0.025), quantile(0.975)
	return out
}
