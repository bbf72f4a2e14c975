package drift

import (
	"math"
	"slices"

	"sagline/predict/fit"
)

// quietest bounds what one quiet dive says against a contact that comes and
// goes: it may not have come. Common practice, no source.
const quietest = -2.0

// within is the log likelihood ratio, for dives from onset to n, of a contact
// that comes and goes, by the best of the sizes tried, less what having a choice
// of them is worth.
func (a *analysis) within(onset, n int) float64 {
	var total [len(fit.WithinSizes)]float64
	for d := onset; d <= n; d++ {
		a.addWithin(&total, d)
	}
	return bestSize(&total)
}

// constants is what a hypothesis without amplitudes adds to the constants of the
// likelihoods of the dives that it reads otherwise.
func (a *analysis) constants(h hypothesis, n int) float64 {
	if h.pattern == Once {
		n = h.onset
	}
	if a.causes[h.cause].Within {
		return a.within(h.onset, n)
	}
	log := 0.0
	for d := h.onset; d <= n; d++ {
		log += a.otherwise(d, h.cause).Log - a.firm[d].Log
	}
	return log
}

// couldJam says whether dive d may have been made with thruster i jammed.
func (a *analysis) couldJam(d, i int) bool {
	s := a.r.Dives[d].Summary
	return s.Jammed != nil && s.Jammed[i] != nil
}

// bestSize is the best of the sizes' log likelihood ratios, less what having a
// choice of them is worth.
func bestSize(total *[len(fit.WithinSizes)]float64) float64 {
	return slices.Max(total[:]) - math.Log(float64(len(total)))
}

func (a *analysis) addWithin(total *[len(fit.WithinSizes)]float64, d int) {
	for i, x := range a.r.Dives[d].Summary.Within {
		total[i] += max(x, quietest)
	}
}
