package fit

import (
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// A decimal slip is a cell that the model cannot explain as written but can
// with the decimal point one place away. A battery's voltage far above that at rest,
// which nothing explains, is a slip of another kind.
const (
	implausible = 5.0 // standard deviations
	plausible   = 3.0
)

// How far a reading of a later dive may lie from the calibrated vehicle for a
// fault: a share of it, of a rested battery's voltage a fifth of that.
const (
	faultShare = 0.3
	// A reading of less than a fifth of what is expected, where that is known to
	// within a half, is looked at for a slip however wide a fault may be.
	faultSmall = 0.5
)

// byFault is one standard deviation of what a fault may do to a cell that
// should read want.
func byFault(c *Cell, want float64) float64 {
	switch c.Quantity {
	case quantity.Trim, quantity.Climb: // markHoverSlip knows better
		return math.Inf(1)
	case quantity.BatteryV:
		return faultShare / 5 * math.Abs(want)
	}
	return faultShare * math.Abs(want)
}

// markSlips sets aside decimal slips against a prediction at p. apart is one
// standard deviation of how far a sound cell may lie from it, its instrument
// left out; slopes are the prediction's.
func (d *dive) markSlips(m *predict.Model, n *noise, p predict.Params, sc *scratch, apart func(c *Cell, want float64, slopes []float64) float64) {
	d.predict(m, p, perLine{}, sc, true)
	for k := range d.cells {
		c, want := &d.cells[k], sc.predicted.want[k]
		if c.stream || c.Quantity.Log() {
			continue
		}
		s := math.Hypot(apart(c, want, sc.predicted.slope[k]), c.noiseAt(n, want))
		if c.Quantity == quantity.Climb {
			s, want = spread(c.Quantity, want, s), offScale(c.Quantity, want)
		}
		if decimalSlip(c, offScale(c.Quantity, c.Value), want, s) || d.farFromRest(c) {
			c.Outlier, c.slip = true, true
		}
	}
}

// farFromRest says whether a battery reads far more than it does on the dive's other
// lines, or at rest far less.
func (d *dive) farFromRest(c *Cell) bool {
	if c.Quantity != quantity.BatteryV || d.about == 0 {
		return false
	}
	return c.Value > d.about*apartFromRest || len(c.Line.Drives) == 0 && c.Value < d.about/apartFromRest
}

func decimalSlip(c *Cell, x, want, s float64) bool {
	small := math.Abs(x) < 0.2*math.Abs(want) && c.Quantity != quantity.Trim && s < faultSmall*math.Abs(want)
	if math.Abs(x-want) < implausible*s && !small {
		return false
	}
	return math.Abs(x/10-want) < plausible*s || math.Abs(x*10-want) < plausible*s
}
