package drift

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/session"
	"sagline/session/wording"
)

const (
	// goes is the prior probability per dive that what is active is mended without a line that says
	// so, or goes by itself as weed does; common practice, no source.
	goes = 0.01
	// lately is how many dives back the end of a cause is searched for, or one found is doubted.
	lately = 5
	// active is the evidence of the newest dive for a cause, in nats, from which no end is searched
	// for.
	active = 5.0
)

// withEnds explains the dives given the previous explanation, of which some may be gone.
func (w *weighings) withEnds(before *explanation) (explanation, bool) {
	gone := w.a.gone(before)
	best, ok := w.explain(gone)
	if !ok {
		return best, false
	}
	top := w.a.worth(best.hypotheses())
	better := func(e explanation, ok bool) {
		if !ok {
			return
		}
		if log := w.a.worth(e.hypotheses()); log > top {
			best, top = e, log
		}
	}
	try := func(gone []hypothesis) { better(w.explain(gone)) }
	if hs := before.hypotheses(); len(hs) > len(gone)+1 { // adding one cause after another may go astray
		better(w.lookAgain(append(slices.Clone(gone), slices.DeleteFunc(hs, func(h hypothesis) bool { return h.until > 0 })...), len(gone)))
	}
	for i, h := range gone {
		if w.a.n-h.until < lately {
			try(slices.Delete(slices.Clone(gone), i, i+1))
		}
	}
	ended := w.a.ends(before)
	for _, h := range w.a.mayHaveEnded {
		ended = append(ended, []hypothesis{h})
	}
	for _, hs := range ended {
		try(append(slices.Clip(gone), hs...))
	}
	if slices.ContainsFunc(best.components, func(e component) bool { return w.a.causes[e.cause].Contact > 0 && e.hypothesis.stays() }) {
		// a contact that varies from dive to dive fits whatever steps and ramps do, which are
		// searched one at a time
		firm := &weighings{a: w.a, firm: true}
		better(firm.explain(gone))
	}
	return w.withTurns(before, best, top), true
}

// gone returns the hypotheses of an explanation that are gone, except those that were serviced and
// whose dives no longer count.
func (a *analysis) gone(e *explanation) []hypothesis {
	return e.ended(func(h hypothesis) bool { return !a.serviced(h) || !a.levelUnknown(h) })
}

// unsaid returns the hypotheses of an explanation that are gone without a service that says why.
func (a *analysis) unsaid(e *explanation) []hypothesis {
	return e.ended(func(h hypothesis) bool { return !a.serviced(h) })
}

func (e *explanation) ended(counts func(hypothesis) bool) (out []hypothesis) {
	for i := range e.components {
		if h := e.components[i].hypothesis; h.until > 0 && counts(h) {
			out = append(out, h)
		}
	}
	return out
}

// serviced reports whether a service or a rebuild ended what is gone.
func (a *analysis) serviced(h hypothesis) bool {
	return a.renewed[h.cause] && a.epoch[h.cause] >= h.until
}

// levelUnknown reports whether a hypothesis's dives say nothing of the level that it changed.
func (a *analysis) levelUnknown(h hypothesis) bool {
	k := a.causes[h.cause].Param()
	return a.causes[h.cause].Fails.Thruster == 0 && (k < 0 || a.levels[a.r.Space.Place[k]].linked <= h.onset)
}

// ends returns what may have ended of the previous explanation: each hypothesis with its likeliest end,
// and all of them with the likeliest at one dive if that is more than any alone, such as a meter that was
// moved and is put back.
func (a *analysis) ends(before *explanation) (out [][]hypothesis) {
	hs := before.hypotheses()
	var may []int
	for i, h := range hs {
		c := &a.causes[h.cause]
		if h.stays() && (h.pattern != findings.Turns || len(c.Amplitudes) == 0) && c.Contact == 0 && h.onset < a.n && !(a.renewed[h.cause] && a.epoch[h.cause] > h.onset) {
			may = append(may, i)
		}
	}
	if len(may) == 0 {
		return nil
	}
	log := a.logOf(hs)
	if math.IsInf(log, -1) {
		return nil
	}
	least := log
	for _, i := range may {
		if ended, top := a.withEnd(hs, []int{i}, log, log); ended != nil {
			out, least = append(out, ended), max(least, top)
		}
	}
	if len(may) > 1 {
		if ended, _ := a.withEnd(hs, may, log, least); ended != nil {
			out = append(out, ended)
		}
	}
	return out
}

// withEnd returns some hypotheses of an explanation with the likeliest dive at which all of them
// ended, and the evidence with the prior of that; nil if it is not more than least. log is the evidence
// that they stay.
func (a *analysis) withEnd(hs []hypothesis, which []int, log, least float64) (ended []hypothesis, top float64) {
	until, first := 0, a.n-lately
	for _, i := range which {
		first = max(first, hs[i].onset)
	}
	acts := func(dive int) bool { // one of them, again
		return slices.ContainsFunc(which, func(i int) bool {
			return len(a.causes[hs[i].cause].Amplitudes) == 0 && a.otherwise(dive, hs[i].cause) != nil
		})
	}
	top = least
	for end := a.n; end > first && !acts(end); end-- {
		with := slices.Clone(hs)
		for _, i := range which {
			with[i].until = end
		}
		gone := a.logOf(with)
		if end == a.n && gone < log-active {
			break
		}
		if gone += float64(len(which)) * math.Log(goes); gone > top {
			top, until = gone, end
		}
	}
	if until == 0 {
		return nil, top
	}
	for _, i := range which {
		h := hs[i]
		h.until = until
		ended = append(ended, h)
	}
	return ended, top
}

