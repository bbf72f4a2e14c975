package steady

import (
	"math"
	"slices"
)

// normalMAD turns a median absolute deviation into a standard deviation for
// normal noise: 1/Φ⁻¹(3/4).
const normalMAD = 1.482602218505602

// around is how many windows to either side noise is judged from.
const around = 10

// noise is the long-run standard deviation of a channel's bins near each
// window's worth of bins: the mean of many bins scatters by it over the root
// of their number, whatever the correlation between neighbours. A change of
// regime may change the noise, so either side is judged alone and the noisier
// believed.
func (b *block) noise(c *binned, longest int) []float64 {
	out := make([]float64, b.n/b.window+1)
	for i := range out {
		at := i * b.window
		back := b.longRun(c, max(0, at-around*b.window), min(b.n, at+b.window), longest)
		ahead := b.longRun(c, at, min(b.n, at+(around+1)*b.window), longest)
		out[i] = max(back, ahead)
	}
	if whole := b.longRun(c, 0, b.n, longest); len(out) <= around {
		for i := range out {
			out[i] = max(out[i], whole)
		}
	}
	return out
}

// fewestBlocks is how many differences a scale needs to say anything.
const fewestBlocks = 8

// longRun is the long-run standard deviation over bins a up to z: the largest
// that differences between neighbouring block means tell, over block lengths
// up to longest. Differences leave a slow drift out, and their median the few
// that straddle a change; those across an evident change are not looked at.
func (b *block) longRun(c *binned, a, z, longest int) float64 {
	most := 0.0
	var d []float64
	for length := 1; length <= longest; length *= 2 {
		d = d[:0]
		for at := a; at+2*length <= z; at += length {
			if b.evident[at+2*length] > b.evident[at] {
				continue
			}
			d = append(d, math.Abs(c.mean(at+length, at+2*length)-c.mean(at, at+length)))
		}
		if len(d) < fewestBlocks {
			break
		}
		slices.Sort(d)
		sd := normalMAD * median(d) / math.Sqrt2 * math.Sqrt(float64(length))
		most = max(most, sd)
	}
	return most
}
