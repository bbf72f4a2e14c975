package drift

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict/findings"
)

// A fault seldom grows straight: corrosion slows down, a tear grows faster, weed comes in tufts. Steps and
// straight ramps find and date it well, but the level that they leave at the newest dive is that of the
// pattern, not of the last dives, and what they leave over of a large one looks like a second cause: of a loop that gains
// 1.2 Ω ever more slowly, a contact that comes and goes besides in 13 of 24 simulated seasons
// (TestFaultsInStairs has one). So levels and slopes, and what
// any other cause is weighed against, hold also that the slope changes as a random walk
// (the local linear trend of structural time series: Harvey, Forecasting, Structural Time Series Models
// and the Kalman Filter, 1989, §2.3), each size of the walk by its evidence.

// bends are how much the slope may change over the whole of a change, one standard
// deviation against the mean slope, with their priors; common practice, no source.
var bends = []struct{ size, prior float64 }{{0, 0.6}, {1, 0.3}, {4, 0.1}}

// kinks is how many dives at most the slope of a change may change at.
const kinks = 12

// A bent is a solved state some of whose changes bend, with its weight among the sizes of bends.
type bent struct {
	*state
	cols   []column
	weight float64
}

// bending solves hypotheses with each size of bends of the columns wanted, up to a dive, and returns the log of the
// evidence of all sizes; none where there is no solution.
func (a *analysis) bending(hs []hypothesis, upto int, wanted func(*column) bool) (out []bent, all float64) {
	s, cols, ok := a.solve(hs)
	if !ok {
		return nil, math.Inf(-1)
	}
	mean := a.meanSlopes(s, cols, upto, wanted)
	if len(mean) == 0 {
		return []bent{{s, cols, 1}}, s.log
	}
	out, all = []bent{{s, cols, bends[0].prior}}, s.log+math.Log(bends[0].prior)
	for _, b := range bends[1:] {
		var more []column
		for _, m := range mean {
			more = append(more, m.kinks(b.size)...)
		}
		if s, cols := a.gather(hs, more...); a.finish(s, cols, hs) {
			out, all = append(out, bent{s, cols, b.prior}), logAdd(all, s.log+math.Log(b.prior))
		}
	}
	for i := range out {
		out[i].weight *= math.Exp(out[i].log - all)
	}
	return out, all
}

// bentBy solves hypotheses with each size of bends of what still changes cause c's quantity up to dive last, only
// without where it does not bend; none where there is no solution.
func (a *analysis) bentBy(c int, hs []hypothesis, bend bool, last int) []bent {
	at := a.r.Space.Place[a.causes[c].Param()]
	out, _ := a.bending(hs, last, func(col *column) bool { return bend && col.until == 0 && col.terms[0].at == at })
	return out
}

// solveBent solves hypotheses with the likeliest size of bends of all that steps or ramps; the log is that of the
// evidence of all sizes.
func (a *analysis) solveBent(hs []hypothesis) (likeliest *state, cols []column, ok bool) {
	all, log := a.bending(hs, a.n, func(*column) bool { return true })
	if len(all) == 0 {
		return nil, nil, false
	}
	best := slices.MaxFunc(all, func(x, y bent) int { return cmp.Compare(x.weight, y.weight) })
	best.log = log
	return best.state, best.cols, true
}

// A meanSlope is how much a change has grown a dive since its onset, up to its last dive.
type meanSlope struct {
	column
	slope float64
	last  int
}

// meanSlopes are those of the hypotheses' columns that step or ramp, of those that are wanted, up to a dive.
func (a *analysis) meanSlopes(s *state, cols []column, upto int, wanted func(*column) bool) []meanSlope {
	var out []meanSlope
	for i := range cols {
		col, last := &cols[i], upto
		if col.of < 0 || col.cause < 0 || col.aside || col.pattern != findings.Ramp && col.pattern != findings.Step || len(col.terms) == 0 || !wanted(col) {
			continue
		}
		if col.until > 0 {
			last = min(last, col.until-1)
		}
		grown := math.Abs(s.lin[len(a.r.Space.Static)+i] * col.profile(last))
		if last > col.onset && grown > 0 {
			out = append(out, meanSlope{*col, grown / float64(last-col.onset+1), last})
		}
	}
	return out
}

// kinks are columns of a change whose slope walks by size times its mean.
func (m *meanSlope) kinks(size float64) []column {
	dives := m.last - m.onset
	by := (dives + kinks - 1) / kinks
	var out []column
	for d := m.last; d > m.onset; d -= by {
		k := m.column
		k.pattern, k.onset, k.cause, k.of = findings.Ramp, d, -1, -1
		k.sd = size * m.slope * math.Sqrt(float64(by)/float64(dives))
		out = append(out, k)
	}
	return out
}
