package advice

import (
	"math"
	"slices"
)

// A hang is a cable's shape, given by one point: its distance along the cable and the force there,
// N. The shape of a cable that folds back on itself can only be computed from its slackest point:
// from any other the smallest error grows without bound.
type hang struct {
	along float64
	force [2]float64
}

// An earlier is a solved shape, the first guess for a similar one.
type earlier struct {
	hang
	length, load float64 // of the cable, m and N/m
}

const (
	leastSpan  = 0.02   // least distance of the end from the origin, in lengths
	offLine    = 1e-3   // rad off the line along which a cable lies straight
	mostSteps  = 40     // steps in which the cable is let out
	newtons    = 12     // Newton steps for one length
	halvings   = 6      // of one Newton step
	miss       = 1e-7   // distance of the end at which the search stops, in lengths
	mostSolves = 10_000 // calls of off for one shape: a hundred times what most take, more than any of 9,000 random ones took
	accepted   = 1e-5   // distance of the end that is accepted, in lengths
	leastShift = 0.01   // least share of the uneven weight given to the cable in a step
)

// hang finds the shape of the cable whose end is at (x, z). It solves the boundary value problem
//
//	dx/ds = cos θ, dz/ds = sin θ
//	dT/ds = −(D_t + w·sin θ), T·dθ/ds = D_n − w·cos θ
//	D_n = Normal·sin θ|sin θ|, D_t = Skin·cos θ|cos θ|
//
// by shooting both ways from its slackest point. before, if any, is the shape of a similar cable to
// begin with.
func (c *Cable) hang(x, z float64, before *earlier) (hang, error) {
	span, load := math.Hypot(x, z), c.load()
	switch {
	case span >= c.Length:
		return hang{}, errReach
	case load < 1e-9:
		return hang{}, errSlack
	case span < leastSpan*c.Length: // it would come back to its origin
		x, z, span = 0, leastSpan*c.Length, leastSpan*c.Length
	}
	if before != nil {
		stretch, heavier := c.Length/before.length, load*c.Length/(before.load*before.length)
		guess := hang{before.along * stretch, [2]float64{heavier * before.force[0], heavier * before.force[1]}}
		if h, ok := c.shoot(guess, load, x, z); ok {
			return h, nil
		}
	}
	for _, turn := range turns {
		sin, cos := math.Sincos(max(min(turn*c.Length/span, 1), -1))
		x, z := x*cos-z*sin, x*sin+z*cos
		if h, ok := c.lengthen(load, x, z, span); ok {
			return h, nil
		}
		if h, ok := c.grade(load, x, z, span); ok {
			return h, nil
		}
	}
	return hang{}, errShape
}

// grade begins with a cable of the same total weight, spread evenly, and shifts the weight to its
// place step by step, in smaller steps after a failure. It is for cables with floats, which may
// fold a slack cable while it is let out.
func (c *Cable) grade(load, x, z, span float64) (hang, bool) {
	if len(c.Floats) == 0 {
		return hang{}, false
	}
	mean, s := 0.0, 0.0
	for s < c.Length {
		w, until := c.weight(s, 1)
		mean, s = mean+w*(until-s)/c.Length, until
	}
	at := func(share float64) *Cable {
		partial := *c
		partial.Weight, partial.Floats = mean+share*(c.Weight-mean), slices.Clone(c.Floats)
		for i := range partial.Floats {
			partial.Floats[i].LiftGM *= share
		}
		return &partial
	}
	h, ok := at(0).lengthen(load, x, z, span)
	for share, step := 0.0, 0.25; ok && share < 1; {
		next, found := at(min(share+step, 1)).shoot(h, load, x, z)
		switch {
		case found:
			h, share = next, min(share+step, 1)
		case step < leastShift:
			return h, false
		default:
			step /= 2
		}
	}
	return h, ok
}

// turns are distances beside the end, in cable lengths and turned about the origin, at which a
// shape is sought if none is found at the end itself. Near the line along which a cable lies
// straight it folds into a hairpin, whose forces hardly change beside that line.
var turns = []float64{0, 0.003, -0.003, 0.01, -0.01, 0.03, -0.03}

// lengthen begins with a nearly straight cable, whose shape is easily found, and lets it out step
// by step, in smaller steps after a failure.
func (c *Cable) lengthen(load, x, z, span float64) (hang, bool) {
	at, h, excess := c.straight(&x, &z, span)
	h, ok := at.shoot(h, load, x, z)
	grow := 4.0
	for n := 0; ok && at.Length < c.Length && n < mostSteps; n++ {
		longer := at
		longer.Length = min(span*(1+excess*grow), c.Length)
		next, found := longer.shoot(hang{h.along * longer.Length / at.Length, h.force}, load, x, z)
		if !found {
			grow = 1 + (grow-1)/3
			continue
		}
		at, h, excess = longer, next, longer.Length/span-1
		grow = min(1+(grow-1)*1.5, 8)
	}
	return h, ok && at.Length == c.Length
}

