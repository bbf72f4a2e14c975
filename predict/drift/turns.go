package drift

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/findings"

	"gonum.org/v1/gonum/blas/blas64"
)

// Marks of the dives of a hypothesis by turns.
const (
	acts  = '1'
	rests = '0'
)

const (
	// fewestByTurns is the least number of dives that can tell a cause by turns.
	fewestByTurns = 6
	// turnsWithin is how many nats less than the best explanation a cause by turns, with what it
	// leaves of that, may be worth and still be looked into: common practice, no source.
	turnsWithin = 5.0
	// mostAssigned bounds the rounds of assigning dives to the two levels.
	mostAssigned = 6
)

// withTurns also explains the dives by causes that come and go by whole dives, where that is
// likelier than best, whose worth is top. An explanation by one cause that stays is simple enough
// and returned as it is, unless the previous one was by turns or the cause is a contact.
func (w *weighings) withTurns(before *explanation, best explanation, top float64) explanation {
	wasByTurns := slices.ContainsFunc(before.components, func(e component) bool { return e.pattern == findings.Turns })
	contact := slices.IndexFunc(best.components, func(e component) bool { // or a jam by turns
		return e.hypothesis.stays() && (e.pattern == findings.Intermittent || e.pattern == findings.Turns && w.a.causes[e.cause].Fails.Jam())
	})
	if len(best.components) < 2 && !wasByTurns && contact < 0 {
		return best
	}
	single, found, others := top, []alternating(nil), best.hypotheses()
	if contact >= 0 { // it may be worse for whole dives too
		found = append(found, alternating{best.components[contact].hypothesis, top})
		others = slices.Delete(others, contact, contact+1)
	}
	for c := range w.a.causes {
		if w.a.causes[c].Turns == 0 || len(w.a.causes[c].Amplitudes) == 0 {
			continue
		}
		h, ok := w.a.likeliestTurns(c, others, top-turnsWithin)
		if !ok {
			continue
		}
		if e, ok := w.explain([]hypothesis{h}); ok {
			log := w.a.worth(e.hypotheses())
			found = append(found, alternating{h, log})
			if log > top {
				best, top = e, log
			}
		}
	}
	if top > single {
		p := &best.components[0]
		if contact < 0 {
			p.none = 1 / (1 + math.Exp(top-single))
		}
		p.stays[p.cause], p.onsets = 1-p.none, []probable{{p.hypothesis, 1}}
		w.a.share(p, found, top)
	} else if contact >= 0 {
		w.a.share(&best.components[contact], found, top)
	}
	return best
}

// An alternating is a hypothesis that comes and goes, with the worth of the best explanation that
// has it.
type alternating struct {
	hypothesis
	log float64
}

// share splits the probability that a component's own cause stays among all that may come and go
// likewise, by the worth of each, coarsened as in coarsen; top is the component's own worth.
func (a *analysis) share(p *component, found []alternating, top float64) {
	n := float64(a.n + 1 - p.onset)
	power, sum, all := coarse/(coarse+n), 0.0, p.stays[p.cause]
	for _, f := range found {
		sum += math.Exp(power * (f.log - top))
	}
	for _, f := range found {
		p.stays[f.cause], p.best[f.cause] = all*math.Exp(power*(f.log-top))/sum, f.hypothesis
	}
}

// besides returns the worth of a hypothesis together with the others of other causes, which are
// dropped one by one while that raises it.
func (a *analysis) besides(h hypothesis, others []hypothesis) float64 {
	hs := []hypothesis{h}
	for _, o := range others {
		if o.cause != h.cause {
			hs = append(hs, o)
		}
	}
	cols := a.columns(hs)
	s := a.gather(hs, cols)
	of := func(dropped []bool) float64 {
		t, kept := s.without(len(a.r.Space.Static), cols, func(c *column) bool { return c.of >= 0 && dropped[c.of] })
		var left []hypothesis
		for i, h := range hs {
			if !dropped[i] {
				left = append(left, h)
			}
		}
		return a.logEvidence(t, kept, left) + a.prior(left)
	}
	dropped := make([]bool, len(hs))
	top := of(dropped)
	for i := 1; i < len(hs); i++ {
		if dropped[i] || len(a.causes[hs[i].cause].Amplitudes) == 0 {
			continue
		}
		dropped[i] = true
		if log := of(dropped); log > top {
			top, i = log, 0
		} else {
			dropped[i] = false
		}
	}
	return top
}

// likeliestTurns returns the likeliest hypothesis of a cause by turns beside others, if worth at
// least least. It begins at the first dive at which the cause may begin, or at the log's first: who
// forgets to write down the lights did so from the start.
func (a *analysis) likeliestTurns(cause int, others []hypothesis, least float64) (best hypothesis, ok bool) {
	first := max(a.first(cause), a.held[0].first)
	if a.n-first+1 < fewestByTurns {
		return best, false
	}
	from := []int{first}
	if first == a.r.Baseline {
		from = append(from, 0)
	}
	for _, d := range from {
		for way := range a.causes[cause].Ways() {
			if h, is := a.byTurns(cause, way, d); is {
				if log := a.besides(h, others); log >= least {
					best, least, ok = h, log, true
				}
			}
		}
	}
	return best, ok
}

