package fit

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/normal"
)

// Where a dive's own information ends and what is kept of the calibration
// begins: what an absolute estimate needs.
var keptStatic = []int{predict.BatteryOhm, predict.LogInsulation, predict.BatteryPerK, predict.BatteryPerSpent}

// alone is what a dive and the calibration say of the dive's departures (of the
// parameters left free, then keptStatic), all else integrated out; priors of the
// departures are left to be added.
type alone struct {
	info *mat.SymDense
	lin  []float64
}

// aloneOf gathers it for one dive.
func (r *Result) aloneOf(q *Quadratic) (alone, error) {
	sp := r.Space
	free, keep := r.free, r.keep
	nf, nk, ns := len(free), len(keep), len(sp.Static)
	n := nf + nk
	joint := normal.NewInformation(n + ns - nk)
	place := make([]int, ns) // of each static parameter
	next := n
	for i := range sp.Static {
		if j := slices.Index(keep, i); j >= 0 {
			place[i] = nf + j
			continue
		}
		place[i] = next
		next++
	}
	raw := joint.Info.RawSymmetric()
	add := func(i, j int, x float64) {
		if i > j {
			i, j = j, i
		}
		raw.Data[i*raw.Stride+j] += x
	}
	for a, pa := range sp.Static {
		joint.Lin[place[a]] = q.Lin[pa]
		for b := a; b < ns; b++ {
			add(place[a], place[b], r.precision.At(a, b)+q.Info.At(pa, sp.Static[b]))
		}
		for i, k := range free {
			add(i, place[a], q.Info.At(pa, k))
		}
	}
	for i, k := range free {
		joint.Lin[i] = q.Lin[k]
		for j := i; j < nf; j++ {
			add(i, j, q.Info.At(k, free[j]))
		}
	}
	if _, err := joint.Marginal(n); err != nil {
		return alone{}, err
	}
	out := alone{mat.NewSymDense(n, nil), make([]float64, n)}
	joint.Head(out.info, out.lin)
	return out, nil
}
