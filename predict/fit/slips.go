package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// A decimal slip is a cell that the model cannot explain as written but can with the decimal point
// one place away. An unexplained battery voltage far above that at rest is a slip of another kind.
const (
	implausible = 5.0 // standard deviations
	plausible   = 3.0
)

// How far a fault may take a later dive's reading from the calibrated vehicle: a share of it, a
// fifth of that for the battery's voltage.
const (
	faultShare = 0.3
	// A reading below a fifth of its prediction is examined for a slip if the prediction is known
	// to within this share, however wide a fault may be.
	faultSmall = 0.5
)

// byFault is one standard deviation of what a fault may do to a cell that should read want.
func (f *diver) byFault(c *Cell, want float64) float64 {
	switch c.Quantity {
	case quantity.LoopOhm: // a bad joint may be most of it
		return math.Hypot(faultShare*want, f.sp.Of[predict.LoopOhm].Fault)
	case quantity.Trim, quantity.Climb: // markHoverSlip judges these
		return math.Inf(1)
	case quantity.BatteryV:
		return faultShare / 5 * math.Abs(want)
	}
	return faultShare * math.Abs(want)
}

// markSlips sets aside decimal slips against the prediction at p. apart is one standard deviation
// of a sound cell about it, without its instrument's noise; slopes are the prediction's.
func (d *dive) markSlips(m *predict.Model, n *instrument.Noise, p predict.Params, sc *scratch, apart func(c *Cell, want float64, slopes []float64) float64) {
	d.predict(m, p, perLine{}, sc, true)
	for k := range d.cells {
		c, want := &d.cells[k], sc.predicted.want[k]
		if c.stream || c.Quantity.Log() {
			continue
		}
		s := math.Hypot(apart(c, want, sc.predicted.slope[k]), c.noiseAt(n, want))
		if c.Quantity == quantity.Climb {
			s, want = instrument.Spread(c.Quantity, want, s), instrument.OffScale(c.Quantity, want)
		}
		if decimalSlip(c, instrument.OffScale(c.Quantity, c.Value), want, s) || d.farFromRest(c, max(p[predict.OpenCircuitV], m.Vehicle.MostV())) {
			c.Outlier, c.slip = true, true
		}
	}
	d.markExchanged(n, sc.predicted.want)
}

// markExchanged sets aside pairs of readings of a line in each other's columns: each is nearer to
// the other's prediction, and either the vehicle's voltage is above the battery's, which no load
// does, or one of them is a slip already, such as a voltage that no battery has.
func (d *dive) markExchanged(n *instrument.Noise, want []float64) {
	for i := range d.cells {
		for j := i + 1; j < len(d.cells) && d.cells[j].obs == d.cells[i].obs; j++ {
			x, y := &d.cells[i], &d.cells[j]
			nearer := func(x, other, want float64) bool { return 2*math.Abs(other-want) < math.Abs(x-want) }
			if !nearer(x.Value, y.Value, want[i]) || !nearer(y.Value, x.Value, want[j]) {
				continue
			}
			noise := math.Hypot(x.noiseAt(n, want[i]), y.noiseAt(n, want[j]))
			if voltagesExchanged(x, y, noise) || voltagesExchanged(y, x, noise) || x.slip || y.slip {
				x.Outlier, x.slip, y.Outlier, y.slip = true, true, true, true
			}
		}
	}
}

// voltagesExchanged reports whether the vehicle's voltage is above the battery's beyond noise.
func voltagesExchanged(battery, vehicle *Cell, noise float64) bool {
	return battery.Quantity == quantity.BatteryV && vehicle.Quantity == quantity.VehicleV && vehicle.Value-battery.Value > implausible*noise
}

// fewFar is the largest share of a column's cells that are slips when they lie far from what the
// file allows, or from what the others say. If there are more, the file is off. Common practice, no
// source.
const fewFar = 0.25

// fewestAlike is the least number of readings of one column that together may be no slips: common
// practice, no source.
const fewestAlike = 3

