package drift

import (
	"math"
	"slices"

	"sagline/predict/fit"
)

// quietest bounds what one quiet dive says against a contact that comes and
// goes: it may not have come. Common practice, no source.
const quietest = -2.0

// never is the log evidence of what a dive rules out.
const never = -1e6

// regimeEvidence is the log likelihood ratio, for dives from onset to n, of a
// cause without amplitudes: of a contact that comes and goes, the best of the
// sizes tried, less what having a choice of them is worth.
func (a *analysis) regimeEvidence(cause, onset, n int, pattern string) float64 {
	if pattern == Once {
		n = onset
	}
	c := &a.causes[cause]
	if !c.Within {
		log := 0.0
		for d := onset; d <= n; d++ {
			log += a.jamEvidence(d, c.Jammed-1)
		}
		return log
	}
	var total [len(fit.WithinSizes)]float64
	for d := onset; d <= n; d++ {
		a.addWithin(&total, d)
	}
	return bestSize(&total)
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

// jamEvidence is the log likelihood ratio of thruster i jammed in dive d.
func (a *analysis) jamEvidence(d, i int) float64 {
	s := a.r.Dives[d].Summary
	if s.Jammed == nil || s.Jammed[i] == nil {
		return never
	}
	return s.JamRatio[i]
}
