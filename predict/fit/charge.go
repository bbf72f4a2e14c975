package fit

import (
	"slices"

	"sagline/predict"
)

// charging are the degrees of freedom of Student's t for the rest voltage that a dive begins with:
// most batteries are charged in full, and now and then one is not. Common practice, no source.
const charging = 4.0

// VarianceIn is the variance of dive d's scatter, from that of all dives; of a baseline dive what the
// calibration took it for. A battery's rest voltage
// that lies far out counts for less, as one of Student's t (its scale mixture of normals, at the mean
// of the scale; Lange, Little and Taylor, Robust statistical modeling using the t
// distribution, J. Am. Stat. Assoc. 84, 1989).
func (r *Result) VarianceIn(d int, all []float64) []float64 {
	i := r.ScatterAt(r.Place(predict.OpenCircuitV))
	switch {
	case d < r.Baseline:
		return r.Dives[d].scatter
	case i < 0:
		return all
	}
	rest := &r.Dives[d].rest
	out := slices.Clone(all)
	out[i] *= max(1, (charging+sq(rest.Mean)/(all[i]+rest.Variance))/(charging+1))
	return out
}
