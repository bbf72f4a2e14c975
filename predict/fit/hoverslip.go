package fit

import (
	"math"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/mixture"
	"sagline/session/quantity"
)

// slipPrior is the prior probability that a cell's decimal point is one
// place astray in a given direction: common practice, no source.
const slipPrior = 0.003

// slipWorth is the log of the odds above which a hover weight or a climb is a
// slip.
const slipWorth = 2.0

// A hovering is a reading of a vehicle's buoyancy: how far it lies from what is
// expected, what a gram of buoyancy adds to it, and its standard deviation.
type hovering struct {
	cell            *Cell
	want            float64
	apart, perG, sd float64
}

// markHoverSlip sets a hover weight or a climb aside when the dive's other ones,
// and what may have happened to the vehicle's buoyancy, explain it better with
// the decimal point one place away. A small hover weight alone could be a leak:
// it takes the climb to tell.
func (f *diver) markHoverSlip(d *dive) {
	hovers := f.hovers(d)
	if len(hovers) < 2 {
		return
	}
	if k := f.hoverSlip(hovers); k >= 0 {
		hovers[k].cell.Outlier, hovers[k].cell.slip = true, true
	}
}

// hoverSlip is the index of the one that is likelier a slip than not, −1 for none.
func (f *diver) hoverSlip(hovers []hovering) int {
	best, top := -1, f.hoverEvidence(hovers)+slipWorth
	for k := range hovers {
		h := &hovers[k]
		as := h.apart
		for _, factor := range []float64{10, 0.1} {
			x := instrument.OffScale(h.cell.Quantity, h.cell.Value) * factor
			h.apart = instrument.Predicted(h.cell.Quantity, x) - h.want
			if e := f.hoverEvidence(hovers) + math.Log(slipPrior); e > top {
				best, top = k, e
			}
		}
		h.apart = as
	}
	return best
}

// hovers are a dive's hover weights and climbs without thrusters against the
// calibrated vehicle.
func (f *diver) hovers(d *dive) []hovering {
	var out []hovering
	d.predict(f.m, f.resting(d), perLine{}, f.sc, true)
	for k := range d.cells {
		c := &d.cells[k]
		if c.Outlier || c.Quantity != quantity.Trim && (c.Quantity != quantity.Climb || len(c.Line.Drives) > 0) {
			continue
		}
		want, slope := f.sc.predicted.want[k], f.sc.predicted.slope[k]
		doubt := math.Sqrt(f.uncertain(slope) + sq(d.obs[c.obs].Doubt(slope)))
		out = append(out, hovering{c, want, c.Value - want, slope[predict.TrimG], math.Hypot(c.noiseAt(f.noise, want), doubt)})
	}
	return out
}

// hoverEvidence is the log of how well hover weights and climbs go together with
// a change of buoyancy that is sound scatter or a cause's.
func (f *diver) hoverEvidence(hovers []hovering) float64 {
	var squares, cross, info float64
	for _, h := range hovers {
		squares += sq(h.apart / h.sd)
		cross += h.apart * h.perG / sq(h.sd)
		info += sq(h.perG / h.sd)
	}
	t := &f.sp.Of[predict.TrimG]
	under := func(variance, prior float64) float64 {
		return math.Log(prior) - 0.5*(squares-sq(cross)/(1/variance+info)) - 0.5*math.Log1p(variance*info)
	}
	sound, fault := under(sq(t.Scatter), 1-mixture.MostActing), under(sq(t.Scatter)+sq(t.Fault), mixture.MostActing)
	return max(sound, fault) + math.Log1p(math.Exp(-math.Abs(sound-fault)))
}
