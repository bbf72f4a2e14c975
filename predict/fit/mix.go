package fit

import (
	"math"

	"sagline/predict/vehicle"
)

const z95 = vehicle.Z95

// An Interval is a value with its 95 % interval and standard deviation.
type Interval struct{ Value, Low, High, SD float64 }

func normal(x, sd float64) Interval { return Interval{x, x - z95*sd, x + z95*sd, sd} }

// part is one normal of a mixture.
type part struct{ weight, mean, sd float64 }

// mix is the mean and the 2.5 and 97.5 % points of a mixture of normals.
func mix(parts []part) Interval {
	var out Interval
	var total float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range parts {
		p := &parts[i]
		p.sd = max(p.sd, 1e-12*(1+math.Abs(p.mean)))
		total += p.weight
		out.Value += p.weight * p.mean
		lo, hi = min(lo, p.mean-8*p.sd), max(hi, p.mean+8*p.sd)
	}
	out.Value /= total
	for _, p := range parts {
		out.SD += p.weight / total * (sq(p.sd) + sq(p.mean-out.Value))
	}
	out.SD = math.Sqrt(out.SD)
	point := func(z, q float64) float64 {
		return quantile(lo, hi, out.Value+z*out.SD, func(x float64) (c, slope, bend float64) {
			c = -q * total
			for _, p := range parts {
				z := (x - p.mean) / p.sd
				density := p.weight / p.sd * math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
				c += p.weight * 0.5 * math.Erfc(-z/math.Sqrt2)
				slope += density
				bend -= density * z / p.sd
			}
			return c, slope, bend
		})
	}
	out.Low, out.High = point(-z95, 0.025), point(z95, 0.975)
	// a faint part that lies far off draws the mean out of the interval
	out.Value = min(max(out.Value, out.Low), out.High)
	return out
}

// quantile finds where an increasing f crosses zero in [lo, hi], from x, by
// Halley's steps kept in the bracket. A last step of a hundred-thousandth of the
// bracket leaves, cubed, far less than a thousandth of a per cent of it.
func quantile(lo, hi, x float64, f func(float64) (value, slope, bend float64)) float64 {
	short := 1e-5 * (hi - lo)
	for range 60 {
		y, slope, bend := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		newton := y / slope
		next := x - newton/max(0.5, min(2, 1-0.5*newton*bend/slope))
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		} else if math.Abs(next-x) < short {
			return next
		}
		x = next
	}
	return x
}
