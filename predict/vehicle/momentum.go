package vehicle

import "math"

// momentumLimitN is the most that a propeller of diameter d metres can pull at
// rest with a shaft power in W: T = (2ρAP²)^(1/3), momentum theory.
func momentumLimitN(d, watts, rho float64) float64 {
	return math.Cbrt(2 * rho * math.Pi / 4 * d * d * watts * watts)
}

// shaftW is the shaft power in a static test, W: back-EMF times the current above no load.
func (t *Thruster) shaftW() float64 {
	return (t.TestV - t.TestA*t.ArmatureOhm) * (t.TestA - t.NoLoadA)
}

// BeyondMomentum are the thrusters whose stated pull is more than momentum
// theory allows for all of the power that reaches the propeller.
func (v *Vehicle) BeyondMomentum() (out []int) {
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		if v.known("thruster.*.prop_diameter_mm", i) && v.known("thruster.*.test_n", i) && t.PropDiameterMM > 0 &&
			t.TestN > momentumLimitN(t.PropDiameterMM/1000, t.shaftW(), 1000) {
			out = append(out, i)
		}
	}
	return out
}
