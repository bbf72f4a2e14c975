package fit

import (
	"math"

	"sagline/predict"
)

// Decides finds the one reading under a condition that best tells a vehicle
// under p from the same one under other: Expected is what p says, Limit lies
// half way to what other says, and Apart is how many standard deviations lie
// between the two. ok is false when nothing that the log reads tells them
// apart by more than two.
func (r *Result) Decides(p, other predict.Params, c predict.Condition) (best Reading, limit, apart float64, ok bool) {
	here, there := r.candidates(p, c), r.candidates(other, c)
	for i, k := range here {
		if i >= len(there) {
			break
		}
		d := math.Abs(k.Expected-there[i].Expected) / k.sd
		if d > apart && d > 2 {
			best, limit, apart, ok = k.Reading, (k.Expected+there[i].Expected)/2, d, true
		}
	}
	return best, limit, apart, ok
}
