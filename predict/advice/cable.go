package advice

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
	"sagline/predict/vehicle"
)

// A Cable is a flexible, inextensible tether in a uniform current along +x,
// paid out by Length from the operator's point. Per metre it feels normal and
// skin drag at the stated current and its net weight, all N/m.
type Cable struct {
	Length float64         // m
	Normal float64         // ½ρ·C_n·d·U²
	Skin   float64         // ½ρ·C_t·π·d·U²
	Weight float64         // + sinks, floats left out
	Floats []vehicle.Float // measured from the vehicle's end
}

// weight is the net weight a metre at s from the origin, N/m.
func (c Cable) weight(s float64) float64 {
	w, fromVehicle := c.Weight, c.Length-s
	for _, f := range c.Floats {
		if fromVehicle >= f.FromM && fromVehicle < f.ToM {
			w -= f.LiftGM * predict.Gravity / 1000
		}
	}
	return w
}

// heaviest is the largest weight or lift a metre, N/m.
func (c Cable) heaviest() float64 {
	w := math.Abs(c.Weight)
	for _, f := range c.Floats {
		w = max(w, math.Abs(c.weight(c.Length-(f.FromM+f.ToM)/2)))
	}
	return w
}

// A CablePoint is a place on the cable, z down, with the tension there.
type CablePoint struct {
	XM       float64 `json:"x_m"`
	ZM       float64 `json:"z_m"`
	TensionN float64 `json:"-"`
	Angle    float64 `json:"-"` // of the tangent below +x, rad
}

// ErrReach says that the cable is too short for where its end should be.
var ErrReach = errors.New("the tether paid out does not reach there")

// ErrSlack says that nothing pulls the cable taut, so that it has no shape.
var ErrSlack = errors.New("no current and no weight: the tether hangs slack, without a shape of its own")

// ErrLoose says that the cable hangs so loose that its bight is sharper than
// the steps it is solved in.
var ErrLoose = errors.New("the tether hangs so loose that its shape is not told; pay out less")

// cableSteps is the number of Runge–Kutta steps along a cable.
const cableSteps = 200

// Shape finds the cable that runs from the origin to (x, z): the boundary
// value problem
//
//	dx/ds = cos θ, dz/ds = sin θ
//	dT/ds = −(D_t + w·sin θ), T·dθ/ds = D_n − w·cos θ
//	D_n = Normal·sin θ|sin θ|, D_t = Skin·cos θ|cos θ|
//
// solved by shooting with the pull at the origin. The points run from the
// origin to the end.
func (c Cable) Shape(x, z float64) ([]CablePoint, error) {
	span := math.Hypot(x, z)
	if span >= c.Length {
		return nil, ErrReach
	}
	load := math.Hypot(c.Normal+c.Skin, c.heaviest())
	if load < 1e-9 {
		return nil, ErrSlack
	}
	for _, pull := range []float64{0.5, 1, 0.25, 2, 5, 0.1} {
		for turn := range 16 {
			sin, cos := math.Sincos(math.Atan2(z, x) + float64(turn)*math.Pi/8)
			if u, ok := c.shoot([2]float64{pull * cos, pull * sin}, load, x, z); ok {
				return c.trace(u[0]*load*c.Length, u[1]*load*c.Length), nil
			}
		}
	}
	return c.letOut(load, x, z)
}

// letOut begins with a nearly straight cable, which is easily found, and lets
// it out step by step.
func (c Cable) letOut(load, x, z float64) ([]CablePoint, error) {
	span := math.Hypot(x, z)
	u, at := [2]float64{2 * x / span, 2 * z / span}, c // loads times lengths
	at.Floats = nil                                    // the floats come with the last metre
	at.Length = min(taut*span, c.Length)
	if span < c.Length/1e3 {
		at.Length = c.Length / 100
	}
	for more := 1.15; ; {
		next, ok := at.shoot(u, load, x, z)
		switch {
		case ok && at.Length == c.Length:
			if next, ok = c.shoot(next, load, x, z); !ok {
				return nil, ErrLoose
			}
			return c.trace(next[0]*load*c.Length, next[1]*load*c.Length), nil
		case ok:
			u = next
			at.Length = min(at.Length*more, c.Length)
		case more > 1.005:
			at.Length /= more
			more = 1 + (more-1)/2
			at.Length = min(at.Length*more, c.Length)
		default:
			return nil, ErrLoose
		}
	}
}

