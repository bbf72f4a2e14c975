package drift

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict/findings"
)

// A fault seldom grows straight: corrosion slows down, a tear grows faster, weed comes in tufts.
// Steps and straight ramps find and date it well. But the level that they give at the newest dive
// is that of the pattern, not of the last dives, and what they leave over of a large fault looks
// like a second cause: for a loop that gains 1.2 Ω ever more slowly, an additional contact that
// comes and goes in 13 of 24 simulated seasons (TestFaultsInStairs has one). So for levels, for
// slopes, and when another cause is weighed, the slope may also change as a random walk (the local
// linear trend of structural time series: Harvey, Forecasting, Structural Time Series Models and
// the Kalman Filter, 1989, §2.3), each size of the walk weighted by its evidence.

// bendSizes are the sizes of the random walk with their priors: how much the slope may change over
// the whole of a change, one standard deviation over the mean slope; common practice, no source.
var bendSizes = []struct{ size, prior float64 }{{0, 0.6}, {1, 0.3}, {4, 0.1}}

// kinks is the largest number of dives at which the slope of one change may change.
const kinks = 12

// A bent is a solved state some of whose changes bend, with its weight among the sizes of bends.
type bent struct {
	*state
	cols   []column
	weight float64
}

// bending solves hypotheses with each size of bends of the columns that wanted accepts, up to a
// dive. It returns one state per size, none if there is no solution, and the log evidence over all
// sizes.
func (a *analysis) bending(hs []hypothesis, upto int, wanted func(*column) bool) (out []bent, all float64) {
	return a.solveBends(a.gatherBends(hs, upto, wanted), hs)
}

// gatherBends gathers hypotheses and the kinks of the columns that wanted accepts, up to a dive.
func (a *analysis) gatherBends(hs []hypothesis, upto int, wanted func(*column) bool) *bendable {
	g := &bendable{cols: a.columns(hs)}
	for c := range g.cols {
		if col := &g.cols[c]; wanted(col) && col.mayBend() {
			g.kinks = append(g.kinks, col.kinks(c, upto)...)
		}
	}
	for _, k := range g.kinks {
		g.cols = append(g.cols, k.column)
	}
	g.state = a.gather(hs, g.cols)
	return g
}

// solveBends is bending for gathered hypotheses. It leaves g unchanged.
func (a *analysis) solveBends(g *bendable, hs []hypothesis) (out []bent, all float64) {
	ns := len(a.r.Space.Static)
	s, cols := g.without(ns, g.cols, func(c *column) bool { return c.sd == 0 })
	if !a.finish(s, cols, hs) {
		return nil, math.Inf(-1)
	}
	size := func(k kink) float64 { return k.share * math.Abs(s.lin[ns+k.by]) }
	if !slices.ContainsFunc(g.kinks, func(k kink) bool { return size(k) > 0 }) {
		return []bent{{s, cols, 1}}, s.log
	}
	out, all = []bent{{s, cols, bendSizes[0].prior}}, s.log+math.Log(bendSizes[0].prior)
	for _, b := range bendSizes[1:] {
		bending, first := slices.Clone(g.cols), len(cols)
		for i, k := range g.kinks {
			bending[first+i].sd = b.size * size(k)
		}
		t, bending := g.without(ns, bending, func(c *column) bool { return c.sd == 0 })
		for c := first; c < len(bending); c++ {
			t.addPrior(ns+c, bending[c].sd)
		}
		if a.finish(t, bending, hs) {
			out, all = append(out, bent{t, bending, b.prior}), logAdd(all, t.log+math.Log(b.prior))
		}
	}
	for i := range out {
		out[i].weight *= math.Exp(out[i].log - all)
	}
	return out, all
}

// bentBy is bending up to dive last of the changes of cause c's quantity that have not ended, or
// without bends if bend is false.
func (a *analysis) bentBy(c int, hs []hypothesis, bend bool, last int) []bent {
	at := a.r.Space.Place[a.causes[c].Param()]
	out, _ := a.bending(hs, last, func(col *column) bool { return bend && col.until == 0 && col.terms[0].at == at })
	return out
}

// likeliestBends solves gathered hypotheses and returns the state with the likeliest size of bends;
// its log is the evidence over all sizes.
func (a *analysis) likeliestBends(g *bendable, hs []hypothesis) (likeliest *state, cols []column, ok bool) {
	all, log := a.solveBends(g, hs)
	if len(all) == 0 {
		return nil, nil, false
	}
	best := slices.MaxFunc(all, func(x, y bent) int { return cmp.Compare(x.weight, y.weight) })
	best.log = log
	return best.state, best.cols, true
}

// anyColumn accepts every column.
func anyColumn(*column) bool { return true }

// mayBend reports whether a column is a cause's step or ramp.
func (c *column) mayBend() bool {
	return c.of >= 0 && c.cause >= 0 && !c.offLevel && (c.pattern == findings.Ramp || c.pattern == findings.Step) && len(c.terms) > 0
}

// A bendable is the gathered state of hypotheses and of the kinks of what may bend, whose columns
// come last and have no prior yet.
type bendable struct {
	*state
	cols  []column
	kinks []kink
}

// clone returns a copy whose state may be changed.
func (g *bendable) clone() *bendable { return &bendable{g.state.clone(), g.cols, g.kinks} }

// A kink is a dive at which the slope of a change may change. In a walk of size 1 its standard
// deviation is share times the amplitude of column by.
type kink struct {
	column
	by    int
	share float64
}

// kinks returns the kinks, up to a dive, of c, which is column number.
func (c *column) kinks(number, upto int) (out []kink) {
	last := upto
	if c.until > 0 {
		last = min(last, c.until-1)
	}
	dives := last - c.onset
	by := (dives + kinks - 1) / kinks
	for d := last; d > c.onset; d -= by {
		k := *c
		k.pattern, k.onset, k.cause, k.sd = findings.Ramp, d, -1, 0
		out = append(out, kink{k, number, c.profile(last) / float64(dives+1) * math.Sqrt(float64(by)/float64(dives))})
	}
	return out
}
