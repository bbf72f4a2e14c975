package forecast

import (
	"cmp"
	"slices"

	"sagline/predict"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Narrowing is by how much measuring a key that the file leaves out would narrow readings: as a
// share of the variance of their logarithms.
type Narrowing struct {
	Path  string // of the first thruster, if all have one
	Share float64
}

// Narrowings returns those of the keys that a vehicle's file leaves out, best first, for its
// readings under the conditions before its first dive. Readings that may be 0 or less are left out;
// rest voltage and trim are measured on any first dive.
func Narrowings(v *vehicle.Vehicle, conditions []predict.Condition) (out []Narrowing) {
	f, keys := AsBuilt(v), priors.Doubts(v)
	shares, total := make([]float64, len(keys)), 0.0
	for i := range conditions {
		f.m.Solve(&conditions[i], f.p, &f.pt, f.grad)
		for q := range quantity.Count {
			x := f.pt.Out[q]
			if !f.pt.Known[q] || q.Log() || q == quantity.Trim || q == quantity.LoopOhm || x <= 0 {
				continue
			}
			for k, d := range keys {
				by := 0.0
				for j, slope := range f.grad[q] {
					by += slope * d.By[j] / x
				}
				total += sq(by)
				shares[k] += sq(by)
			}
		}
	}
	for k, d := range keys {
		if b := v.Belief(d.Paths[0]); b.Origin == vehicle.Prior && b.Residual > b.Tolerance && total > 0 {
			out = append(out, Narrowing{b.Path, shares[k] / total * (1 - sq(b.Tolerance/b.Residual))})
		}
	}
	slices.SortStableFunc(out, func(a, b Narrowing) int { return cmp.Compare(b.Share, a.Share) })
	return out
}
