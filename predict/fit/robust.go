package fit

import (
	"math"

	"sagline/predict"
)

// robustPasses bounds the rounds of fitting and weighing.
const robustPasses = 6

// closeEnough is the promised relative fall of the cost from which a step is
// the last. Against 1e-14 it moves no estimate of simulated seasons by more than a
// thousandth of its standard deviation.
const closeEnough = 1e-6

// Residuals beyond huber standard deviations count less (Huber 1964); beyond
// hopeless the cell is set aside.
const (
	huber    = 2.5
	hopeless = 6.0
)

// reweigh updates the cells' weights from their residuals at p and says
// whether any changed enough to fit again. A percentage is of the speed that
// the fit believes: of the one read, a reading that happens to be low would
// count for more than one that happens to be high.
func (d *dive) reweigh(m *predict.Model, p predict.Params, own []float64, sc *scratch) bool {
	changed := false
	d.predict(m, p, own, sc, false)
	for k := range d.cells {
		c, want := &d.cells[k], sc.seen.want[k]
		sd := deviation(&m.Vehicle.Instruments, c.Quantity, want)
		z := math.Abs(c.Value-want) / sd
		w := 1.0
		if z > huber {
			w = huber / z
		}
		aside := z > hopeless || c.slip && z > huber
		if aside != c.Aside || math.Abs(w-c.weight) > 0.02 || math.Abs(sd/c.SD-1) > 0.02 {
			changed = true
		}
		c.weight, c.Aside, c.SD = w, aside, sd
	}
	return changed
}
