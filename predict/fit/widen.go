package fit

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict/priors"
)

// FarOut is how many standard deviations a drift of a baseline dive may lie
// from nothing before it counts as a fault of that dive.
const FarOut = 3.5

// pinned is how much of what a baseline dive's departure would tell, were the
// level of all known, it must tell with that level as the other dives leave it.
const pinned = 0.4

// inflateOutlying inflates the variance of each dive's own parameters, of the one dive of which it lies farthest, where it lies too
// far out to be scatter, and says whether any was. An estimate that leans on scatter's variance s itself varies by s
// less its own.
func (c *calibration) inflateOutlying(x []float64, cov *mat.SymDense) (changed bool) {
	if cov == nil {
		return false
	}
	for i, k := range c.own {
		shared := -1
		if j := slices.Index(c.sp.Static, c.sp.Place[k]); j >= 0 {
			shared = c.shared + j
		}
		o := diveScatter{&c.sp.Of[k], cov, x, shared, c.variance, i, func(b int) int { return b*c.each + i }}
		changed = o.inflate() || changed
	}
	return changed
}

// A diveScatter is one parameter of each baseline dive: its variances by dive and place own, and where the dive's is among
// the unknowns x of covariance cov. It scatters about the unknown shared (−1: about nothing).
type diveScatter struct {
	p        *priors.Parameter
	cov      *mat.SymDense
	x        []float64
	shared   int
	variance [][]float64
	own      int
	at       func(dive int) int
}

// inflate inflates the variance of the dive that lies farthest out, and says whether one does: of two that differ the others
// then say which is odd.
func (o *diveScatter) inflate() bool {
	dive, most := -1, sq(FarOut)
	for b := range o.variance {
		if out := o.out(b); out > most {
			dive, most = b, out
		}
	}
	if dive >= 0 {
		o.variance[dive][o.own] += sq(o.p.Fault)
	}
	return dive >= 0
}

// out is the square of how many standard deviations a dive lies out. Where the other dives hardly
// pin the shared level down, the departure may as well be the vehicle's from its file, and is none.
func (o *diveScatter) out(b int) float64 {
	at, sound := o.at(b), sq(o.p.Scatter)
	varies, ifPinned := sound-o.cov.At(at, at), sound-o.cov.At(at, at)
	if o.shared >= 0 {
		ifPinned += sq(o.cov.At(at, o.shared)) / o.cov.At(o.shared, o.shared)
	}
	if o.variance[b][o.own] != sound || o.p.Fault == 0 || o.p.Normal || varies <= sound/100 || varies < pinned*ifPinned {
		return 0
	}
	return sq(o.x[at]) / varies
}

// plain is how many standard deviations of their difference two groups of a baseline's dives are apart by where they
// are a step and not five or so dives that scatter: Student's t of three degrees of freedom is so once in 250 times.
const plain = 8.0

// stepped says whether the dives that were inflated are a step: the first of the baseline, or its last, two or
// more as the others are, each group much closer together than they lie apart.
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

// mean is that of some dives, with the sum of squares of how far each lies from it and of its own error.
func (o *diveScatter) mean(from, to int) (mean, squares float64) {
	for b := from; b < to; b++ {
		mean += o.x[o.at(b)] / float64(to-from)
	}
	for b := from; b < to; b++ {
		squares += sq(o.x[o.at(b)]-mean) + o.cov.At(o.at(b), o.at(b))
	}
	return mean, squares
}

// isInflated says whether a dive was inflated.
func (o *diveScatter) isInflated(b int) bool {
	return o.variance[b][o.own] == sq(o.p.Scatter)+sq(o.p.Fault)
}

// deflate takes back what inflated its dives.
func (o *diveScatter) deflate() {
	for b := range o.variance {
		if o.isInflated(b) {
			o.variance[b][o.own] = sq(o.p.Scatter)
		}
	}
}
