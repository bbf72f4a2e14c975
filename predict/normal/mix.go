package normal

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict/vehicle"
)

// A Normal is a number's mean and variance.
type Normal struct{ Mean, Variance float64 }

// An Interval is a value with its 95 % interval and standard deviation.
type Interval struct{ Value, Low, High, SD float64 }

// Of returns the interval of a normal with mean x and standard deviation sd.
func Of(x, sd float64) Interval { return Interval{x, x - vehicle.Z95*sd, x + vehicle.Z95*sd, sd} }

// Component is one normal of a mixture.
type Component struct{ Weight, Mean, SD float64 }

// faint is the share of all weight that is left out of a mixture's points, in its lightest parts: it
// moves the probability beyond a point by no more than that.
const faint = 1e-6

// Mix returns the mean and the 2.5 and 97.5 % points of a mixture of normals.
func Mix(parts []Component) Interval {
	var out Interval
	var total float64
	slices.SortFunc(parts, func(p, q Component) int { return cmp.Compare(q.Weight, p.Weight) })
	for i := range parts {
		total += parts[i].Weight
	}
	for left := 0.0; len(parts) > 1; parts = parts[:len(parts)-1] {
		if left += parts[len(parts)-1].Weight; left > faint*total {
			break
		}
	}
	total = 0
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range parts {
		p := &parts[i]
		p.SD = max(p.SD, 1e-12*(1+math.Abs(p.Mean)))
		total += p.Weight
		out.Value += p.Weight * p.Mean
		lo, hi = min(lo, p.Mean-8*p.SD), max(hi, p.Mean+8*p.SD)
	}
	out.Value /= total
	for _, p := range parts {
		out.SD += p.Weight / total * (p.SD*p.SD + (p.Mean-out.Value)*(p.Mean-out.Value))
	}
	out.SD = math.Sqrt(out.SD)
	point := func(z, q float64) float64 {
		return quantile(lo, hi, out.Value+z*out.SD, func(x float64) (c, slope, bend float64) {
			c = -q * total
			for _, p := range parts {
				z := (x - p.Mean) / p.SD
				density := p.Weight / p.SD * math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
				c += p.Weight * 0.5 * math.Erfc(-z/math.Sqrt2)
				slope += density
				bend -= density * z / p.SD
			}
			return c, slope, bend
		})
	}
	out.Low, out.High = point(-vehicle.Z95, 0.025), point(vehicle.Z95, 0.975)
	// a faint part that lies far off draws the mean out of the interval
	out.Value = min(max(out.Value, out.Low), out.High)
	return out
}

// quantile returns the zero of an increasing f in [lo, hi], by Halley's steps from x on, kept in
// the bracket. A last step of a hundred-thousandth of the bracket leaves an error of its cube, far
// less than a thousandth of a per cent of the bracket.
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

// A Range is a value with its 95 % range.
type Range struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}
