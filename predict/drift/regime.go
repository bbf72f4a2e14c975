package drift

import "math"

// A contact that comes and goes need not have come in every dive: quiet is the
// share of dives in which it shows nothing. Common practice, no source.
const quiet = 0.3

// constants is what a hypothesis without amplitudes adds to the constants of the
// likelihoods of the dives that it reads otherwise.
func (a *analysis) constants(h hypothesis, n int) float64 {
	if h.pattern == Once {
		n = h.onset
	}
	log := 0.0
	for d := h.onset; d <= n; d++ {
		switch {
		case !a.otherwiseRead(d, h.cause):
			log += math.Log(quiet)
		case a.causes[h.cause].Within:
			log += math.Log(1 - quiet)
			fallthrough
		default:
			log += a.otherwise(d, h.cause).Log - a.firm[d].Log
		}
	}
	return log
}

// otherwiseRead says whether the readings of dive d suggest a cause without
// amplitudes at all.
func (a *analysis) otherwiseRead(d, cause int) bool {
	s, c := a.r.Dives[d].Summary, &a.causes[cause]
	if c.Within {
		return s.Loose != nil
	}
	return s.Jammed != nil && s.Jammed[c.Jammed-1] != nil
}
