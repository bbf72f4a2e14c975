package drift

import (
	"math"
	"slices"

	"sagline/predict/fit"
)

// A contact that comes and goes need not have come in every dive, nor a jam that frees itself:
// quiet is the share of dives in which it shows nothing. Common practice, no source.
const quiet = 0.3

// A regime is a dive read otherwise than by amplitudes: with a loose contact, or
// a thruster jammed.
type regime struct{ dive, cause int }

// under is what dive d's readings say under a cause without amplitudes, nil where
// they do not suggest it at all.
func (a *analysis) under(d, cause int) *fit.Quadratic {
	s, c := a.r.Dives[d].Summary, &a.causes[cause]
	switch {
	case c.Within:
		return s.Loose
	case s.Jammed != nil:
		return s.Jammed[c.Jammed-1]
	}
	return nil
}

// otherwise is what dive d says of today's levels under a cause without
// amplitudes, nil where its readings do not suggest that or
// it is explained already.
func (a *analysis) otherwise(d, cause int) *block {
	q := a.under(d, cause)
	if _, settled := a.settled[d]; settled || q == nil {
		return nil
	}
	key := regime{d, cause}
	if _, done := a.other[key]; !done {
		b := ofDive(d, a.r.Dives[d].Battery, a.r.Integrate(q, a.r.VarianceIn(d, a.variance), fit.Likelihood{}))
		b = a.freed(&b)
		a.other[key] = &b
	}
	return a.other[key]
}

// seen is the view of dive d, which is held.
func (a *analysis) seen(d int) *block { return &a.view[len(a.view)-1-(a.n-d)] }

// last is the last dive that a hypothesis explains.
func (a *analysis) last(h hypothesis) int {
	switch {
	case h.pattern == Once:
		return h.onset
	case h.until > 0:
		return h.until - 1
	}
	return a.n
}

// reread puts what dives say under a hypothesis without amplitudes in place of
// what they say by themselves.
func (a *analysis) reread(s *state, cols []column, h hypothesis, work *product) {
	if len(a.causes[h.cause].Amplitudes) > 0 {
		return
	}
	for d := h.onset; d <= a.last(h); d++ {
		a.rereadDive(s, cols, d, h.cause, work)
	}
}

func (a *analysis) rereadDive(s *state, cols []column, d, cause int, work *product) {
	b := a.otherwise(d, cause)
	if b == nil {
		return
	}
	static := a.r.Static()
	s.take(static, a.seen(d), -1)
	s.takeColumns(static, cols, a.seen(d), -1, work)
	s.take(static, b, 1)
	s.takeColumns(static, cols, b, 1, work)
}

// constants is what a hypothesis without amplitudes adds to the constants of the
// likelihoods of the dives that it reads otherwise.
func (a *analysis) constants(h hypothesis) float64 {
	log := 0.0
	if len(a.causes[h.cause].Amplitudes) > 0 {
		return log
	}
	for d := h.onset; d <= a.last(h); d++ {
		b := a.otherwise(d, h.cause)
		if b == nil {
			log += math.Log(quiet)
			continue
		}
		log += b.log - a.seen(d).log
		if h.pattern != Step && h.pattern != Once {
			log += math.Log(1 - quiet)
		}
	}
	return log
}

// within is by how many ohms a contact comes and goes from line to line: the least,
// the middle and the most of the dives that suggest it.
func (a *analysis) within(h *hypothesis) *Estimate {
	var all []float64
	for d := h.onset; d <= a.last(*h); d++ {
		if s := a.r.Dives[d].Summary; s.Loose != nil {
			all = append(all, s.LooseOhm)
		}
	}
	slices.Sort(all)
	n := len(all)
	return &Estimate{Value: all[n/2], Low: all[0], High: all[n-1]}
}
