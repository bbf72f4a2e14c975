package fit

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// slipPrior is the prior probability that a cell's decimal point is one
// place astray in a given direction: common practice, no source.
const slipPrior = 0.003

// slipWorth is the log of the odds above which a trim weight is a slip.
const slipWorth = 2.0

// markTrimSlip sets a trim weight aside when the dive's climb and what may
// have happened to the vehicle explain it better with the decimal point one
// place away. A weight of a few grams alone could be a leak: it mostly takes
// the climb to tell.
func (d *dive) markTrimSlip(m *predict.Model, sp *space, n *noise, p predict.Params) {
	var pt predict.Point
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity != quantity.Trim || c.Outlier {
			continue
		}
		m.Solve(&d.obs[c.obs].cond, p, &pt, nil)
		want := pt.Out[quantity.Trim]
		if math.Abs(c.Value-want) < plausible*c.SD {
			continue
		}
		written := d.trimEvidence(m, sp, n, p, c.Value-want, c.SD)
		for _, right := range []float64{c.Value * 10, c.Value / 10} {
			if d.trimEvidence(m, sp, n, p, right-want, c.SD)+math.Log(slipPrior) > written+slipWorth {
				c.Outlier, c.slip = true, true
			}
		}
	}
}

// trimEvidence is the log of how well a trim weight read grams above what is
// expected, with one standard deviation sd, and the dive's free climbs go with
// the likeliest change of buoyancy: scatter, a fault, or one past belief.
func (d *dive) trimEvidence(m *predict.Model, sp *space, n *noise, p predict.Params, grams, sd float64) float64 {
	const steps = 40
	q := append(predict.Params(nil), p...)
	best := math.Inf(-1)
	for i := range steps + 1 {
		b := grams * float64(i) / steps
		q[predict.TrimG] = p[predict.TrimG] + b
		t := &sp.of[predict.TrimG]
		sound, fault := sq(b/t.scatter), sq(b/t.fault)
		prior := math.Log((1-mostActing)*math.Exp(-sound/2)/t.scatter + mostActing*math.Exp(-fault/2)/t.fault + 1e-300)
		best = max(best, prior-0.5*sq((grams-b)/sd)-0.5*d.climbChi2(m, n, q))
	}
	return best
}

// climbChi2 is the sum of the squares of the free climbs' distances from the
// model at p, in standard deviations, none of which counts as more than a slip.
func (d *dive) climbChi2(m *predict.Model, n *noise, p predict.Params) float64 {
	var pt predict.Point
	sum := 0.0
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity != quantity.Climb || c.Outlier || len(c.Line.Drives) > 0 {
			continue
		}
		m.Solve(&d.obs[c.obs].cond, p, &pt, nil)
		z := (c.Value - c.expected(&pt, p)) / n.sd(quantity.Climb, pt.Out[quantity.Climb])
		sum += min(sq(z), sq(hopeless))
	}
	return sum
}