// keepMany restores the slips of a column that has many of them: there the file is off.
func keepMany(base []*dive) {
	slips, all := count(base, func(c *Cell) bool { return c.slip })
	for _, d := range base {
		for k := range d.cells {
			if c := &d.cells[k]; c.slip && slips[c.Quantity] >= fewestAlike && float64(slips[c.Quantity]) > fewFar*float64(all[c.Quantity]) {
				c.Outlier, c.slip = false, false
			}
		}
	}
}

// markFar sets aside the baseline's cells beyond hopeless from what the file allows, if a column
// has few, before they draw the calibration their way.
func (r *Result) markFar(base []*dive, models []*predict.Model, sc *scratch) {
	var far [quantity.Count][]*Cell
	var all [quantity.Count]int
	for i, d := range base {
		at := r.asBuilt()
		at[predict.OpenCircuitV] = d.rest
		d.predict(models[i], at, perLine{}, sc, true)
		for k := range d.cells {
			c, want := &d.cells[k], sc.predicted.want[k]
			if c.slip || c.stream || c.Quantity.Log() || c.Quantity == quantity.Climb {
				continue
			}
			all[c.Quantity]++
			if sd := math.Hypot(r.Space.Spread(sc.predicted.slope[k]), c.noiseAt(r.Noise, want)); math.Abs(c.Value-want) > hopeless*sd {
				far[c.Quantity] = append(far[c.Quantity], c)
			}
		}
	}
	for q, cells := range far {
		if float64(len(cells)) <= fewFar*float64(all[q]) {
			for _, c := range cells {
				c.Outlier, c.slip = true, true
			}
		}
	}
}

// farFromRest reports whether a voltage is far above the battery's on the dive's other lines (or,
// if there are few, above most), or a battery's voltage at rest far below.
func (d *dive) farFromRest(c *Cell, most float64) bool {
	switch {
	case c.Quantity != quantity.BatteryV && c.Quantity != quantity.VehicleV:
		return false
	case d.about == 0:
		return c.Value > most*apartFromRest
	}
	return c.Value > d.about*apartFromRest || c.Quantity == quantity.BatteryV && len(c.Line.Drives) == 0 && c.Value < d.about/apartFromRest
}

// decimalSlip reports whether x, which should be want within s, fits with its decimal point one
// place away. Its ratio to want must be large enough too: a jammed thruster draws two and a half
// times its current.
func decimalSlip(c *Cell, x, want, s float64) bool {
	if c.Quantity != quantity.Trim && x*want > 0 && math.Abs(math.Log10(x/want)) < 0.5 {
		return false
	}
	small := math.Abs(x) < 0.2*math.Abs(want) && c.Quantity != quantity.Trim && s < faultSmall*math.Abs(want)
	if math.Abs(x-want) < implausible*s && !small {
		return false
	}
	return math.Abs(x/10-want) < plausible*s || math.Abs(x*10-want) < plausible*s
}

// slipPrior is the prior probability that a cell's decimal point is one place astray in a given
// direction: common practice, no source.
const slipPrior = 0.003

// slipWorth is the log odds above which a hover weight or a climb is a slip.
const slipWorth = 2.0

// A hovering is a reading of a vehicle's buoyancy: its prediction, its distance from that, the
// changes per gram of buoyancy and per gram that comes within the dive, and its standard deviation.
type hovering struct {
	cell                   *Cell
	want                   float64
	apart, perG, later, sd float64
}

// markHoverSlip sets aside a hover weight or a climb that, given the dive's others and what may
// have happened to the buoyancy, is explained better with its decimal point one place away. A small
// hover weight alone could be a leak: only a second reading, such as a climb, can tell.
func (f *diver) markHoverSlip(d *dive) {
	hovers := f.hovers(d)
	if len(hovers) < 2 {
		return
	}
	if k := f.hoverSlip(hovers); k >= 0 {
		hovers[k].cell.Outlier, hovers[k].cell.slip = true, true
	}
}

