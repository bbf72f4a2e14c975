package advice

import (
	"errors"
	"math"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Cable is a flexible, inextensible tether in a uniform current along +x, paid out
// from the operator. Loads are per metre, N/m.
type Cable struct {
	Length float64         // m
	Normal float64         // ½ρ·C_n·d·U²
	Skin   float64         // ½ρ·C_t·π·d·U²
	Weight float64         // + sinks; without floats
	Floats []vehicle.Float // measured from the vehicle's end
	solves *int            // calls of off that are left in the search for a shape
}

// A CablePoint is a place on the cable, z down, with the tension there.
type CablePoint struct {
	XM       float64 `json:"x_m"`
	ZM       float64 `json:"z_m"`
	AlongM   float64 `json:"-"` // length of cable from the operator
	TensionN float64 `json:"-"`
	Angle    float64 `json:"-"` // of the tangent below +x, rad
}

// errReach reports that the cable is too short to reach its end point.
var errReach = errors.New("the tether paid out does not reach there")

// errSlack reports that nothing pulls the cable taut, so that it has no shape.
var errSlack = errors.New("no current and no weight: the tether hangs slack, without a shape of its own")

// errShape reports that no shape was found.
var errShape = errors.New("no shape of the tether was found there: pay out another length or look a little beside")

const (
	cableSteps = 50  // least number of Runge–Kutta steps along a cable
	turnAStep  = 0.1 // largest turn in a step, rad: an error of 1e-5 of the tension by the closed forms of cable_test.go
	// slackShare is the tension, as a share of load times length, below which a stretch of cable is
	// not pulled straight: some tenths of a millimetre of each metre.
	slackShare = 1e-6
)

// weight returns the net weight per metre at s from the origin, N/m, and the s up to which it stays
// the same, towards the origin (−1) or the end (1).
func (c *Cable) weight(s, towards float64) (w, until float64) {
	w, until = c.Weight, 0
	if towards > 0 {
		until = c.Length
	}
	for _, f := range c.Floats {
		from, to := c.Length-f.ToM, c.Length-f.FromM
		if s > from && s < to || towards > 0 && s == from && s < to || towards < 0 && s == to && s > from {
			w -= f.LiftGM * predict.Gravity / 1000
		}
		for _, edge := range []float64{from, to} {
			if (edge-s)*towards > 0 && (until-edge)*towards > 0 {
				until = edge
			}
		}
	}
	return w, until
}

// load returns the largest load per metre, N/m.
func (c *Cable) load() float64 {
	w, until := c.weight(0, 1)
	heaviest := math.Abs(w)
	for s := until; s < c.Length; s = until {
		w, until = c.weight(s, 1)
		heaviest = max(heaviest, math.Abs(w))
	}
	return math.Hypot(c.Normal+c.Skin, heaviest)
}

// slope returns d(x, z, F_x, F_z)/ds of a cable under the force F that weighs w per metre. The load
// is skin drag along it, normal drag across it, and weight. Below the tension slack the cable is
// not pulled straight.
func (c *Cable) slope(y [4]float64, w, slack float64) [4]float64 {
	pull := y[2]*y[2] + y[3]*y[3]
	laid, taut := math.Sqrt(pull+slack*slack), math.Sqrt(pull)
	cos, sin := 1.0, 0.0
	if taut > 0 {
		cos, sin = y[2]/taut, y[3]/taut
	}
	n, k := c.Normal*sin*math.Abs(sin), c.Skin*cos*math.Abs(cos)
	return [4]float64{y[2] / laid, y[3] / laid, -(k*cos + n*sin), -(k*sin - n*cos + w)}
}

// step takes one Runge–Kutta step of fourth order.
func (c *Cable) step(y [4]float64, w, slack, h float64) [4]float64 {
	add := func(k float64, b [4]float64) [4]float64 {
		return [4]float64{y[0] + k*b[0], y[1] + k*b[1], y[2] + k*b[2], y[3] + k*b[3]}
	}
	k1 := c.slope(y, w, slack)
	k2 := c.slope(add(h/2, k1), w, slack)
	k3 := c.slope(add(h/2, k2), w, slack)
	k4 := c.slope(add(h, k3), w, slack)
	for i := range y {
		y[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	return y
}

// stride returns a length over which the cable turns by no more than turnAStep.
func (c *Cable) stride(y [4]float64, w, slack float64) float64 {
	d := c.slope(y, w, slack)
	return turnAStep * math.Sqrt((y[2]*y[2]+y[3]*y[3]+slack*slack)/(d[2]*d[2]+d[3]*d[3]))
}

// follow integrates along the cable from the state y at s to the origin (towards −1) or the end
// (1), and calls at after each step. Steps are shorter where a small tension lets the cable turn
// sharply.
func (c *Cable) follow(s float64, y [4]float64, towards, load float64, at func(s float64, y [4]float64)) [4]float64 {
	most, slack, end := c.Length/cableSteps, slackShare*load*c.Length, 0.0
	if towards > 0 {
		end = c.Length
	}
	for (end-s)*towards > 0 {
		w, until := c.weight(s, towards)
		h := min(c.stride(y, w, slack), most)
		if left := math.Abs(until - s); h >= left {
			y, s = c.step(y, w, slack, towards*left), until
		} else {
			y, s = c.step(y, w, slack, towards*h), s+towards*h
		}
		if at != nil {
			at(s, y)
		}
	}
	return y
}
