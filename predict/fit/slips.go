package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/session/quantity"
)

// restVoltage is the median battery voltage of a dive's lines at rest, the
// vehicle's nominal voltage when there is none.
func restVoltage(m *predict.Model, d *dive) float64 {
	var volts []float64
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity == quantity.BatteryV && len(c.Line.Drives) == 0 {
			volts = append(volts, c.Value)
		}
	}
	nominal := m.Vehicle.Battery.NominalV
	volts = slices.DeleteFunc(volts, func(v float64) bool { return v < nominal/2 || v > nominal*2 })
	if len(volts) == 0 {
		return nominal
	}
	slices.Sort(volts)
	return volts[len(volts)/2]
}

// A decimal slip is a cell that the model cannot explain as written but can
// with the decimal point one place away. vague is how far a sound reading may
// lie from an unfitted model: a share of it plus, for trim, the free offset.
const (
	vague       = 0.3
	vagueTrimG  = 40.0
	implausible = 5.0 // standard deviations
	plausible   = 3.0
)

// markSlips sets aside decimal slips against a prediction at p, whose own
// standard deviation is share of the value (plus offset for trim).
func (d *dive) markSlips(m *predict.Model, p predict.Params, share, offset float64) {
	var pt predict.Point
	last := -1
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			m.Solve(&d.obs[c.obs].cond, p, &pt, nil)
		}
		if want := pt.Out[c.Output]; decimalSlip(c, want, share, offset) {
			c.Aside, c.slip = true, true
		}
	}
}

func decimalSlip(c *Cell, want, share, offset float64) bool {
	spread := share * math.Abs(want)
	if c.Quantity == quantity.Trim {
		spread = offset
	}
	if c.Quantity == quantity.BatteryV {
		spread /= 5 // a rested battery is known far better than a load
	}
	sd := c.SD
	if c.Quantity == quantity.Speed || c.Quantity == quantity.Climb {
		sd = c.SD / max(math.Abs(c.Value), slowest) * max(math.Abs(want), slowest)
	}
	s := math.Hypot(spread, sd)
	if math.Abs(c.Value-want) < implausible*s && !(math.Abs(c.Value) < 0.2*math.Abs(want) && c.Quantity != quantity.Trim) {
		return false
	}
	return math.Abs(c.Value/10-want) < plausible*s || math.Abs(c.Value*10-want) < plausible*s
}
