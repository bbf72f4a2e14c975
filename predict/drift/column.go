package drift

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
)

// A hypothesis is one cause that began at a dive in one pattern.
type hypothesis struct {
	cause   int
	pattern string
	onset   int
	until   int    // dive from which it is gone though no service says so; 0: it stays
	way     int    // of the cause's ways
	size    int    // of causes.Sizes
	on      string // of one by turns, a byte a dive from the onset: acts where it acts
}

// stays says whether the cause acts in the newest dive and those to come.
func (h *hypothesis) stays() bool { return h.pattern != findings.Once && h.until == 0 }

// A column is a profile over the dives whose amplitude is unknown: one of a
// hypothesis, or the level of a place that was set anew.
type column struct {
	terms   []placed
	sd      float64
	onset   int
	until   int    // as of a hypothesis
	on      string // as well
	pattern string
	cause   int  // −1 for a level set anew
	of      int  // of the hypotheses that it was made for, −1 for a level
	aside   bool // no part of its quantity's level: a thruster's resistance while it stands
	instead bool // its amplitude is its quantity, which it changes at another place: of a thruster in reverse alone
}

// setAnew says whether it is a level set anew, and no bend of a change.
func (c *column) setAnew() bool { return c.of < 0 && c.pattern == findings.Step }

// placed is a place of the space and what one unit of an amplitude adds there.
type placed struct {
	at  int
	per float64
}

// profile is the column at a dive per unit of its amplitude.
func (c *column) profile(dive int) float64 {
	switch {
	case dive < c.onset, c.pattern == findings.Once && dive > c.onset, c.until > 0 && dive >= c.until:
		return 0
	case c.pattern == findings.Turns && (dive-c.onset >= len(c.on) || c.on[dive-c.onset] != acts):
		return 0
	case c.pattern == findings.Ramp:
		return float64(dive - c.onset + 1)
	}
	return 1
}

// ofCause are the columns of a hypothesis, none for a contact that comes and goes.
func (a *analysis) ofCause(h hypothesis) []column {
	c := &a.causes[h.cause]
	if c.Fails.Jam() {
		return []column{a.standing(h)}
	}
	var out []column
	for i, amp := range c.Amplitudes {
		if i == 0 {
			amp.Terms, _ = c.Way(h.way)
		}
		col := column{sd: amp.Step, onset: h.onset, until: h.until, on: h.on, pattern: h.pattern, cause: h.cause}
		if h.pattern == findings.Ramp {
			col.sd = amp.Ramp
		}
		col.sd *= causes.Sizes[h.size].Times
		for _, t := range amp.Terms {
			col.terms = append(col.terms, placed{a.r.Space.Place[t.Param], t.Per})
		}
		col.instead = i == 0 && !slices.ContainsFunc(amp.Terms, func(t causes.Term) bool { return t.Param == c.Param() })
		out = append(out, col)
	}
	if h.pattern == findings.Turns && h.onset >= a.r.Baseline { // the baseline may have had it by turns as well
		for _, col := range out {
			col.pattern, col.on, col.cause = findings.Step, "", -1
			out = append(out, col)
		}
	}
	return out
}

// columns are those of hypotheses, then the levels set anew.
func (a *analysis) columns(hs []hypothesis) []column {
	var out []column
	for i, h := range hs {
		for _, c := range a.ofCause(h) {
			c.of = i
			out = append(out, c)
		}
	}
	for at, l := range a.levels {
		if l.sd > 0 && !slices.ContainsFunc(hs, func(h hypothesis) bool { return a.persists(h) && a.reaches(h, at) }) {
			out = append(out, column{terms: []placed{{at, 1}}, sd: l.sd, onset: l.since, pattern: findings.Step, cause: -1, of: -1})
		}
	}
	return out
}

// reaches says whether a hypothesis changes a place.
func (a *analysis) reaches(h hypothesis, at int) bool {
	return slices.ContainsFunc(a.ofCause(h), func(c column) bool {
		return slices.ContainsFunc(c.terms, func(t placed) bool { return t.at == at })
	})
}

// over is the column's profile over a block: its level at the first dive, and its
// slope.
func (c *column) over(b *block) (level, slope float64) {
	level = c.profile(b.first)
	if c.pattern == findings.Ramp && level > 0 {
		slope = 1
	}
	return level, slope
}

