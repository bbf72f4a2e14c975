package steady

import "math"

// blur is how many bins before a change are left out: where levels follow a
// switch slowly, the change is found a little after it.
func (b *block) blur() int { return max(1, b.window/4) }

// settled is the first bin after a change at a from which the levels are those
// of the stretch's later half, which ends at z: at least settle seconds after
// it, at most half way.
func (b *block) settled(a, z int, settle float64) int {
	from := a + b.blur()
	if per := float64(b.each) * b.interval; per > 0 {
		from = max(from, a+int(math.Ceil(settle/per)))
	}
	half := a + (z-a)/2
	width := max(2, b.window/4)
	limits := b.limits(width, half, z)
	for ; from < half && from+width <= z; from++ {
		if b.level(from, from+width, half, z, limits) {
			break
		}
	}
	return from
}

// limits are what means of width bins may differ by from those of half up to
// end, a channel each, when nothing changes.
func (b *block) limits(width, half, end int) []float64 {
	out := make([]float64, len(b.channels))
	for i := range out {
		c := &b.channels[i]
		sd := b.longRun(c, half, end, b.window)
		out[i] = max(3*sd*math.Sqrt(1/float64(width)+1/float64(end-half)), c.least/2)
	}
	return out
}

// level says whether the means of bins a up to z lie where those of half up to
// end do.
func (b *block) level(a, z, half, end int, limits []float64) bool {
	for i := range b.channels {
		if c := &b.channels[i]; math.Abs(c.mean(a, z)-c.mean(half, end)) > limits[i] {
			return false
		}
	}
	return true
}
