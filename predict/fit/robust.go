package fit

import (
	"math"

	"sagline/predict"
	"sagline/session"
)

// robustPasses bounds the rounds of fitting and weighing.
const robustPasses = 6

// Residuals beyond huber standard deviations count less (Huber 1964); beyond
// hopeless the cell is set aside.
const (
	huber    = 2.5
	hopeless = 6.0
)

// reweigh updates the cells' weights from their residuals at p and says
// whether any changed enough to fit again.
func (d *dive) reweigh(m *predict.Model, p predict.Params, own []float64, sc *scratch) bool {
	changed := false
	last := -1
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			d.point(m, p, own, c.obs, sc, nil)
		}
		want := sc.pt.Out[c.Output]
		sd := c.SD
		if c.Quantity == session.Speed || c.Quantity == session.Climb { // a percentage of what the speed was, not of a slip
			sd = min(sd, 3*sd*max(math.Abs(want), slowest)/max(math.Abs(c.Value), slowest))
		}
		z := math.Abs(c.Value-want) / sd
		w := 1.0
		if z > huber {
			w = huber / z
		}
		aside := z > hopeless || c.slip && z > huber
		if aside != c.Aside || math.Abs(w-c.weight) > 0.02 {
			changed = true
		}
		c.weight, c.Aside = w, aside
	}
	return changed
}
