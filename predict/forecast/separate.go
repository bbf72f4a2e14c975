package forecast

import (
	"math"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
)

// Separates finds the one reading under a condition that best separates a
// vehicle at p from the same one at other: Expected is what p says, there what
// other says, and apart is how many of the reading's standard deviations lie
// between the two. ok is false when nothing that the log reads, or with any
// nothing that can be read, separates them by more than two.
func Separates(r *fit.Result, p, other predict.Params, c predict.Condition, any bool) (best Reading, there, apart float64, ok bool) {
	read := r.Reads()
	if any {
		clear(read)
	}
	this, that := candidates(r, p, c, read), candidates(r, other, c, read)
	for i := range min(len(this), len(that)) {
		k := &this[i]
		d := math.Abs(k.Expected-that[i].Expected) / k.SD
		if d > apart && d > 2 {
			best, there, apart, ok = k.Reading, instrument.OffScale(k.Quantity, that[i].Expected), d, true
			best.Expected = instrument.OffScale(k.Quantity, k.Expected)
		}
	}
	return best, there, apart, ok
}
