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
	until   int    // dive from which it is gone; 0: it stays
	way     int    // index of the cause's way
	size    int    // index in causes.Sizes
	on      string // of one by turns: a byte per dive from the onset, acts or rests
}

// stays reports whether the cause acts in the newest dive and those to come.
func (h *hypothesis) stays() bool { return h.pattern != findings.Once && h.until == 0 }

// A column is a profile over the dives with an unknown amplitude: one of a hypothesis, or the level
// of a place that was set anew.
type column struct {
	terms    []placed
	sd       float64
	onset    int
	until    int    // as in hypothesis
	on       string // as in hypothesis
	pattern  string
	cause    int  // −1 for what is no amplitude of a cause, such as a level set anew
	of       int  // index of its hypothesis, −1 for a level set anew or a kink
	offLevel bool // not part of its quantity's level: a jammed thruster's resistance
	instead  bool // its amplitude is its quantity although it changes another parameter: that of a thruster in reverse alone
}

// setAnew reports whether the column is a level set anew, and no bend of a change.
func (c *column) setAnew() bool { return c.of < 0 && c.pattern == findings.Step }

// placed is a place of the space and what a unit of an amplitude adds there.
type placed struct {
	at  int
	per float64
}

// profile returns the column's value at a dive per unit of its amplitude.
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

// ofCause returns the columns of a hypothesis: one per amplitude, a jam's resistance, none for a
// contact that comes and goes.
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
	// the baseline may have had it by turns as well, so its resting level is free
	if h.pattern == findings.Turns && h.onset >= a.r.Baseline {
		for _, col := range out {
			col.pattern, col.on, col.cause = findings.Step, "", -1
			out = append(out, col)
		}
	}
	return out
}

// columns returns the columns of hypotheses, then of the levels set anew. A level that a persisting
// hypothesis changes is not set anew.
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
			out = append(out, column{terms: []placed{{at, 1}}, sd: l.spread(a.restored), onset: l.since, pattern: findings.Step, cause: -1, of: -1})
		}
	}
	return out
}

// reaches reports whether a hypothesis changes a place.
func (a *analysis) reaches(h hypothesis, at int) bool {
	return slices.ContainsFunc(a.ofCause(h), func(c column) bool {
		return slices.ContainsFunc(c.terms, func(t placed) bool { return t.at == at })
	})
}

// over returns the column's profile over a block: its level at the first dive, and its slope per
// dive.
func (c *column) over(b *block) (level, slope float64) {
	level = c.profile(b.first)
	if c.pattern == findings.Ramp && level > 0 {
		slope = 1
	}
	return level, slope
}

