package forecast

import (
	"math"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
)

// Separates returns the reading under a condition that best separates a vehicle at p from the same
// vehicle at other. best.Expected is the reading at p, there that at other, and apart their
// distance in standard deviations of the reading. ok is false if no reading separates them by more
// than two. It considers the quantities that the log reads, or all if unread is true.
func Separates(r *fit.Result, p, other predict.Params, c predict.Condition, unread bool) (best Reading, there, apart float64, ok bool) {
	read := r.Reads()
	if unread {
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