// gather is the state of the static parameters and the columns of hypotheses,
// after the newest dive, before it is solved. A column without sd has no prior yet.
func (a *analysis) gather(hs []hypothesis, cols []column) *state {
	static := a.r.Space.Static
	s, work := a.sum.grown(len(cols)), newProduct(len(a.r.Space.All))
	for c := range cols {
		if cols[c].sd > 0 {
			s.addPrior(len(static)+c, cols[c].sd)
		}
	}
	for _, blocks := range [][]block{a.before, a.view} { // what the baseline's say of the static parameters is in the sum
		for i := range blocks {
			s.addColumns(static, cols, &blocks[i], 1, work)
		}
	}
	for _, h := range hs {
		if len(a.causes[h.cause].Amplitudes) == 0 {
			for d := h.onset; d <= a.last(h); d++ {
				a.reread(s, cols, d, h.cause, work)
			}
		}
	}
	return s
}

// solve is the gathered state solved, with its evidence; ok is false where there
// is none.
func (a *analysis) solve(hs []hypothesis) (s *state, cols []column, ok bool) {
	cols = a.columns(hs)
	s = a.gather(hs, cols)
	return s, cols, a.finish(s, cols, hs)
}

// finish solves a gathered state.
func (a *analysis) finish(s *state, cols []column, hs []hypothesis) (ok bool) {
	if !s.solve() {
		return false
	}
	s.log += a.inBounds(s, cols, len(a.r.Space.Static))
	for _, h := range hs {
		s.log += a.constants(h)
	}
	return true
}

// logEvidence is that of a gathered state, −Inf where it has
// none. It leaves the state of no use.
func (a *analysis) logEvidence(s *state, cols []column, hs []hypothesis) float64 {
	if !a.finish(s, cols, hs) {
		return math.Inf(-1)
	}
	return s.log
}

func (c *column) dot(by []float64) float64 {
	sum := 0.0
	for _, t := range c.terms {
		sum += t.per * by[t.at]
	}
	return sum
}

// inBounds is the log of the share of the amplitudes that lie within their bounds, doubled of those
// that go one way as their prior is. The columns stand after ns static unknowns.
func (a *analysis) inBounds(s *state, cols []column, ns int) float64 {
	log := 0.0
	for c := range cols {
		if in := a.bounds(&cols[c]); in != (bounds{}) {
			log += in.log(s.lin[ns+c], s.sd(ns+c), 1)
		}
	}
	return log
}

// bounds are where an amplitude may lie: on the worse side of 0 where there is one, and up to most where that is not 0.
type bounds struct{ worse, most float64 }

// bounds are those of a column's amplitude, of a ramp by what it has come to.
func (a *analysis) bounds(col *column) bounds {
	if col.cause < 0 {
		return bounds{}
	}
	c := &a.causes[col.cause]
	if c.Worse == 0 || len(c.Amplitudes) != 1 {
		return bounds{}
	}
	out := bounds{worse: c.Worse, most: c.Most}
	if c.Mends != "" {
		out.most = a.mostMended(c)
	}
	if col.pattern == findings.Ramp {
		last := a.n
		if col.until > 0 {
			last = col.until - 1
		}
		out.most /= col.profile(last)
	}
	return out
}

// mostMended is the most that a thruster's wiring can lose by a repair: what it had as built and by the calibration, and what
// may have been wrong with it since before the first dive, of which the calibration knows little;
// 0 of all else: a loop that has lost more than its joints had is told as another cable (notAsBuilt).
func (a *analysis) mostMended(c *causes.Cause) float64 {
	param := c.Param()
	ohm, ok := a.r.Model.BuiltOhm(param)
	if !ok || param == predict.LoopOhm {
		return 0
	}
	i := a.r.Space.InStatic[a.r.Space.Place[param]]
	return max(ohm+a.r.Base[param], 0) + z95*math.Hypot(math.Sqrt(a.r.Cov.At(i, i)), c.Amplitudes[0].Step)
}

// log is the log of the probability that a normal amplitude lies within the bounds, doubled where it goes one way, over
// a number, whose logarithm by itself would take as long again.
func (b bounds) log(mean, sd, over float64) float64 {
	if b.worse == 0 {
		return -math.Log(over)
	}
	log := math.Log(oneWay(b.worse*mean/sd) / over)
	if b.most > 0 { // its tail below 0 is far from most
		log += math.Log(oneWay((b.most-b.worse*mean)/sd) / 2)
	}
	return log
}

// oneWay is twice the probability that a normal amplitude whose mean is z
// standard deviations above zero is above it.
func oneWay(z float64) float64 { return math.Erfc(-z/math.Sqrt2) + 1e-300 }
