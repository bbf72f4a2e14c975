package drift

import (
	"math"
	"runtime"
	"slices"

	"sagline/predict/findings"
	"sagline/predict/parallel"
)

// earlier returns the next onset to weigh before dive d, not before first. Onsets are spaced wider
// with age; onsets already in the explanation are always included.
func (s *scanner) earlier(d, first int) int {
	by, from := spacing(s.a.n-d+1), s.a.r.Baseline
	next := max(from+(d-1-from)/by*by, first)
	for _, onset := range s.a.onsets {
		if onset < d {
			next = max(next, onset)
		}
	}
	return next
}

// first returns the first dive at which a cause may begin: the first after the baseline or, after a
// service, one dive later, because the new level of its own takes a dive to be known. A jam may
// begin at the service's dive: new propellers may rub at once.
func (a *analysis) first(cause int) int {
	if a.renewed[cause] && len(a.causes[cause].Amplitudes) > 0 {
		return a.epoch[cause] + 1
	}
	return a.epoch[cause]
}

// A scanner weighs causes that begin at each dive, given hypotheses that explain the dives so far.
// One more amplitude borders the solved state's information by a column and a corner, so its
// evidence needs only the state's Cholesky factor. Column and corner of an onset follow from those
// of the next later onset.
type scanner struct {
	a        *analysis
	hs       []hypothesis
	cols     []column
	base     *state    // hs solved, with the likeliest size of bends
	gathered *bendable // the same before it is solved
	view     []block   // the dives as hs read them
	from     int       // first onset to weigh
	firm     bool      // without contacts that come and go

	before, after []blockCrossTerms // of the baseline's dives, and of view

	work []*product // one per core
	left state      // of the amplitudes alone; reused
}

func (a *analysis) scanner(hs []hypothesis) (*scanner, bool) {
	s := &scanner{a: a, hs: hs, view: a.view}
	for range runtime.GOMAXPROCS(0) {
		s.work = append(s.work, newProduct(len(a.r.Space.All)))
	}
	var ok bool
	s.gathered = a.gatherBends(hs, a.n, anyColumn)
	s.base, s.cols, ok = a.likeliestBends(s.gathered, hs)
	for _, h := range hs {
		s.reread(h)
	}
	return s, ok
}

// reread replaces, in a copy of the view, the dives that a hypothesis without amplitudes covers by
// what they say under it.
func (s *scanner) reread(h hypothesis) {
	if len(s.a.causes[h.cause].Amplitudes) > 0 {
		return
	}
	s.view = slices.Clone(s.view)
	for d := h.onset; d <= s.a.last(h); d++ {
		if b := s.a.otherwise(d, h.cause); b != nil {
			s.view[len(s.view)-1-(s.a.n-d)] = *b
		}
	}
}

// scan weighs every cause. It reuses the storage of the previous scan.
func (s *scanner) scan() []evidenceOf {
	out := s.a.found
	for c := range out {
		out[c] = evidenceOf{onsets: out[c].onsets[:0], once: out[c].once[:0]}
	}
	s.allCrossTerms()
	s.a.readOtherwise()
	workers := make([]scanner, len(s.work))
	each := make([]*scanner, len(s.work))
	for i, work := range s.work {
		workers[i], each[i] = *s, &workers[i]
		workers[i].left, workers[i].work = state{}, []*product{work}
	}
	_ = parallel.Each(each, len(out), func(c int, mine *scanner) error {
		switch {
		case len(s.a.causes[c].Amplitudes) > 0:
			mine.amplitudes(&out[c], c)
		case !s.has(c) && !s.isSame(c) && !(s.firm && s.a.causes[c].Contact > 0):
			mine.regimes(&out[c], c)
		}
		return nil
	})
	for _, h := range s.a.mayPersist { // their level is not set anew, so that each needs a solution of its own
		if s.a.persists(h) && !s.has(h.cause) {
			s.regime(&out[h.cause], h, math.Exp(s.a.prior([]hypothesis{h})), nil)
		}
	}
	return out
}

// single reports whether a dive is already explained as one dive alone.
func (s *scanner) single(d int) bool {
	for _, h := range s.hs {
		if h.pattern == findings.Once && h.onset == d {
			return true
		}
	}
	return false
}

// has reports whether a staying hypothesis of a cause is already in the explanation.
func (s *scanner) has(cause int) bool {
	return slices.ContainsFunc(s.hs, func(h hypothesis) bool { return h.cause == cause && h.stays() })
}

