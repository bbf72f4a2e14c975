package vehicle

import (
	"math"
)

// momentumLimitN returns the most that a propeller of diameter d in m can pull at rest with a shaft
// power in W: T = (2ρAP²)^(1/3), momentum theory.
func momentumLimitN(d, watts, rho float64) float64 {
	return math.Cbrt(2 * rho * math.Pi / 4 * d * d * watts * watts)
}

// shaftW returns the shaft power in a static test, W: back-EMF times the current above no load.
func (t *Thruster) shaftW() float64 {
	return (t.TestV - t.TestA*t.ArmatureOhm) * (t.TestA - t.NoLoadA)
}

// mostPropMM returns a propeller's diameter or, if it is not stated, the upper end of its 95 %
// range.
func (v *Vehicle) mostPropMM(i int) float64 {
	if high := v.Describe(join("thruster", i, "prop_diameter_mm")).High; high != nil && !v.known("thruster.*.prop_diameter_mm", i) {
		return *high
	}
	return v.Thrusters[i].PropDiameterMM
}

// BeyondMomentum returns the thrusters whose stated pull is more than momentum theory allows for
// all of the power that reaches the propeller.
func (v *Vehicle) BeyondMomentum() (out []int) {
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		stated := v.known("thruster.*.test_n", i) && (v.known("thruster.*.prop_diameter_mm", i) || v.known("thruster.*.test_a", i))
		if d := v.mostPropMM(i); stated && d > 0 && t.TestN > momentumLimitN(d/1000, t.shaftW(), 1000) {
			out = append(out, i)
		}
	}
	return out
}
