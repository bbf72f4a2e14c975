package drift

import "math"

// Patterns of a change.
const (
	Steady       = "steady"
	Ramp         = "ramp"
	Step         = "step"
	Intermittent = "intermittent"
	Once         = "once"
)

// A hypothesis is one cause that began at a dive in one pattern.
type hypothesis struct {
	cause   int
	pattern string
	onset   int
}

// A column is a profile over the dives whose amplitude is unknown: one of a
// hypothesis, or the level of a place that was set anew.
type column struct {
	terms   []placed
	sd      float64
	onset   int
	pattern string
	cause   int // −1 for a level set anew
}

// placed is a place of the space and what one unit of an amplitude adds there.
type placed struct {
	at  int
	per float64
}

// profile is the column at a dive per unit of its amplitude.
func (c *column) profile(dive int) float64 {
	switch {
	case dive < c.onset, c.pattern == Once && dive > c.onset:
		return 0
	case c.pattern == Ramp:
		return float64(dive - c.onset + 1)
	}
	return 1
}

// ofCause are the columns of a hypothesis, none for one without amplitudes.
func (a *analysis) ofCause(h hypothesis) []column {
	c := &a.causes[h.cause]
	var out []column
	for _, amp := range c.Amplitudes {
		col := column{sd: amp.Step, onset: h.onset, pattern: h.pattern, cause: h.cause}
		if h.pattern == Ramp {
			col.sd = amp.Ramp
		}
		for _, t := range amp.Terms {
			col.terms = append(col.terms, placed{a.r.Place(t.Param), t.Per})
		}
		out = append(out, col)
	}
	return out
}

// columns are those of hypotheses, then the levels set anew up to dive n.
func (a *analysis) columns(hs []hypothesis, n int) []column {
	var out []column
	for _, h := range hs {
		out = append(out, a.ofCause(h)...)
	}
	for at, l := range a.levels {
		if l.since > a.r.Baseline && l.since <= n {
			out = append(out, column{terms: []placed{{at, 1}}, sd: l.sd, onset: l.since, pattern: Step, cause: -1})
		}
	}
	return out
}

// view is what dives say, under hypotheses without amplitudes too.
func (a *analysis) view(hs []hypothesis, d int) (info, lin []float64) {
	for _, h := range hs {
		if c := &a.causes[h.cause]; len(c.Amplitudes) == 0 && (d == h.onset || d > h.onset && h.pattern != Once) {
			l := a.otherwise(d, h.cause)
			return l.Info, l.Lin
		}
	}
	return a.firm[d].Info, a.firm[d].Lin
}

// solve is the state of the static parameters and the columns of hypotheses
// after dive n, with its evidence; ok is false where there is none.
func (a *analysis) solve(hs []hypothesis, n int) (s *state, cols []column, ok bool) {
	cols = a.columns(hs, n)
	static, places := a.r.Static(), a.r.Places()
	ns := len(static)
	s = a.prior.grown(len(cols))
	for c := range cols {
		s.info[(ns+c)*s.n+ns+c] = 1 / (cols[c].sd * cols[c].sd)
		s.log -= math.Log(cols[c].sd)
	}
	by := make([]float64, places)
	for d := a.r.Baseline; d <= n; d++ {
		info, lin := a.view(hs, d)
		for i, pi := range static {
			s.lin[i] += lin[pi]
			row := info[pi*places:]
			to := s.info[i*s.n:]
			for j := i; j < ns; j++ {
				to[j] += row[static[j]]
			}
		}
		for c := range cols {
			x := cols[c].profile(d)
			if x == 0 {
				continue
			}
			cols[c].apply(by, info, places)
			for i, pi := range static {
				s.info[i*s.n+ns+c] += x * by[pi]
			}
			for _, t := range cols[c].terms {
				s.lin[ns+c] += x * t.per * lin[t.at]
			}
			for e := c; e < len(cols); e++ {
				if y := cols[e].profile(d); y != 0 {
					s.info[(ns+c)*s.n+ns+e] += x * y * cols[e].dot(by)
				}
			}
		}
	}
	if !s.solve() {
		return nil, nil, false
	}
	s.log += a.signs(s, cols) + a.regimes(hs, n)
	return s, cols, true
}

// apply sets by to info times the column's direction.
func (c *column) apply(by, info []float64, places int) {
	clear(by)
	for _, t := range c.terms {
		for i, x := range info[t.at*places : (t.at+1)*places] {
			by[i] += t.per * x
		}
	}
}

func (c *column) dot(by []float64) float64 {
	sum := 0.0
	for _, t := range c.terms {
		sum += t.per * by[t.at]
	}
	return sum
}

// signs is the log of the share of the one-way causes' amplitudes that go their
// way, doubled as their prior is.
func (a *analysis) signs(s *state, cols []column) float64 {
	log, ns := 0.0, len(a.r.Static())
	for c := range cols {
		if cols[c].cause < 0 {
			continue
		}
		if worse := a.causes[cols[c].cause].Worse; worse != 0 && len(a.causes[cols[c].cause].Amplitudes) == 1 {
			log += math.Log(oneWay(worse * s.lin[ns+c] / math.Sqrt(s.info[(ns+c)*s.n+ns+c])))
		}
	}
	return log
}

// oneWay is twice the probability that a normal amplitude whose mean is z
// standard deviations above zero is above it.
func oneWay(z float64) float64 { return math.Erfc(-z/math.Sqrt2) + 1e-300 }

// regimes is what hypotheses without amplitudes add to the evidence beside the
// information that their dives have.
func (a *analysis) regimes(hs []hypothesis, n int) float64 {
	log := 0.0
	for _, h := range hs {
		if len(a.causes[h.cause].Amplitudes) == 0 {
			log += a.constants(h, n)
		}
	}
	return log
}
