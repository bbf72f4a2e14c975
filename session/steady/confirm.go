package steady

import "math"

// reach is how many windows to either side of a change are looked at to
// confirm it, and doubt how many standard errors the levels must lie apart.
const (
	reach = 4
	doubt = 3
)

// confirmed keeps the cuts whose two sides still lie apart over longer
// windows, the blur between left out. What noise of an odd shape, such as that
// of a current clipped at zero, makes in one window does not.
func (b *block) confirmed(cuts []int) []int {
	out := cuts[:0:0]
	for i, at := range cuts {
		from, to := 0, b.n
		if len(out) > 0 {
			from = out[len(out)-1]
		}
		if i+1 < len(cuts) {
			to = cuts[i+1]
		}
		if b.apart(from, at, to) {
			out = append(out, at)
		}
	}
	return out
}

// apart says whether any channel has two levels beside a cut. Where there is
// too little to tell, the cut stands.
func (b *block) apart(from, at, to int) bool {
	left, leftEnd := max(from, at-b.blur()-reach*b.window), at-b.blur()
	right, rightEnd := at+b.blur(), min(to, at+b.blur()+reach*b.window)
	if leftEnd-left < b.window/2 || rightEnd-right < b.window/2 {
		return true
	}
	for i := range b.channels {
		c := &b.channels[i]
		noise := max(b.longRun(c, left, leftEnd, b.window), b.longRun(c, right, rightEnd, b.window))
		limit := max(c.least, doubt*noise*math.Sqrt(1/float64(leftEnd-left)+1/float64(rightEnd-right)))
		if math.Abs(c.mean(right, rightEnd)-c.mean(left, leftEnd)) > limit {
			return true
		}
	}
	return false
}
