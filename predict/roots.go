package predict

import "math"

// bracketedNewton finds the root of an increasing f in [lo, hi] by Newton's
// steps, bisecting whenever one leaves the bracket or f does not halve.
func bracketedNewton(lo, hi, x float64, f func(float64) (value, slope float64)) float64 {
	before := math.Inf(1)
	for range 200 {
		y, slope := f(x)
		if y == 0 {
			return x
		}
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - y/slope
		if !(next >= lo && next <= hi) || math.Abs(y) > before/2 {
			next = lo + (hi-lo)/2
		}
		before = math.Abs(y)
		if math.Abs(next-x) <= 1e-14*(math.Abs(x)+1e-3) || hi-lo <= 1e-15*(math.Abs(hi)+1e-3) {
			if last, _ := f(next); math.Abs(last) <= before {
				return next
			}
			f(x) // next lies beyond a jump of f, which the root is at the edge of
			return x
		}
		x = next
	}
	f(x)
	return x
}

// beyond is a bracket's end, moved by doubling steps (of the step's sign)
// until an increasing f has the step's sign there.
func beyond(end, step float64, f func(float64) (float64, float64)) float64 {
	for range 60 {
		if y, _ := f(end); y*step >= 0 {
			return end
		}
		end += step
		step *= 2
	}
	return end
}