// worth returns the log evidence plus the log prior of hypotheses.
func (a *analysis) worth(hs []hypothesis) float64 {
	return a.bentLogOf(hs) + a.prior(hs)
}

// bentLogOf returns the log evidence of hypotheses whose changes may bend, −Inf if there is no
// solution.
func (a *analysis) bentLogOf(hs []hypothesis) float64 {
	_, log := a.bending(hs, a.n, anyColumn)
	return log
}

// logOf is the same for straight changes.
func (a *analysis) logOf(hs []hypothesis) float64 {
	cols := a.columns(hs)
	return a.logEvidence(a.gather(hs, cols), cols, hs)
}

// prior returns the log prior of hypotheses.
func (a *analysis) prior(hs []hypothesis) float64 {
	log := 0.0
	for _, h := range hs {
		c := &a.causes[h.cause]
		if len(c.Amplitudes) > 0 {
			_, way := c.Way(h.way)
			log += math.Log(way * causes.Sizes[h.size].P)
		}
		switch h.pattern {
		case findings.Ramp:
			log += math.Log(c.Ramp)
		case findings.Once:
			log += math.Log(c.Once)
		case findings.Turns: // each dive may be either
			log += math.Log(c.Turns)
			if len(c.Amplitudes) > 0 {
				log -= math.Ln2 * float64(a.n-h.onset+1)
			}
			if h.onset < a.r.Baseline {
				log += math.Log(unsound)
			}
		default:
			log += math.Log(c.Step)
		}
		log += math.Log(a.lasting(h) * a.partly(h))
		if a.persists(h) {
			log += math.Log(notCured)
		}
		if h.until > 0 && !a.serviced(h) {
			log += math.Log(goes)
		}
	}
	return log
}

// staysJammed is the probability that a jam of one dive is still there in the next: it is felt at once, and
// the motor burns within seconds. One that has gone unnoticed for mostJammed dives stays. Common practice,
// no source. Without that bound a jam of 60 dives was given up for two other causes at once.
const (
	staysJammed = 0.85
	mostJammed  = 6
)

// lasting is the probability that a jam acts in as many dives as a hypothesis has it, 1 for other
// causes.
func (a *analysis) lasting(h hypothesis) float64 {
	if !a.causes[h.cause].Fails.Jam() {
		return 1
	}
	dives := a.last(h) - h.onset + 1
	if h.pattern == findings.Turns {
		dives = strings.Count(h.on, string(acts))
	}
	return math.Pow(staysJammed, float64(min(dives, mostJammed)-1))
}

// A broken circuit lets nothing through, a corroded one a part of the current. One that lets through
// just what a motor without load would draw, at partlyFrom to partlyTo times the thruster's voltage over
// its current, is partlyOpen times as probable: common practice, no source. Of 80 open circuits and lost
// propellers simulated with other physics 33 were reported rightly above 0.8 with it and 15 without, one
// wrongly with and without.
const (
	partlyFrom, partlyTo = 6.0, 30.0
	partlyOpen           = 0.1
)

// partly is the factor on the prior of an open circuit by its resistance, 1 for other causes.
func (a *analysis) partly(h hypothesis) float64 {
	how := a.causes[h.cause].Fails
	if how.Thruster == 0 || how.How != causes.Open {
		return 1
	}
	if share := a.failedBy(h).Value / a.r.Model.TestOhm(a.r.Base, how.Thruster-1); share < partlyFrom || share > partlyTo {
		return 1
	}
	return partlyOpen
}

// mended returns a remark on what ended without a line that says why, each cause once, but not on
// what is active again.
func (a *analysis) mended(now *explanation) []string {
	var words, out []string
	until := map[string]int{}
	for _, h := range a.unsaid(now) {
		back := slices.ContainsFunc(now.components, func(e component) bool { return e.hypothesis.stays() && a.related(e.cause, h.cause) })
		if back {
			continue
		}
		c := &a.causes[h.cause]
		said := c.Words + " is back at its earlier level since"
		if len(c.Amplitudes) == 0 || c.Kind == causes.NotLogged {
			said = c.Words + " ended before"
		}
		if _, again := until[said]; !again {
			words = append(words, said)
		}
		until[said] = max(until[said], h.until)
	}
	why := ", and no line says why: write under serviced what was done, or look whether it comes back"
	for _, said := range words {
		d, services := a.r.Dives[until[said]].Log, a.services(until[said])
		out = append(out, fmt.Sprintf("%s dive %s", said, d.Label))
		if len(services) > 0 {
			why = fmt.Sprintf(", where serviced says %s: what that mended may have been taken for it", strings.Join(services, " + "))
		} else if note, done := noteOfWork(d); done != "" {
			why = fmt.Sprintf(", and no serviced cell says why; the note %q may: if that was done, write serviced %s there", note, done)
		}
	}
	if len(out) == 0 {
		return nil
	}
	return []string{strings.Join(out, "; ") + why}
}

// noteOfWork returns a dive's note that says what was worked on, and those parts as a cell of
// serviced; "" if none does.
func noteOfWork(d *session.Dive) (note, done string) {
	for i := range d.Lines {
		if done = wording.Services(d.Lines[i].Note); done != "" {
			return d.Lines[i].Note, done
		}
	}
	return "", ""
}
