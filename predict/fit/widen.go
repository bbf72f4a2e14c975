package fit

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/priors"
)

// FarOut is how many standard deviations a baseline dive's departure may lie from zero before it
// counts as a fault of that dive.
const FarOut = 3.5

// pinned is the least share of the information on a baseline dive's departure that must remain when
// the shared level is known only from the other dives.
const pinned = 0.4

// inflateOutlying inflates, for each of the dives' own parameters, the variance of the dive that
// lies farthest out, if too far to be scatter, and reports whether it changed any. An estimate
// under a prior of variance s varies by s less its posterior variance.
func (c *calibration) inflateOutlying(x []float64, cov *mat.SymDense) (changed bool) {
	if cov == nil {
		return false
	}
	for i, k := range c.perDive {
		shared := -1
		if j := slices.Index(c.sp.Static, c.sp.Place[k]); j >= 0 {
			shared = c.shared + j
		}
		o := diveScatter{&c.sp.Of[k], cov, x, shared, c.variance, i, func(b int) int { return b*c.each + i }}
		changed = o.inflate() || changed
	}
	return changed
}

// A diveScatter is one parameter of each baseline dive: its variances, by dive and column, and
// its index at(dive) among the unknowns x of covariance cov. It scatters about the unknown shared
// (−1: about zero).
type diveScatter struct {
	p        *priors.Parameter
	cov      *mat.SymDense
	x        []float64
	shared   int
	variance [][]float64
	column   int
	at       func(dive int) int
}

// inflate inflates the variance of the dive that lies farthest out, and reports whether one does:
// of two that differ, the others then say which is odd.
func (o *diveScatter) inflate() bool {
	dive, most := -1, sq(FarOut)
	for b := range o.variance {
		if out := o.out(b); out > most {
			dive, most = b, out
		}
	}
	if dive >= 0 {
		o.variance[dive][o.column] += sq(o.p.Fault)
	}
	return dive >= 0
}

// out is the square of how many standard deviations a dive lies out. It is 0 if the other dives
// hardly determine the shared level: the departure may then be the vehicle's from its file.
func (o *diveScatter) out(b int) float64 {
	at, sound := o.at(b), sq(o.p.Scatter)
	varies, ifPinned := sound-o.cov.At(at, at), sound-o.cov.At(at, at)
	if o.shared >= 0 {
		ifPinned += sq(o.cov.At(at, o.shared)) / o.cov.At(o.shared, o.shared)
	}
	if o.variance[b][o.column] != sound || o.p.Fault == 0 || o.p.Normal || varies <= sound/100 || varies < pinned*ifPinned {
		return 0
	}
	return sq(o.x[at]) / varies
}

// plain is by how many standard deviations of their difference two groups of a baseline's dives
// must differ to be a step and not five or so dives that scatter: Student's t with three degrees of
// freedom is that large once in 250 times.
const plain = 8.0

// stepped reports whether the inflated dives and the others are a step: the one group first, the
// other last, two dives or more in each, and each much closer together than they lie apart.
func (o *diveScatter) stepped() bool {
	n := len(o.variance)
	last := n - 1
	at := 1 // first dive of the second group
	for at < n && o.isInflated(at) == o.isInflated(0) {
		at++
	}
	for b := at; b < n; b++ {
		if o.isInflated(b) != o.isInflated(last) {
			return false
		}
	}
	if at < 2 || n-at < 2 {
		return false
	}
	before, squares := o.mean(0, at)
	after, more := o.mean(at, n)
	apart := (squares + more) / float64(n-2) * (1/float64(at) + 1/float64(n-at))
	return sq(after-before) > sq(plain)*apart
}

// mean returns the mean of some dives, and the sum of their squared distances from it and of their
// posterior variances.
func (o *diveScatter) mean(from, to int) (mean, squares float64) {
	for b := from; b < to; b++ {
		mean += o.x[o.at(b)] / float64(to-from)
	}
	for b := from; b < to; b++ {
		squares += sq(o.x[o.at(b)]-mean) + o.cov.At(o.at(b), o.at(b))
	}
	return mean, squares
}

// isInflated reports whether a dive's variance was inflated.
func (o *diveScatter) isInflated(b int) bool {
	return o.variance[b][o.column] == sq(o.p.Scatter)+sq(o.p.Fault)
}

// deflate restores the variance of the inflated dives.
func (o *diveScatter) deflate() {
	for b := range o.variance {
		if o.isInflated(b) {
			o.variance[b][o.column] = sq(o.p.Scatter)
		}
	}
}
