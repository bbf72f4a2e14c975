package steady

import (
	"math"
	"slices"
)

// A block is a piece of a record without interruption, its samples gathered
// into bins so that work does not grow with the logger's rate.
type block struct {
	from, to int     // samples
	interval float64 // s between samples
	each     int     // samples of a bin
	n        int     // bins
	window   int     // bins
	channels []binned
	evident  []int // evident[i] is how many of bins[:i] lie beside a change that is plain to see
}

// binned is one channel's bins.
type binned struct {
	x     []float64 // bin means, spikes of one or two bins taken out
	sum   []float64 // sum[i] is of x[:i], less base each
	base  float64
	least float64 // what matters: the channel's own, or a step of its resolution
}

func newBlock(r *Record, from, to int, interval float64, s Settings) *block {
	b := &block{from: from, to: to, interval: interval, each: 1}
	if interval > 0 {
		b.each = max(1, int(math.Round(s.WindowS/binsPerWindow/interval)))
	}
	b.n = max(1, (to-from)/b.each)
	b.window = fewestBins
	if interval > 0 {
		b.window = max(fewestBins, int(math.Round(s.WindowS/(float64(b.each)*interval))))
	}
	b.evident = make([]int, b.n+1)
	for c := range r.Channels {
		ch := &r.Channels[c]
		b.channels = append(b.channels, b.bin(ch.X[from:to], ch.Least))
	}
	return b
}

// bin averages samples; a bin without any repeats the one before.
func (b *block) bin(x []float64, least float64) binned {
	out := binned{x: make([]float64, b.n), least: max(least, resolution(x))}
	last := firstOf(x)
	for i := range out.x {
		sum, n := 0.0, 0
		for _, v := range x[i*b.each : min((i+1)*b.each, len(x))] {
			if !math.IsNaN(v) {
				sum += v
				n++
			}
		}
		if n > 0 {
			last = sum / float64(n)
		}
		out.x[i] = last
	}
	despike(out.x, out.least)
	out.base = out.x[0]
	out.sum = make([]float64, b.n+1)
	for i, v := range out.x {
		out.sum[i+1] = out.sum[i] + v - out.base
	}
	return out
}

// firstOf is the first sample that was read, 0 without any.
func firstOf(x []float64) float64 {
	for _, v := range x {
		if !math.IsNaN(v) {
			return v
		}
	}
	return 0
}

// resolution is the smallest difference between neighbours, 0 where all are
// alike: what a converter's last digit is worth.
func resolution(x []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(x); i++ {
		if d := math.Abs(x[i] - x[i-1]); d > 1e-12 && d < least {
			least = d
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// far is how many robust standard deviations lie between noise and a spike.
const far = 6

// despike replaces bins that lie far from the median of the five around them,
// which spikes of one or two bins do and a step does not (Hampel's filter).
func despike(x []float64, least float64) {
	if len(x) < 5 {
		return
	}
	mid := make([]float64, len(x))
	off := make([]float64, len(x))
	for i := range x {
		lo := min(max(i-2, 0), len(x)-5)
		mid[i] = median(slices.Clone(x[lo : lo+5]))
		off[i] = math.Abs(x[i] - mid[i])
	}
	limit := max(far*normalMAD*median(slices.Clone(off)), least)
	for i := range x {
		if off[i] > limit {
			x[i] = mid[i]
		}
	}
}

// mean is of bins a up to z.
func (c *binned) mean(a, z int) float64 { return c.base + (c.sum[z]-c.sum[a])/float64(z-a) }
