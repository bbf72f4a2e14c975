package vehicle

import "math"

// MomentumLimitN is the most that a propeller of diameter d metres can pull at
// rest with a shaft power in W: T = (2ρAP²)^(1/3), momentum theory.
func MomentumLimitN(d, watts, rho float64) float64 {
	return math.Cbrt(2 * rho * math.Pi / 4 * d * d * watts * watts)
}

// Boasts names the thrusters whose test claims more pull than momentum theory
// allows for all of the electrical power that reaches the propeller.
func (v *Vehicle) Boasts() []string {
	var out []string
	for _, i := range v.boasts() {
		out = append(out, v.Thrusters[i].Name)
	}
	return out
}

func (v *Vehicle) boasts() []int {
	var out []int
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		if t.PropDiameterMM <= 0 {
			continue
		}
		shaft := (t.TestV - t.TestA*t.ArmatureOhm) * (t.TestA - t.NoLoadA)
		if t.TestN > MomentumLimitN(t.PropDiameterMM/1000, shaft, 1000) {
			out = append(out, i)
		}
	}
	return out
}
