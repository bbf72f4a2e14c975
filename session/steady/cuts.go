package steady

import "math"

// cuts are the bins before which a level changed: the two windows that meet
// there differ by more than the largest difference that noise makes anywhere
// in the block, and by more than matters (a moving-sum test for several
// changes). risk is shared by the channels.
func (b *block) cuts(risk float64) []int {
	if len(b.channels) == 0 || b.n < 2*fewestEdge {
		return nil
	}
	crit := Critical(float64(b.n)/float64(b.window), risk/float64(len(b.channels)))
	// What is plain to see by the noise of close neighbours must not be taken
	// for noise where that is judged over longer times.
	b.passOver(b.changes(crit, b.window/4))
	var out []int
	for _, c := range b.changes(crit, b.window) {
		out = b.cut(out, c.at, c.channel)
	}
	return b.confirmed(out)
}

// A change is where a difference is larger than its limit.
type change struct {
	at, channel int
	excess      float64 // how many times as large
}

// changes are the peaks of the differences, for noise judged over up to
// longest bins.
func (b *block) changes(crit float64, longest int) []change {
	excess := make([]float64, b.n)
	most := make([]int, b.n) // the channel that says so
	for i := range b.channels {
		c := &b.channels[i]
		noise := b.noise(c, longest)
		for k := fewestEdge; k <= b.n-fewestEdge; k++ {
			left, right := min(b.window, k), min(b.window, b.n-k)
			limit := max(crit*noise[k/b.window]*math.Sqrt(1/float64(left)+1/float64(right)), c.least)
			e := math.Abs(c.mean(k, k+right) - c.mean(k-left, k))
			if limit > 0 {
				e /= limit
			}
			if e > excess[k] {
				excess[k], most[k] = e, i
			}
		}
	}
	var out []change
	for k, e := range excess {
		if e > 1 && peak(excess, k, b.window/2) {
			out = append(out, change{k, most[k], e})
		}
	}
	return out
}

// plain is how many times its limit a change is that is plain to see.
const plain = 3

// passOver marks the bins beside plain changes and half a window after them,
// while things settle.
func (b *block) passOver(found []change) {
	beside := make([]bool, b.n)
	for _, c := range found {
		if c.excess > plain {
			for i := c.at - 1; i < min(b.n, c.at+b.window/2); i++ {
				beside[i] = true
			}
		}
	}
	for i, is := range beside {
		b.evident[i+1] = b.evident[i]
		if is {
			b.evident[i+1]++
		}
	}
}

// fewestEdge is how many bins a window has at least, at the ends of a block.
const fewestEdge = 4

// peak says whether e is largest at k within reach, the first such.
func peak(e []float64, k, reach int) bool {
	for i := max(0, k-reach); i < min(len(e), k+reach+1); i++ {
		if e[i] > e[k] || i < k && e[i] == e[k] {
			return false
		}
	}
	return true
}

// cut adds the bin near k that parts the bins around it best by least squares.
func (b *block) cut(out []int, k, channel int) []int {
	c := &b.channels[channel]
	lo, hi := max(0, k-b.window), min(b.n, k+b.window)
	if len(out) > 0 {
		lo = max(lo, out[len(out)-1])
	}
	best, gain := k, -1.0
	for j := max(lo+1, k-b.window/2); j < min(hi, k+b.window/2+1); j++ {
		d := c.mean(j, hi) - c.mean(lo, j)
		if g := d * d * float64(j-lo) * float64(hi-j); g > gain {
			best, gain = j, g
		}
	}
	if len(out) > 0 && best <= out[len(out)-1] {
		return out
	}
	return append(out, best)
}

// Critical is what the largest standardised difference of two neighbouring
// windows stays below with probability 1 − risk when nothing changes, in a
// record of so many windows: the Gumbel limit of the moving-sum statistic with
// a(x) = √(2 ln x) and b(x) = 2 ln x + ½ ln ln x + ln(3/2) − ½ ln π (Eichinger
// and Kirch 2018, Bernoulli 24, from memory; the tests hold it against
// simulated noise).
func Critical(windows, risk float64) float64 {
	x := max(windows, math.E)
	l := math.Log(x)
	b := 2*l + math.Log(l)/2 + math.Log(1.5) - math.Log(math.Pi)/2
	c := -math.Log(-math.Log(1-risk) / 2)
	return (b + c) / math.Sqrt(2*l)
}
