package drift

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
)

// quiet is the share of dives in which a contact that comes and goes, or a jam that frees itself,
// shows nothing. Common practice, no source.
const quiet = 0.3

// A regime is a dive read under a cause without amplitudes: a loose contact or a failed thruster.
type regime struct{ dive, cause int }

// anyOhm is the prior standard deviation, Ω, of the resistance that a contact adds to the loop in a
// dive in which it is worse throughout; anyOfTest is that of a thruster's contact, as a share of
// its voltage over its current, held, as calibrated. Common practice, no source.
const anyOhm, anyOfTest = 0.2, 0.2

// outstanding is how many standard deviations too high a dive's loop resistance must be for a
// contact to count as worse in it; plainlyWorse is the same for a contact of one of many thrusters.
// Common practice, no source.
const outstanding, plainlyWorse = 1.5, 3.0

// under returns dive d's log-likelihood under a cause without amplitudes, nil if its readings do
// not suggest the cause, and whether a contact is worse for the whole dive. A contact may come and
// go within a dive, or be worse for all of it, by as much as any joint may have. A thruster's
// contact is read by whole dives alone: from line to line the model's errors of its current, held,
// running and astern, are as large as the effect of such a contact.
func (a *analysis) under(d, cause int) (q *normal.Quadratic, whole bool) {
	s, c := a.r.Dives[d].Summary, &a.causes[cause]
	switch {
	case c.Contact == predict.LoopOhm && s.Intermittent != nil:
		return s.Intermittent, false
	case c.Contact > 0 && slices.Contains(a.worse[d], c.Contact):
		return &s.Firm, true
	case c.Fails.Thruster > 0:
		return s.Failed[c.Fails].Quadratic, false
	}
	return nil, false
}

// suggests reports whether dive d's readings suggest a cause without amplitudes.
func (a *analysis) suggests(d, cause int) bool {
	q, _ := a.under(d, cause)
	return q != nil
}

// silent reports whether dive d carries no information on a cause because the cause's thruster was
// off.
func (a *analysis) silent(d, cause int) bool {
	i, idle := a.causes[cause].Thruster(), a.r.Dives[d].Summary.Idle
	return i >= 0 && idle != nil && idle[i]
}

// readUnder returns dive d's block under a cause without amplitudes that it suggests, with scatter
// integrated out, in the storage of to. If forGood, a jammed thruster's resistance is integrated
// out too.
func (a *analysis) readUnder(d, cause int, forGood bool, to block) block {
	q, whole := a.under(d, cause)
	b := ofDive(d, a.r.Dives[d].Battery, q.Integrate(a.r.Space.Scatter, a.r.VarianceIn(d, a.scatters()), normal.Likelihood{Info: to.info[0], Lin: to.lin[0]}))
	if whole {
		b.free(a.r.Space.Place[a.causes[cause].Contact], a.anyOhm(cause))
	}
	if how := a.causes[cause].Fails; how.Jam() && forGood {
		b.free(a.r.Space.Place[predict.OfThruster(how.Thruster-1, predict.BranchOhm)], a.r.StallOhm(how.Thruster-1))
	}
	return b
}

// anyOhm returns the prior standard deviation, Ω, of what a contact adds in a dive in which it is
// worse throughout.
func (a *analysis) anyOhm(cause int) float64 {
	if i := a.causes[cause].Thruster(); i >= 0 {
		return anyOfTest * a.r.Model.TestOhm(a.r.Base, i)
	}
	return anyOhm
}

// isFolded reports whether dive d is in a folded block, so that how it is read is settled.
func (a *analysis) isFolded(d int) bool { return d >= a.r.Baseline && d < a.held[0].first }

// otherwise returns what dive d says of today's levels under a cause without amplitudes, nil if its
// readings do not suggest the cause or the dive is settled.
func (a *analysis) otherwise(d, cause int) *block {
	if _, fixed := a.fixed[d]; fixed || a.isFolded(d) || !a.suggests(d, cause) {
		return nil
	}
	key := regime{d, cause}
	if _, done := a.other[key]; !done {
		b := a.readUnder(d, cause, false, block{})
		b = a.freed(&b)
		a.other[key] = &b
	}
	return a.other[key]
}

// readOtherwise reads all held dives under the causes without amplitudes that they suggest, so that
// several causes may be weighed at once.
func (a *analysis) readOtherwise() {
	for c := range a.causes {
		for d := a.held[0].first; len(a.causes[c].Amplitudes) == 0 && d <= a.n; d++ {
			a.otherwise(d, c)
		}
	}
}

// seen returns the view of dive d, which is held or of the baseline.
func (a *analysis) seen(d int) *block {
	if d < a.r.Baseline {
		return &a.before[d]
	}
	return &a.view[len(a.view)-1-(a.n-d)]
}