// byTurns assigns each held dive since from to those in which a cause acts in one of its ways or those in which it
// rests, whichever is likelier given the sizes that follow from the assignment, and repeats. ok is
// false if all are of one kind or the cause never comes back.
func (a *analysis) byTurns(cause, way, from int) (h hypothesis, ok bool) {
	h = hypothesis{cause: cause, way: way, pattern: findings.Turns, onset: from}
	n := a.n - h.onset + 1
	on := a.apart(cause, way, h.onset)
	for range mostAssigned {
		h.on = string(on)
		next, ok := a.assigned(h)
		if !ok || string(next) == h.on {
			break
		}
		on = next
	}
	acting := strings.Count(h.on, string(acts))
	quiet := strings.IndexByte(h.on, acts)
	if acting < 2 || acting == n || !strings.Contains(h.on[quiet:], string([]byte{rests, acts})) {
		return h, false // it does not come back
	}
	h.onset, h.on = h.onset+quiet, h.on[quiet:]
	return h, true
}

// apart splits the dives since an onset at the mean of what each alone says of one amplitude, the
// one in which the dives differ most. The higher half acts or, of what a fault of the vehicle lowers,
// the lower one.
func (a *analysis) apart(cause, way, onset int) []byte {
	s, cols, ok := a.solve(nil)
	on, lower := make([]byte, a.n-onset+1), a.causes[cause].Kind == causes.Vehicle && a.causes[cause].Worse < 0
	for i := range on {
		on[i] = rests
	}
	if !ok {
		return on
	}
	most := 0.0
	for _, col := range a.ofCause(hypothesis{cause: cause, way: way, pattern: findings.Step, onset: onset}) {
		var sum, weight, info float64
		size, known := make([]float64, len(on)), make([]float64, len(on))
		for i := range on {
			b := a.seen(onset + i)
			g, h := a.pull(b, a.departure(s, cols, b.first, nil), &col)
			known[i] = h + 1/sq(col.sd)
			size[i] = g / known[i]
			sum, weight = sum+size[i]*known[i], weight+known[i]
		}
		for i := range on {
			info += known[i] * sq(size[i]-sum/weight)
		}
		if info <= most {
			continue
		}
		most = info
		for i := range on {
			on[i] = rests
			if (size[i] > sum/weight) != lower {
				on[i] = acts
			}
		}
	}
	return on
}

// assigned assigns the dives anew, given the sizes that follow from h.
func (a *analysis) assigned(h hypothesis) ([]byte, bool) {
	s, cols, ok := a.solve([]hypothesis{h})
	if !ok {
		return nil, false
	}
	ns := len(a.r.Space.Static)
	on := make([]byte, len(h.on))
	for i := range on {
		b := a.seen(h.onset + i)
		resting := a.departure(s, cols, b.first, func(c *column) bool { return c.pattern != findings.Turns })
		var acting column
		for c := range cols {
			if cols[c].pattern == findings.Turns {
				for _, t := range cols[c].terms {
					acting.terms = append(acting.terms, placed{t.at, t.per * s.lin[ns+c]})
				}
			}
		}
		g, info := a.pull(b, resting, &acting)
		on[i] = rests
		if g > info/2 {
			on[i] = acts
		}
	}
	return on, true
}

// departure returns how far the places of the space lie from the calibration at a dive, from a
// solved state and those of its columns that keep accepts; nil accepts all.
func (a *analysis) departure(s *state, cols []column, dive int, keep func(*column) bool) []float64 {
	out := make([]float64, len(a.r.Space.All))
	static := a.r.Space.Static
	for i, at := range static {
		out[at] = s.lin[i]
	}
	for c := range cols {
		if keep != nil && !keep(&cols[c]) {
			continue
		}
		x := cols[c].profile(dive) * s.lin[len(static)+c]
		for _, t := range cols[c].terms {
			out[t.at] += x * t.per
		}
	}
	return out
}

// pull returns the slope of a dive's log-likelihood along a column's direction at a departure, and
// the information along it.
func (a *analysis) pull(b *block, at []float64, col *column) (slope, info float64) {
	n := len(at)
	by := make([]float64, n)
	apply(by, b.info[0], n, col.terms)
	return col.dot(b.lin[0]) - blas64.Dot(vector(by), vector(at)), col.dot(by)
}

// mostListed is how many dives are listed one by one.
const mostListed = 8

// actingIn lists the newest dives in which a hypothesis by turns acts.
func (a *analysis) actingIn(h *hypothesis) string {
	var dives []int
	for i := range len(h.on) {
		if h.on[i] == acts {
			dives = append(dives, h.onset+i)
		}
	}
	return a.list(dives)
}

// list words dives by their labels, the newest one by one.
func (a *analysis) list(dives []int) string {
	more := ""
	if n := len(dives) - mostListed; n > 0 {
		dives, more = dives[n:], fmt.Sprintf(" and %d before", n)
	}
	var labels []string
	for _, d := range dives {
		labels = append(labels, a.r.Dives[d].Log.Label)
	}
	if len(labels) == 1 {
		return "dive " + labels[0]
	}
	return "dives " + strings.Join(labels, ", ") + more
}