// isSame reports whether a cause is the failure of what a staying hypothesis is about: an open
// circuit beside a contact with more resistance is that contact, in dives where its linear effect
// falls short.
func (s *scanner) isSame(cause int) bool {
	return s.a.causes[cause].Fails.Thruster > 0 && slices.ContainsFunc(s.hs, func(h hypothesis) bool { return h.cause == s.a.reportedAs(cause) && h.stays() })
}

// leavesBaseline reports whether a cause may still begin within the baseline: it may unless a
// staying hypothesis of it begins there or is a ramp. What a ramp leaves unexplained is attributed
// to its bends.
func (s *scanner) leavesBaseline(cause int) bool {
	return !slices.ContainsFunc(s.hs, func(h hypothesis) bool {
		return h.cause == cause && h.stays() && (h.onset < s.a.r.Baseline || h.pattern == findings.Ramp)
	})
}

// begins reports whether a staying hypothesis of a cause begins at a dive. The cause may begin once
// more at another dive, in steps or faster.
func (s *scanner) begins(cause, dive int) bool {
	return slices.ContainsFunc(s.hs, func(h hypothesis) bool { return h.cause == cause && h.stays() && h.onset == dive })
}

// byTurns reports whether a hypothesis by turns of a cause is already in the explanation.
func (s *scanner) byTurns(cause int) bool {
	return slices.ContainsFunc(s.hs, func(h hypothesis) bool { return h.cause == cause && h.pattern == findings.Turns })
}

// amplitudes weighs a cause with amplitudes, in each of its ways, from the newest onset to the
// oldest.
func (s *scanner) amplitudes(out *evidenceOf, cause int) {
	if s.byTurns(cause) {
		return
	}
	for way := range s.a.causes[cause].Ways() {
		s.inWay(out, cause, way)
	}
}

// allCrossTerms computes the cross terms of all blocks that a scan may use, in the storage of the
// previous scan.
func (s *scanner) allCrossTerms() {
	a := s.a
	blocks := make([]*block, 0, len(a.before)+len(s.view))
	for _, from := range [][]block{a.before, s.view} {
		for i := range from {
			blocks = append(blocks, &from[i])
		}
	}
	for len(a.lastCrossTerms) < len(blocks) {
		a.lastCrossTerms = append(a.lastCrossTerms, blockCrossTerms{})
	}
	_ = parallel.Each(s.work, len(blocks), func(i int, work *product) error {
		if b := blocks[i]; s.from <= a.r.Baseline || b.first >= s.from {
			s.fillCrossTerms(&a.lastCrossTerms[i], b, work)
		}
		return nil
	})
	s.before, s.after = a.lastCrossTerms[:len(a.before)], a.lastCrossTerms[len(a.before):len(blocks)]
}

func (s *scanner) inWay(out *evidenceOf, cause, way int) {
	o := newOnsets(s.a.ofCause(hypothesis{cause: cause, way: way, pattern: findings.Step}), s.a.causes[cause].Ramp > 0, s.base.n)
	first := max(s.a.first(cause), s.from)
	for i := len(s.after) - 1; i >= 0 && s.after[i].first >= first; {
		end := s.after[i].end()
		d := min(s.earlier(end, first), s.after[i].first)
		for ; i >= 0 && s.after[i].first >= d; i-- {
			o.take(&s.after[i])
		}
		d = s.after[i+1].first // nothing begins within a block: the onset is the first dive of the last block taken
		s.onset(out, o, hypothesis{cause: cause, way: way, onset: d}, end)
	}
	if first == s.a.r.Baseline && s.leavesBaseline(cause) {
		s.inBaseline(out, o, cause, way)
	}
}

// unsound is the factor on the prior of an onset within the baseline, whose dives the owner takes
// to be sound: common practice, no source.
const unsound = 0.1

// inBaseline weighs onsets at the baseline's dives after its first, and with the first that the
// cause acts alike in all dives.
func (s *scanner) inBaseline(out *evidenceOf, o *onsets, cause, way int) {
	for i := len(s.before) - 1; i > 0; i-- {
		o.take(&s.before[i])
		s.onset(out, o, hypothesis{cause: cause, way: way, onset: i}, i+1)
	}
	s.always(out, o, cause, way)
}

// misled is the prior probability that the model and the file are wrong just as a cause would have
// it, in all dives alike: common practice, no source. With 0.02, friction that grows is found two
// dives later in seasons of the model's own world.
const misled = 0.005

// always weighs that a cause's amplitudes act in all dives, the baseline's included. What is
// equally wrong in all dives has not changed, even where the calibration could not absorb it.
func (s *scanner) always(out *evidenceOf, o *onsets, cause, way int) {
	if len(s.before) > 0 {
		o.take(&s.before[0])
	}
	if !o.speaks() {
		return
	}
	_, p := s.a.causes[cause].Way(way)
	for size, log := range s.evidence(o.cols, o.step, o.steps) {
		if s.a.causes[cause].MaySize(size, way) {
			out.always.add(hypothesis{}, math.Log(misled*p)+logSize[size]+log)
		}
	}
}