// straight returns a cable little longer than its span, a guess of its shape, and the share by
// which it is longer. A shallow arc under a transverse load q is longer by (q·span/T)²/24; T is
// chosen well above what the cable's own load makes. An end on the line along which the cable would
// lie straight is moved off it.
func (c *Cable) straight(x, z *float64, span float64) (Cable, hang, float64) {
	size, across := c.loads(*x/span, *z/span)
	if math.Abs(across) < offLine*size {
		sin, cos := math.Sincos(offLine)
		*x, *z = *x*cos-*z*sin, *x*sin+*z*cos
		size, across = c.loads(*x/span, *z/span)
	}
	excess := min(math.Pow(across/(10*size), 2)/24, c.Length/span-1)
	tension := math.Abs(across) * span / math.Sqrt(24*excess)
	short := *c
	short.Length = span * (1 + excess)
	return short, hang{short.Length / 2, [2]float64{tension * *x / span, tension * *z / span}}, excess
}

// loads returns the load per metre of a straight cable in a direction, and its transverse
// component, N/m.
func (c *Cable) loads(cos, sin float64) (size, across float64) {
	w, _ := c.weight(c.Length/2, 1)
	d := c.slope([4]float64{0, 0, cos, sin}, w, 0)
	return math.Hypot(d[2], d[3]), d[3]*cos - d[2]*sin
}

// shoot finds a cable's shape from a guess by Newton steps, halved until the end comes nearer. It
// returns the shape by its slackest point.
func (c *Cable) shoot(h hang, load, x, z float64) (hang, bool) {
	r, far := c.off(h.along, h.force, load, x, z)
	for range newtons {
		if far < miss*c.Length {
			break
		}
		f := h.force
		d := 1e-6 * (math.Hypot(f[0], f[1]) + 1e-6*load*c.Length)
		a, _ := c.off(h.along, [2]float64{f[0] + d, f[1]}, load, x, z)
		b, _ := c.off(h.along, [2]float64{f[0], f[1] + d}, load, x, z)
		step, ok := newtonStep(r, a, b, d)
		if !ok {
			return h, false
		}
		if long, most := math.Hypot(step[0], step[1]), 0.7*math.Hypot(f[0], f[1])+1e-3*load*c.Length; long > most {
			step[0], step[1] = step[0]*most/long, step[1]*most/long
		}
		better := false
		for share := 1.0; share > math.Pow(0.5, halvings) && !better; share /= 2 {
			next := [2]float64{f[0] - share*step[0], f[1] - share*step[1]}
			if s, d := c.off(h.along, next, load, x, z); d < far {
				h.force, r, far, better = next, s, d, true
			}
		}
		if !better {
			break
		}
	}
	if again := c.slackest(h, load); far < accepted*c.Length {
		if _, far := c.off(again.along, again.force, load, x, z); far < accepted*c.Length {
			return again, true
		}
	}
	return h, far < accepted*c.Length
}

// newtonStep solves r = J·step, with J from r displaced by d in each unknown.
func newtonStep(r, a, b [2]float64, d float64) ([2]float64, bool) {
	a[0], a[1], b[0], b[1] = (a[0]-r[0])/d, (a[1]-r[1])/d, (b[0]-r[0])/d, (b[1]-r[1])/d
	det := a[0]*b[1] - b[0]*a[1]
	step := [2]float64{(r[0]*b[1] - b[0]*r[1]) / det, (a[0]*r[1] - r[0]*a[1]) / det}
	return step, step[0]-step[0] == 0 && step[1]-step[1] == 0
}

// off returns the vector and the distance from (x, z) to the cable's end, given the force at a
// point along it. The distance is infinite when no solves are left.
func (c *Cable) off(along float64, f [2]float64, load, x, z float64) (r [2]float64, far float64) {
	if *c.solves--; *c.solves < 0 {
		return r, math.Inf(1)
	}
	y := [4]float64{0, 0, f[0], f[1]}
	from, to := c.follow(along, y, -1, load, nil), c.follow(along, y, 1, load, nil)
	r = [2]float64{to[0] - from[0] - x, to[1] - from[1] - z}
	return r, math.Hypot(r[0], r[1])
}

// slackest returns the same shape given by the point of least tension.
func (c *Cable) slackest(h hang, load float64) hang {
	out, least := h, math.Hypot(h.force[0], h.force[1])
	at := func(s float64, y [4]float64) {
		if t := math.Hypot(y[2], y[3]); t < least {
			out, least = hang{s, [2]float64{y[2], y[3]}}, t
		}
	}
	y := [4]float64{0, 0, h.force[0], h.force[1]}
	c.follow(h.along, y, -1, load, at)
	c.follow(h.along, y, 1, load, at)
	return out
}

// trace returns the points of a cable of shape h.
func (c *Cable) trace(h hang) []CablePoint {
	var out []CablePoint
	at := func(s float64, y [4]float64) {
		out = append(out, CablePoint{y[0], y[1], s, math.Hypot(y[2], y[3]), math.Atan2(y[3], y[2])})
	}
	y, load := [4]float64{0, 0, h.force[0], h.force[1]}, c.load()
	c.follow(h.along, y, -1, load, at)
	slices.Reverse(out)
	at(h.along, y)
	c.follow(h.along, y, 1, load, at)
	x, z := out[0].XM, out[0].ZM
	for i := range out {
		out[i].XM, out[i].ZM = out[i].XM-x, out[i].ZM-z
	}
	return out
}
