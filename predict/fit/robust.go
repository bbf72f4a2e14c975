package fit

import (
	"math"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/session/quantity"
)

// robustPasses bounds the rounds of fitting and reweighting.
const robustPasses = 6

// closeEnough is the predicted relative fall of the cost below which a step is the last. Against
// 1e-14 it moves no estimate of simulated seasons by more than a thousandth of its standard
// deviation.
const closeEnough = 1e-6

// closeEnoughDive is the same for a dive's fits, whose likelihoods are expanded again about the
// mixture's mean. Against closeEnough, 99 in 100 of 13,600 estimates of simulated seasons move by
// less than 0.004 of their standard deviations, with a quarter fewer steps.
const closeEnoughDive = 1e-4

// mostSteps bounds a fit's steps. Sound seasons take under 20; a fit that has not ended by then
// stays where it is, which its quadratic allows for.
const mostSteps = 60

// mostCalibrating bounds a calibration's steps. Vehicles of which little is known take most.
const mostCalibrating = 150

// mostOfABaseline bounds the steps of all calibrations on a baseline together: seasons of sound
// vehicles take 10; the most among the tests, with a cause since before the first dive, 850; a
// vehicle that nobody has takes thousands. With more than manyOfABaseline cells the bound is lower,
// for the sake of time. Each calibration that is begun for other dives may take leastOfABaseline
// anyway.
const (
	mostOfABaseline  = 1500
	manyOfABaseline  = 600
	leastOfABaseline = 60
)

// Residuals beyond huber standard deviations count less (Huber 1964); a cell beyond hopeless is set
// aside as an outlier.
const (
	huber    = 2.5
	hopeless = 6.0
)

// reweigh updates the cells' weights, outliers and standard deviations from their residuals at p.
// It reports whether any changed enough to fit again. A percentage is taken of the predicted speed:
// of the speed as read, a reading that happens to be low would count for more than one that happens
// to be high.
func (d *dive) reweigh(m *predict.Model, n *instrument.Noise, p predict.Params, byLine perLine, sc *scratch) bool {
	changed := false
	d.predict(m, p, byLine, sc, true)
	for k := range d.cells {
		c, want := &d.cells[k], sc.predicted.want[k]
		sd := c.noiseAt(n, want)
		z := math.Abs(c.Value-want) / math.Hypot(sd, d.obs[c.obs].Doubt(sc.predicted.slope[k]))
		w := 1.0
		if z > huber {
			w = huber / z
		}
		outlier := z > hopeless || c.slip && z > huber
		if d.leftOut {
			w, outlier = 1, c.slip
		}
		if outlier != c.Outlier || math.Abs(w-c.weight) > 0.02 || math.Abs(sd/c.SD-1) > 0.02 {
			changed = true
		}
		c.weight, c.Outlier, c.SD = w, outlier, sd
	}
	return changed
}

// lossOfOutlier is the loss of a cell that is set aside: Huber's at hopeless.
const lossOfOutlier = huber * (2*hopeless - huber)

// A dive may be read with less care than others: by another reader, in waves, in a hurry. All its
// readings are then noisier by one of carelessTimes. carelessDives is the prior share of such
// dives: common practice, no source. On 540 seasons of a simulator with other physics five of 133
// sound ones raised an alarm instead of seven without it, two of those an intermittent contact, and
// all else was reported alike. With 0.1 a contact in a log of 13 dives is lost.
var carelessTimes = [...]float64{1.5, 2, 3}

const carelessDives = 0.03

// lnCareless is the log prior probability of one of carelessTimes.
var lnCareless = math.Log(carelessDives / float64(len(carelessTimes)))

// carelessly returns the carelessTimes with which a dive's residuals at p would be likelier,
// without fitting it again.
func (d *dive) carelessly(m *predict.Model, p predict.Params, sc *scratch) (times []float64) {
	d.predict(m, p, perLine{}, sc, false)
	for _, t := range carelessTimes {
		gain := lnCareless
		for k := range d.cells {
			c := &d.cells[k]
			z := math.Abs(c.Value-sc.predicted.want[k]) / math.Hypot(c.SD, c.inexact)
			if gain += (boundedLoss(z) - boundedLoss(z/t)) / 2; z/t <= hopeless {
				gain -= math.Log(t)
			}
		}
		if gain > 0 {
			times = append(times, t)
		}
	}
	return times
}

// boundedLoss is Huber's loss of a residual of z standard deviations, constant beyond hopeless.
func boundedLoss(z float64) float64 {
	switch {
	case z > hopeless:
		return lossOfOutlier
	case z > huber:
		return huber * (2*z - huber)
	}
	return z * z
}

// count returns, by column, how many cells of some dives satisfy so, and how many there are.
func count(dives []*dive, so func(*Cell) bool) (some, all [quantity.Count]int) {
	for _, d := range dives {
		for k := range d.cells {
			c := &d.cells[k]
			if all[c.Quantity]++; so(c) {
				some[c.Quantity]++
			}
		}
	}
	return some, all
}

// mostlyOutliers returns the columns of which most cells of some dives are set aside, but not all.
func mostlyOutliers(dives ...*dive) (out []quantity.Quantity) {
	outliers, all := count(dives, func(c *Cell) bool { return c.Outlier })
	for q := range outliers {
		if outliers[q] < all[q] && 2*outliers[q] > all[q] {
			out = append(out, quantity.Quantity(q))
		}
	}
	return out
}

// turn exchanges the cells of a column that count and those that are set aside.
func (d *dive) turn(q quantity.Quantity) {
	for k := range d.cells {
		if c := &d.cells[k]; c.Quantity == q {
			c.Outlier, c.weight = !c.Outlier, 1
			c.slip = c.Outlier
		}
	}
}

// setAnew resets all cells to their state before any fit.
func (d *dive) setAnew() {
	for k := range d.cells {
		c := &d.cells[k]
		c.Outlier, c.slip, c.weight, c.inexact, c.noisier = false, false, 1, 0, 0
	}
}

// countAgain has all cells but slips count in full.
func (d *dive) countAgain() {
	for k := range d.cells {
		d.cells[k].Outlier, d.cells[k].weight = d.cells[k].slip, 1
	}
}

// robustLoss is by how much Huber's loss of the cells, bounded for outliers, exceeds the sum of
// their weighted squares.
func (d *dive) robustLoss() float64 {
	loss := 0.0
	for k := range d.cells {
		c := &d.cells[k]
		switch {
		case c.slip:
		case c.Outlier:
			loss += lossOfOutlier
		case c.weight < 1:
			z := huber / c.weight
			loss += boundedLoss(z) - c.weight*z*z
		}
	}
	return loss
}