// onset weighs a cause that begins at dive h.onset, on behalf of all onsets from there up to end.
func (s *scanner) onset(out *evidenceOf, o *onsets, h hypothesis, end int) {
	c, d := &s.a.causes[h.cause], h.onset
	if !o.speaks() || s.begins(h.cause, d) {
		return
	}
	_, p := c.Way(h.way)
	as := func(pattern string) hypothesis { h.pattern = pattern; return h }
	count := math.Log(p * float64(end-d))
	if d < s.a.r.Baseline {
		count += math.Log(unsound)
	}
	s.add(out, as(findings.Step), math.Log(c.Step)+count, s.evidence(o.cols, o.step, o.steps))
	if o.ramps && d < s.a.n {
		s.add(out, as(findings.Ramp), math.Log(c.Ramp)+count, s.rampEvidence(o, d, c.Amplitudes[0].Ramp))
	}
	// a folded dive is settled for good
	if c.Once > 0 && end-d == 1 && d >= s.a.r.Baseline && d >= s.a.held[0].first && !s.single(d) {
		s.add(out, as(findings.Once), math.Log(c.Once*p), s.evidence(o.cols, o.one, o.single))
	}
}

// unread is the information on an amplitude, times its prior variance, below which no reading tells
// of a cause: its probability stays that of the prior, so it is not weighed.
const unread = 1e-6

func (o *onsets) speaks() bool {
	for j := range o.cols {
		if o.steps.At(j, j)*sq(o.cols[j].sd) > unread {
			return true
		}
	}
	return false
}

// regimes weighs a cause without amplitudes since each held dive that suggests it, or in one such
// dive alone: a jam for as long as all dives since suggest it; a contact that comes and goes, or a
// jam by turns, although some dives are quiet.
func (s *scanner) regimes(out *evidenceOf, cause int) {
	c := &s.a.causes[cause]
	pattern, prior := findings.Step, c.Step
	if c.Contact > 0 {
		pattern = findings.Intermittent
	}
	on := ""
	since := s.gathered.clone()
	for d := s.a.n; d >= max(s.a.first(cause), s.a.held[0].first, s.from, s.regimesEnd()); d-- {
		if s.a.otherwise(d, cause) == nil {
			on = string(rests) + on
			if c.Contact == 0 && !s.a.silent(d, cause) {
				pattern, prior = findings.Turns, c.Turns
			}
			continue
		}
		on = string(acts) + on
		s.a.reread(since.state, since.cols, d, cause, s.work[0]) // since now reads all suggesting dives from d on otherwise
		if h := (hypothesis{cause: cause, pattern: pattern, onset: d}); prior > 0 {
			if pattern == findings.Turns {
				h.on = on
			}
			s.regime(out, h, prior*s.a.lasting(h)*s.a.partly(h), since)
		}
		// a contact that is worse in one whole dive is weighed as excess resistance in that dive
		if _, whole := s.a.under(d, cause); c.Once > 0 && !whole && s.a.n-d < exact {
			alone := s.gathered.clone()
			s.a.reread(alone.state, alone.cols, d, cause, s.work[0])
			s.regime(out, hypothesis{cause: cause, pattern: findings.Once, onset: d}, c.Once, alone)
		}
	}
}

// regime weighs one hypothesis that needs a solution of its own: it reads its dives otherwise, or
// keeps a level that a service would set anew. gathered is the state with those dives reread;
// regime gathers it itself if it is nil or the hypothesis has a column (a jam).
func (s *scanner) regime(out *evidenceOf, h hypothesis, prior float64, gathered *bendable) {
	hs := append(slices.Clip(s.hs), h)
	if gathered == nil || s.a.causes[h.cause].Fails.Jam() {
		gathered = s.a.gatherBends(hs, s.a.n, anyColumn)
	}
	if bent, log := s.a.solveBends(gathered, hs); len(bent) > 0 {
		out.add(h, math.Log(prior)+log)
	}
}

// regimesEnd returns the first dive after all that are already read under a regime: regimes do not
// overlap.
func (s *scanner) regimesEnd() (end int) {
	for _, h := range s.hs {
		if len(s.a.causes[h.cause].Amplitudes) == 0 {
			end = max(end, s.a.last(h)+1)
		}
	}
	return end
}

func sq(x float64) float64 { return x * x }