// last returns the last dive that a hypothesis explains.
func (a *analysis) last(h hypothesis) int {
	switch {
	case h.pattern == findings.Once:
		return h.onset
	case h.until > 0:
		return h.until - 1
	}
	return a.n
}

// reread replaces, in a gathered state, what dive d says by itself by what it says under a cause
// without amplitudes, if it suggests that.
func (a *analysis) reread(s *state, cols []column, d, cause int, work *product) {
	b, static := a.otherwise(d, cause), a.r.Space.Static
	if b == nil {
		return
	}
	s.addBlock(static, a.seen(d), -1)
	s.addColumns(static, cols, a.seen(d), -1, work)
	s.addBlock(static, b, 1)
	s.addColumns(static, cols, b, 1, work)
}

// standing returns the column of the difference between a jammed thruster's resistance and a
// running one's, the same in all dives that the hypothesis reads as jammed.
func (a *analysis) standing(h hypothesis) column {
	i := a.causes[h.cause].Fails.Thruster - 1
	on := make([]byte, a.last(h)-h.onset+1)
	for k := range on {
		on[k] = rests
		if a.otherwise(h.onset+k, h.cause) != nil {
			on[k] = acts
		}
	}
	return column{terms: []placed{{a.r.Space.Place[predict.OfThruster(i, predict.BranchOhm)], 1}}, sd: a.r.StallOhm(i), onset: h.onset, pattern: findings.Turns, on: string(on), cause: -1, offLevel: true}
}

// constants returns what a hypothesis without amplitudes adds to the log evidence outside the
// quadratic: the change of the likelihoods' constants, and the priors of dives in which it is quiet
// or not.
func (a *analysis) constants(h hypothesis) float64 {
	log := 0.0
	if len(a.causes[h.cause].Amplitudes) > 0 {
		return log
	}
	for d := h.onset; d <= a.last(h); d++ {
		b := a.otherwise(d, h.cause)
		if b == nil {
			if !a.isFolded(d) && !a.silent(d, h.cause) {
				log += math.Log(quiet)
			}
			continue
		}
		log += b.log - a.seen(d).log
		if h.pattern != findings.Step && h.pattern != findings.Once {
			log += math.Log(1 - quiet)
		}
	}
	return log
}

// contactRange returns by how many ohms a contact comes and goes: the minimum, the median and the
// maximum over the dives that suggest it. A dive counts with its standard deviation from line to
// line or, if the contact is worse throughout, with the dive's own estimate.
func (a *analysis) contactRange(h *hypothesis) *findings.Estimate {
	var lines, dives []float64
	for d := h.onset; d <= a.last(*h); d++ {
		switch q, whole := a.under(d, h.cause); {
		case whole:
			dives = append(dives, a.r.Departure(d, a.causes[h.cause].Contact).Value)
		case q != nil:
			lines = append(lines, a.r.Dives[d].Summary.IntermittentOhm)
		}
	}
	all := append(lines, dives...)
	slices.Sort(all)
	n := len(all)
	return &findings.Estimate{Value: all[n/2], Low: all[0], High: all[n-1]}
}

// failedBy returns the first departure of a failure over the dives that suggest it: the median,
// with an interval from the lower 95 % end of the smallest to the upper end of the largest.
func (a *analysis) failedBy(h hypothesis) findings.Estimate {
	var all []fit.Departure
	for d := h.onset; d <= a.last(h); d++ {
		if by := a.r.Dives[d].Summary.Failed[a.causes[h.cause].Fails].By; len(by) > 0 {
			all = append(all, by[0])
		}
	}
	slices.SortFunc(all, func(x, y fit.Departure) int { return cmp.Compare(x.X, y.X) })
	n := len(all)
	if n == 0 {
		return findings.Estimate{}
	}
	least, most := all[0], all[n-1]
	return findings.Estimate{Value: all[n/2].X, Low: least.X - z95*least.SD, High: most.X + z95*most.SD}
}

// lostTerms returns what a lost propeller loses: thrust, the parameter of its trend, and as much torque.
func lostTerms(thrust int) []causes.Term {
	torque := thrust + predict.LogOneTorque - predict.LogOneThrust
	if thrust == predict.LogThrust { // of the only thruster
		torque = predict.LogTorque
	}
	return []causes.Term{{Param: thrust, Per: 1}, {Param: torque, Per: 1}}
}

// wholeDives returns the dives in which a contact is worse throughout, nil if in any dive it comes
// and goes from line to line.
func (a *analysis) wholeDives(h *hypothesis) (dives []int) {
	for d := h.onset; d <= a.last(*h); d++ {
		switch q, whole := a.under(d, h.cause); {
		case whole:
			dives = append(dives, d)
		case q != nil:
			return nil
		}
	}
	return dives
}
