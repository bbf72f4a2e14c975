package fit

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"

	"sagline/predict"
)

// faulty is the prior probability that a given drift of a given dive is a
// fault and not scatter.
const faulty = 0.1

// mixture is the posterior of one later dive's drifts: over which (at most
// two) of them are faults, so that a sound dive is not blurred by what it
// cannot tell and a faulty one is not pulled back to soundness. Sound is what
// the baseline's dives scatter about: their mean, but for a bad one. The parts
// lie in the scratch.
func (r *Result) mixture(l layout, o own, variance []float64, sc *scratch) []part {
	nd := len(l.drift)
	sound, usual := make([]float64, nd), make([]float64, nd)
	for k, p := range r.positions() {
		sound[k] = variance[k] * (1 + r.aside[k]/sq(pick(scatter, branchScatter, k)))
		usual[k] = r.Usual[p]
	}
	about := o.about(usual)
	base, one := about.under(func(k int) float64 { return sound[k] }, sc), sc.one
	parts := sc.parts[:0]
	add := func(g *gauss, ch change, logPrior float64) {
		at := 2 * nd * len(parts)
		parts = append(parts, newPart(g, ch, l, logPrior, sc.moments[at:at+2*nd]))
	}
	add(base, change{c: base.mean}, 0)
	// a drift that is a fault: its wider prior, by the odds of being one
	widen := func(k int) (precision, log float64) {
		w := sound[k] + sq(pick(wide, branchWide, k))
		return 1/w - 1/sound[k], math.Log(faulty/(1-faulty)) - 0.5*math.Log(w/sound[k])
	}
	for i := range nd {
		precision, log := widen(i)
		ch := base.change(i, precision)
		add(base, ch, log)
		base.changed(ch, one)
		for j := i + 1; j < nd; j++ {
			more, logMore := widen(j)
			add(one, one.change(j, more), log+logMore)
		}
	}
	parts = weigh(parts)
	for _, p := range parts {
		blas64.Axpy(1, vector(usual), vector(p.mean))
	}
	return parts
}

// drifts are the means of a dive's drifts, and where between they lie with
// 95 % probability unless that is not wanted.
func (r *Result) drifts(l layout, parts []part, bounds bool) []Interval {
	out := make([]Interval, len(l.drift))
	for k := range out {
		out[k] = mix(parts, k, bounds)
		if l.drift[k] == predict.BatteryOhm {
			out[k] = out[k].plus(r.Base[predict.BatteryOhm] + r.Model.Vehicle.Battery.ResistanceOhm)
		}
	}
	return out
}

// part is one component of the mixture.
type part struct {
	log, weight float64
	mean, sd    []float64
}

// mostParts is how many parts a mixture over nd drifts has.
func mostParts(nd int) int { return 1 + nd*(nd+1)/2 }

// recoveryOhm is what a battery's slow recovery from a load, which the model
// leaves out, reads as, one standard deviation: four millivolts at ten amperes;
// common practice, no source. It stands for what no further dive would tell.
const recoveryOhm = 0.0004

// newPart is a gauss after a change, whose priors bring in logPrior; a
// battery's drift is shown with the baseline's own resistance. Its means and
// deviations are put into moments.
func newPart(g *gauss, ch change, l layout, logPrior float64, moments []float64) part {
	nd := len(l.drift)
	p := part{log: logPrior + g.log + ch.log, mean: moments[:nd], sd: moments[nd:]}
	for k := range nd {
		m, v, c := g.mean[k], g.cov[k][k], ch.c[k]
		if l.drift[k] == predict.BatteryOhm {
			m += g.mean[nd]
			v += g.cov[nd][nd] + 2*g.cov[k][nd] + sq(recoveryOhm)
			c += ch.c[nd]
		}
		p.mean[k], p.sd[k] = m-ch.gain*c, math.Sqrt(v-ch.shrink*c*c)
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

// mix is the mean and, where bounds are wanted, the 2.5 and 97.5 % points of
// drift k.
func mix(parts []part, k int, bounds bool) Interval {
	var out Interval
	var total float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		total += p.weight
		out.Value += p.weight * p.mean[k]
		lo, hi = min(lo, p.mean[k]-8*p.sd[k]), max(hi, p.mean[k]+8*p.sd[k])
	}
	out.Value /= total
	if !bounds {
		return out
	}
	for _, p := range parts {
		out.SD += p.weight / total * (sq(p.sd[k]) + sq(p.mean[k]-out.Value))
	}
	out.SD = math.Sqrt(out.SD)
	point := func(z, q float64) float64 {
		return quantile(lo, hi, out.Value+z*out.SD, func(x float64) (c, slope, bend float64) {
			c = -q * total
			for _, p := range parts {
				z := (x - p.mean[k]) / p.sd[k]
				density := p.weight / p.sd[k] * math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
				c += p.weight * 0.5 * math.Erfc(-z/math.Sqrt2)
				slope += density
				bend -= density * z / p.sd[k]
			}
			return c, slope, bend
		})
	}
	out.Low, out.High = point(-z95, 0.025), point(z95, 0.975)
	// a faint part that lies far off draws the mean out of the interval
	out.Value = min(max(out.Value, out.Low), out.High)
	return out
}

// quantile finds where an increasing f crosses zero in [lo, hi], from x, by
// Halley's steps kept in the bracket. A last step of a hundred-thousandth of the
// bracket leaves, cubed, far less than a thousandth of a per cent of it.
func quantile(lo, hi, x float64, f func(float64) (value, slope, bend float64)) float64 {
	short := 1e-5 * (hi - lo)
	for range 60 {
		y, slope, bend := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		newton := y / slope
		next := x - newton/max(0.5, min(2, 1-0.5*newton*bend/slope))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		} else if math.Abs(next-x) < short {
			return next
		}
		x = next
	}
	return x
}
