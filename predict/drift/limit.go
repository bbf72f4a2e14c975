package drift

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"

	"sagline/predict/findings"
)

// likelyOnset is the weight, over the likeliest onset's, below which an onset is left out of what
// is computed from a ramp.
const likelyOnset = 0.02

// A line is a ramp's level at the newest dive and its slope per dive, with their variances and
// covariance (together) and the weight of its onset.
type line struct {
	weight, level, slope           float64
	levelVar, slopeVar, covariance float64
}

// lines returns the ramps that a cause may be on, by onset and size of bends.
func (a *analysis) lines(c int, active *component, hs []hypothesis, last int) []line {
	var out []line
	top := 0.0
	for _, o := range active.onsets {
		if o.h.pattern == findings.Ramp {
			top = max(top, o.p)
		}
	}
	for _, o := range active.onsets {
		if o.h.pattern != findings.Ramp || o.p < likelyOnset*top {
			continue
		}
		with := append([]hypothesis(nil), hs...)
		for i := range with {
			if with[i] == active.hypothesis {
				with[i] = o.h
			}
		}
		for _, s := range a.bentBy(c, with, true, last) {
			l := a.lineOf(&s, c, last)
			l.weight *= o.p
			out = append(out, l)
		}
	}
	return out
}

// lineOf returns cause c's level and slope at dive last in a solved state.
func (a *analysis) lineOf(s *bent, c, last int) line {
	now, before := a.weightsAt(s.state, s.cols, c, last), a.weightsAt(s.state, s.cols, c, last-1)
	by := make([]float64, s.n)
	for i := range by {
		by[i] = now[i] - before[i]
	}
	l := line{weight: s.weight}
	l.level, l.levelVar = s.linear(now)
	l.slope, l.slopeVar = s.linear(by)
	s.whiten(row(now))
	s.whiten(row(by))
	l.covariance = blas64.Dot(vector(now), vector(by))
	l.levelVar += a.unaveraged(c, last)
	return l
}

// slope fills in a ramp's change per dive, the dives to the limit and the levels ahead.
func (a *analysis) slope(t *findings.Trend, c int, active *component, hs []hypothesis, last int) {
	lines := a.lines(c, active, hs, last)
	if len(lines) == 0 {
		return
	}
	var weight, mean, square float64
	for _, l := range lines {
		weight, mean, square = weight+l.weight, mean+l.weight*l.slope, square+l.weight*(l.slope*l.slope+l.slopeVar)
	}
	mean /= weight
	sd := math.Sqrt(max(square/weight-mean*mean, 0))
	scale := a.causes[c].Scale
	by := 1.0 // ∂(quantity)/∂(amplitude)
	if scale.Negative {
		by = -by
	}
	if scale.Factor {
		by *= t.Level.Value
	}
	e := ordered(by*mean, by*(mean-z95*sd), by*(mean+z95*sd))
	t.PerDive = &e
	limit := math.NaN()
	if t.Limit != nil {
		limit = a.amplitude(c, *t.Limit)
		left := divesLeft(lines, limit, a.causes[c].Worse)
		t.DivesToLimit = &left
	}
	for k := range aheadDives + 1 {
		t.Ahead = append(t.Ahead, a.ahead(lines, c, float64(k), limit))
	}
}

// aheadDives is how many dives ahead a ramp is shown; common practice, no source.
const aheadDives = 8

// ahead returns a ramp's level some dives ahead, over its onsets, and the probability that it is
// then past the limit.
func (a *analysis) ahead(lines []line, c int, dives, limit float64) findings.Ahead {
	var weight, mean, square float64
	for _, l := range lines {
		m := l.level + dives*l.slope
		weight, mean, square = weight+l.weight, mean+l.weight*m, square+l.weight*(m*m+l.varianceAfter(dives))
	}
	mean /= weight
	sd := math.Sqrt(max(square/weight-mean*mean, 0))
	out := findings.Ahead{Level: a.display(c, mean, mean-z95*sd, mean+z95*sd)}
	if !math.IsNaN(limit) {
		out.Past = past(lines, limit, a.causes[c].Worse, dives)
	}
	return out
}

// varianceAfter returns the variance of a line's level after some dives.
func (l *line) varianceAfter(dives float64) float64 {
	return max(l.levelVar+2*dives*l.covariance+dives*dives*l.slopeVar, 1e-24)
}

// past returns the probability that a ramp lies beyond a limit after some dives.
func past(lines []line, limit, worse, dives float64) float64 {
	var sum, weight float64
	for _, l := range lines {
		mean := worse * (l.level + dives*l.slope - limit)
		sum, weight = sum+l.weight*0.5*math.Erfc(-mean/math.Sqrt(l.varianceAfter(dives))/math.Sqrt2), weight+l.weight
	}
	return sum / weight
}

// divesLeft returns in how many dives a ramp passes its limit: the median and the 5 and 95 % points
// of the first dive at which level + dives·slope lies beyond it, from level and slope together,
// over the onsets. A point is 0 where it may be past already.
func divesLeft(lines []line, limit, worse float64) findings.Estimate {
	past := func(dives float64) float64 { return past(lines, limit, worse, dives) }
	at := func(p float64) float64 {
		if past(0) >= p {
			return 0
		}
		lo, hi := 0.0, 1.0
		for past(hi) < p {
			if hi == findings.FarAhead {
				return findings.FarAhead
			}
			hi = min(2*hi, findings.FarAhead)
		}
		for hi-lo > 1e-3*(1+lo) {
			if mid := (lo + hi) / 2; past(mid) < p {
				lo = mid
			} else {
				hi = mid
			}
		}
		return hi
	}
	return findings.Estimate{Value: at(0.5), Low: at(0.05), High: at(0.95)}
}