// gather returns the unsolved state of the static parameters and the columns of hypotheses, after
// the newest dive. A column without sd has no prior yet.
func (a *analysis) gather(hs []hypothesis, cols []column) *state {
	static := a.r.Space.Static
	s, work := a.sum.grown(len(cols)), newProduct(len(a.r.Space.All))
	for c := range cols {
		if cols[c].sd > 0 {
			s.addPrior(len(static)+c, cols[c].sd)
		}
	}
	for _, blocks := range [][]block{a.before, a.view} { // what they say of the static parameters is in a.sum already
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

// solve gathers and solves hypotheses, with their log evidence; ok is false if there is no
// solution.
func (a *analysis) solve(hs []hypothesis) (s *state, cols []column, ok bool) {
	cols = a.columns(hs)
	s = a.gather(hs, cols)
	return s, cols, a.finish(s, cols, hs)
}

// finish solves a gathered state and completes its log evidence.
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

// logEvidence returns the log evidence of a gathered state, −Inf if it has no solution. The state
// is overwritten.
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

// inBounds returns the log of the posterior probability that the amplitudes lie within their
// bounds, with a factor of 2 for each that goes one way only, as for its half-normal prior. The
// columns follow ns static unknowns.
func (a *analysis) inBounds(s *state, cols []column, ns int) float64 {
	log := 0.0
	for c := range cols {
		if in := a.boundsOf(&cols[c]); in != (bounds{}) {
			log += in.log(s.lin[ns+c], s.sd(ns+c), 1)
		}
	}
	return log
}

// bounds limit an amplitude: to the worse side of 0 if worse is not 0, and to at most most in that
// direction; if worse is 0, to at most most upwards and least downwards. 0 is no limit.
type bounds struct{ worse, most, least float64 }

// boundsOf returns the bounds of a column's amplitude. A ramp's limit is one of what it has come to.
func (a *analysis) boundsOf(col *column) bounds {
	if col.cause < 0 {
		return bounds{}
	}
	c := &a.causes[col.cause]
	lamps := len(col.terms) == 1 && col.terms[0].at == a.r.Space.Place[predict.LightsA]
	if c.Worse == 0 && c.Most == 0 && !lamps || len(c.Amplitudes) != 1 {
		return bounds{}
	}
	out := bounds{worse: c.Worse, most: c.Most}
	if col.pattern == findings.Step && c.MostAtOnce > 0 {
		out.most = c.MostAtOnce
	}
	switch {
	case lamps:
		out.least = a.mostLit()
	case c.Worse == 0:
		out.least = c.Most
	}
	if c.Mends != "" {
		out.most = a.mostMended(c)
	}
	if col.pattern == findings.Ramp {
		last := a.n
		if col.until > 0 {
			last = col.until - 1
		}
		out.most /= col.profile(last)
		out.least /= col.profile(last)
	}
	return out
}

// mostMended returns the most resistance, Ω, that a repair can take off a thruster's wiring: what
// it had as built and by the calibration, and what may have been wrong with it since before the
// first dive, which the calibration hardly knows. It returns 0 (no bound) for all else: a loop that
// has lost more than its joints had is reported as another cable (notAsBuilt).
func (a *analysis) mostMended(c *causes.Cause) float64 {
	param := c.Param()
	ohm, ok := a.r.Model.BuiltOhm(param)
	if !ok || param == predict.LoopOhm {
		return 0
	}
	return max(ohm+a.r.Base[param], 0) + z95*math.Hypot(a.calibrated(param), c.Amplitudes[0].Step)
}

// mostLit returns the most current, A, that lights can lose: what they draw by the file and the
// calibration.
func (a *analysis) mostLit() float64 {
	v := a.r.Model.Vehicle
	return max(v.Lights.AmpsAt(v.MostV())+a.r.Base[predict.LightsA], 0) + z95*a.calibrated(predict.LightsA)
}

// calibrated returns the standard deviation that the calibration leaves a parameter, 0 if the file tells it exactly.
func (a *analysis) calibrated(param int) float64 {
	i := a.r.Space.InStatic[a.r.Space.Place[param]]
	if i < 0 {
		return 0
	}
	return math.Sqrt(a.r.Cov.At(i, i))
}

// log returns the log of the probability that a normal amplitude lies within the bounds, doubled if
// it goes one way, divided by over. A separate logarithm of over would take as long again.
func (b bounds) log(mean, sd, over float64) float64 {
	if b.worse == 0 {
		log := -math.Log(over)
		if b.most > 0 {
			log += math.Log(oneWay((b.most-mean)/sd) / 2)
		}
		if b.least > 0 {
			log += math.Log(oneWay((b.least+mean)/sd) / 2)
		}
		return log
	}
	log := math.Log(oneWay(b.worse*mean/sd) / over)
	if b.most > 0 { // its tail below 0 is far from most
		log += math.Log(oneWay((b.most-b.worse*mean)/sd) / 2)
	}
	return log
}

// oneWay returns twice the probability that a normal amplitude is positive whose mean is z standard
// deviations.
func oneWay(z float64) float64 { return math.Erfc(-z/math.Sqrt2) + 1e-300 }