// taut is a cable's length over its span from which letting out begins.
const taut = 1.01

// shoot finds the pull at the origin, in loads times lengths, from a guess.
func (c Cable) shoot(u [2]float64, load, x, z float64) ([2]float64, bool) {
	scale := load * c.Length
	eval := func(r []float64, jac *mat.Dense, u []float64) {
		end := c.end(u[0]*scale, u[1]*scale)
		r[0], r[1] = end[0]-x, end[1]-z
		if jac == nil {
			return
		}
		for k := range 2 {
			const h = 1e-6
			up, down := [2]float64{u[0], u[1]}, [2]float64{u[0], u[1]}
			up[k], down[k] = up[k]+h, down[k]-h
			a, b := c.end(up[0]*scale, up[1]*scale), c.end(down[0]*scale, down[1]*scale)
			jac.Set(0, k, (a[0]-b[0])/(2*h))
			jac.Set(1, k, (a[1]-b[1])/(2*h))
		}
	}
	res, err := lsq.Fit(lsq.Problem{Dim: 2, Size: 2, Eval: eval}, u[:], &lsq.Settings{StepBound: 0.5, MaxIter: 60})
	if err != nil || res.Cost > 1e-14*c.Length*c.Length {
		return u, false
	}
	return [2]float64{res.X[0], res.X[1]}, true
}

// slope is d(x, z, F_x, F_z)/ds for a cable that carries the force F: the
// load on a metre is skin drag along it, normal drag across it, and weight.
func (c Cable) slope(y [4]float64, at float64) [4]float64 {
	w := c.weight(at)
	t := math.Hypot(y[2], y[3])
	if t < 1e-12 {
		return [4]float64{1, 0, -c.Skin, -w}
	}
	cos, sin := y[2]/t, y[3]/t
	n, k := c.Normal*sin*math.Abs(sin), c.Skin*cos*math.Abs(cos)
	return [4]float64{cos, sin, -(k*cos + n*sin), -(k*sin - n*cos + w)}
}

// step is one Runge–Kutta step of fourth order from at.
func (c Cable) step(y [4]float64, at, h float64) [4]float64 {
	add := func(a [4]float64, k float64, b [4]float64) (out [4]float64) {
		for i := range out {
			out[i] = a[i] + k*b[i]
		}
		return out
	}
	k1 := c.slope(y, at)
	k2 := c.slope(add(y, h/2, k1), at+h/2)
	k3 := c.slope(add(y, h/2, k2), at+h/2)
	k4 := c.slope(add(y, h, k3), at+h)
	for i := range y {
		y[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	return y
}

// advance goes a length h along the cable, in smaller steps where the tension
// is so small that the cable turns sharply.
func (c Cable) advance(y [4]float64, at, h float64) [4]float64 {
	load, least := c.Normal+c.Skin+c.heaviest(), h/128
	for left := h; left > 0; {
		step := max(min(left, 0.25*math.Hypot(y[2], y[3])/load), least)
		step = min(step, left)
		y = c.step(y, at, step)
		at, left = at+step, left-step
	}
	return y
}

func (c Cable) end(fx, fz float64) [2]float64 {
	y := [4]float64{0, 0, fx, fz}
	for k := range cableSteps {
		y = c.advance(y, float64(k)*c.Length/cableSteps, c.Length/cableSteps)
	}
	return [2]float64{y[0], y[1]}
}

func (c Cable) trace(fx, fz float64) []CablePoint {
	y := [4]float64{0, 0, fx, fz}
	out := make([]CablePoint, 0, cableSteps+1)
	for k := range cableSteps + 1 {
		out = append(out, CablePoint{y[0], y[1], math.Hypot(y[2], y[3]), math.Atan2(y[3], y[2])})
		y = c.advance(y, float64(k)*c.Length/cableSteps, c.Length/cableSteps)
	}
	return out
}