// hoverSlip returns the index of the likeliest slip, −1 if none is likely enough.
func (f *diver) hoverSlip(hovers []hovering) int {
	best, top := -1, f.hoverEvidence(hovers)+slipWorth
	for k := range hovers {
		top = max(top, f.offScaleEvidence(hovers, k))
	}
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

// offScaleEvidence is the log evidence of a dive's hover weights and climbs with hover weight k off by what a
// scale may be, −∞ for a climb.
func (f *diver) offScaleEvidence(hovers []hovering, k int) float64 {
	zero := f.sp.Of[predict.TrimZeroG].Fault
	if hovers[k].cell.Quantity != quantity.Trim || zero == 0 {
		return math.Inf(-1)
	}
	off := slices.Clone(hovers)
	off[k].sd = math.Hypot(off[k].sd, zero)
	return math.Log(slipPrior) + f.hoverEvidence(off) - math.Log(off[k].sd/hovers[k].sd)
}

// hovers returns a dive's hover weights and climbs without thrusters against the calibrated
// vehicle.
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
		out = append(out, hovering{c, want, c.Value - want, slope[predict.TrimG], slope[predict.WithinDiveG], math.Hypot(c.noiseAt(f.noise, want), doubt)})
	}
	return out
}

// hoverEvidence is the log evidence of hover weights and climbs together, with changes of buoyancy,
// before and within the dive, that are sound scatter or a cause's.
func (f *diver) hoverEvidence(hovers []hovering) float64 {
	var squares, cross, crossLater, info, infoBoth, infoLater float64
	for _, h := range hovers {
		squares += sq(h.apart / h.sd)
		cross, crossLater = cross+h.apart*h.perG/sq(h.sd), crossLater+h.apart*h.later/sq(h.sd)
		info, infoBoth, infoLater = info+sq(h.perG/h.sd), infoBoth+h.perG*h.later/sq(h.sd), infoLater+sq(h.later/h.sd)
	}
	under := func(sd, sdLater, prior float64) float64 { // both integrated out
		x, y := sd*cross, sdLater*crossLater
		xx, xy, yy := 1+sq(sd)*info, sd*sdLater*infoBoth, 1+sq(sdLater)*infoLater
		det := xx*yy - sq(xy)
		return math.Log(prior) - 0.5*(squares-(yy*sq(x)-2*xy*x*y+xx*sq(y))/det) - 0.5*math.Log(det)
	}
	t, later := &f.sp.Of[predict.TrimG], priors.Parameter{}
	if f.sp.Place[predict.WithinDiveG] >= 0 {
		later = f.sp.Of[predict.WithinDiveG]
	}
	log := under(t.Scatter, later.Scatter, 1-mixture.MostActing)
	for _, fault := range [][2]float64{{t.Fault, 0}, {0, later.Fault}} {
		if fault[0]+fault[1] > 0 {
			x := under(math.Hypot(t.Scatter, fault[0]), math.Hypot(later.Scatter, fault[1]), mixture.MostActing)
			log = max(log, x) + math.Log1p(math.Exp(-math.Abs(log-x)))
		}
	}
	return log
}

// chargeOfSlips is the cost of slips when fits that set different cells aside are compared: by
// itself a fit leaves slips out for nothing.
func chargeOfSlips(cells []Cell) (log float64) {
	for k := range cells {
		if cells[k].slip {
			log += lossOfOutlier / 2
		}
	}
	return log
}

// lossOfSlips is half the bounded loss of the slips against want: one that is not far off costs
// little, and one whose decimal point is astray no more than that it is.
func lossOfSlips(cells []Cell, want []float64) (log float64) {
	for k := range cells {
		if c := &cells[k]; c.slip {
			loss := func(x float64) float64 { return boundedLoss(math.Abs(x-want[k])/c.SD) / 2 }
			log += min(loss(c.Value), min(loss(c.Value/10), loss(c.Value*10))-math.Log(slipPrior))
		}
	}
	return log
}
