package advice

import "math"

// afloat finds the shape of a floating cable, part of which lies on the surface, to a vehicle at
// (x, z). The part on the surface runs straight with or against the current from the origin to
// where the cable goes under; a longer one streams out and comes back, slack where it turns. It
// returns false for a cable with floats or one that sinks.
func (c *Cable) afloat(x, z float64) ([]CablePoint, bool) {
	if len(c.Floats) > 0 || c.Weight >= 0 || z <= 0 {
		return nil, false
	}
	load := c.load()
	slack := c.under(z, math.Pi, slackShare*load*c.Length)
	lying, from := c.Length-slack.length, x-slack.x
	var d descent
	switch {
	case lying < 0:
		return nil, false
	case from > lying: // stretched downstream
		d = c.tautened(z, 0, load, func(d descent) float64 { return (c.Length - d.length) - (x - d.x) })
	case -from > lying: // stretched upstream
		d = c.tautened(z, math.Pi, load, func(d descent) float64 { return (c.Length - d.length) + (x - d.x) })
	default: // only the loop's skin drag pulls on it
		d = c.tautened(z, math.Pi, load, func(d descent) float64 {
			return d.tension - c.Skin*((c.Length-d.length)-(x-d.x))/2
		})
	}
	lying, from = c.Length-d.length, x-d.x
	if lying < 0 {
		return nil, false
	}
	return append(c.laid(lying, from, d.tension), d.points(c, from, lying)...), true
}

// A descent is the part of a cable below the surface: its length, how far downstream it ends, the
// tension and the angle at which it goes under, and its depth.
type descent struct{ length, x, tension, angle, z float64 }

// under follows a cable down from the surface to a depth, for at most twice its length.
func (c *Cable) under(z, angle, tension float64) descent {
	d := descent{tension: tension, angle: angle, z: z}
	c.descend(&d, func(CablePoint) {})
	return d
}

// descend follows a descent, and sets its length and where it ends.
func (c *Cable) descend(d *descent, at func(CablePoint)) {
	load := c.load()
	slack := slackShare * load * c.Length
	y, s := [4]float64{0, 0, d.tension * math.Cos(d.angle), d.tension * math.Sin(d.angle)}, 0.0
	for y[1] < d.z && s < 2*c.Length {
		at(CablePoint{y[0], y[1], s, math.Hypot(y[2], y[3]), math.Atan2(y[3], y[2])})
		h := min(c.stride(y, c.Weight, slack), c.Length/cableSteps)
		next := c.step(y, c.Weight, slack, h)
		if next[1] > d.z { // the last step ends at the depth, all but straight
			h *= (d.z - y[1]) / (next[1] - y[1])
			next = c.step(y, c.Weight, slack, h)
			next[1] = d.z
		}
		y, s = next, s+h
	}
	at(CablePoint{y[0], y[1], s, math.Hypot(y[2], y[3]), math.Atan2(y[3], y[2])})
	d.length, d.x = s, y[0]
}

// tautened returns the descent at the tension where excess, which grows with it, is 0.
func (c *Cable) tautened(z, angle, load float64, excess func(descent) float64) descent {
	lo, hi := math.Log(slackShare*load*c.Length), math.Log(1e3*load*c.Length)
	for range 30 {
		mid := (lo + hi) / 2
		if excess(c.under(z, angle, math.Exp(mid))) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return c.under(z, angle, math.Exp(hi))
}

// laid returns the points of a length that lies on the surface and ends at from with a tension: out
// with the current and back, or straight.
func (c *Cable) laid(length, from, tension float64) []CablePoint {
	out, back := (length+from)/2, (length-from)/2
	switch {
	case back < length*1e-3:
		return []CablePoint{{TensionN: tension + c.Skin*length}}
	case out < length*1e-3:
		return []CablePoint{{TensionN: max(tension-c.Skin*length, 0), Angle: math.Pi}}
	}
	return []CablePoint{{TensionN: c.Skin * out}, {XM: out, AlongM: out, Angle: math.Pi}}
}

// points returns the descent's points, from where it goes under.
func (d descent) points(c *Cable, from, along float64) (out []CablePoint) {
	c.descend(&d, func(p CablePoint) {
		p.XM, p.AlongM = p.XM+from, p.AlongM+along
		out = append(out, p)
	})
	return out
}
