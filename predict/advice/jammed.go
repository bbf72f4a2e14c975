package advice

import (
	"cmp"
	"math"

	"sagline/predict"
	"sagline/session/quantity"
)

// A Jam is what happens when one thruster alone is switched on and cannot turn.
type Jam struct {
	Thruster  string  `json:"thruster"`
	CurrentA  float64 `json:"current_a"`  // of the battery
	FuseBlows bool    `json:"fuse_blows"` // before the winding reaches spoiltC
	WindingW  float64 `json:"winding_w"`
	Seconds   float64 `json:"seconds"` // until the winding reaches spoiltC, no heat lost
}

const (
	// windingGPerW is the copper in a small brushed motor's armature, in g per watt that its static
	// test takes: 25 g for 84 W. Common practice, no source; twice or half as much is possible.
	windingGPerW = 0.3
	copperJGK    = 0.385 // specific heat of copper, J/(g·K), handbook value from memory
	spoiltC      = 130.0 // °C that a winding of thermal class B may have, IEC 60085
)

// jams returns every thruster's jam, with the highest current and heat over the cases. The fuse is
// judged at the least current that the thruster may draw.
func jams(cases []Case, c *predict.Condition, rest Range, fuseA float64) (out []Jam) {
	for i := range cases[0].Model.Vehicle.Thrusters {
		t := &cases[0].Model.Vehicle.Thrusters[i]
		j, least, fastest := Jam{Thruster: t.Name}, math.Inf(1), 0.0
		for s := range cases {
			x := cases[s].over(rest, func(p predict.Params) []float64 { return cases[s].jam(c, p, i) })
			least = min(least, x[0].Low)
			j.CurrentA, j.WindingW, fastest = max(j.CurrentA, x[0].High), max(j.WindingW, x[1].High), max(fastest, x[2].High)
		}
		j.Seconds = max(spoiltC-c.WaterC, 0) / fastest
		j.FuseBlows = fuseA > 0 && fuseSeconds(least, fuseA) <= j.Seconds
		out = append(out, j)
	}
	return out
}

// jam solves one thruster that cannot turn. It returns the battery's current, the watts in its
// winding and the K/s by which that warms: the log may show a smaller motor, with less copper, than
// the file gives or guesses.
func (s *Case) jam(c *predict.Condition, p predict.Params, i int) []float64 {
	stuck := *c
	stuck.Sign, stuck.Jammed, stuck.Held, stuck.Climbing, stuck.Electrical = make([]int8, len(s.Model.Vehicle.Thrusters)), i+1, true, false, true
	stuck.Sign[i] = 1
	var pt predict.Point
	s.Model.Solve(&stuck, p, &pt, nil)
	t, size := &s.Model.Vehicle.Thrusters[i], math.Exp(p[predict.LogSize])
	w := pt.Amps[i] * pt.Amps[i] * t.ArmatureOhm * math.Exp(p[predict.LogArmature]) / size
	return []float64{pt.Out[quantity.CurrentA], w, w / (windingGPerW * cmp.Or(t.OtherTestW, t.TestV*t.TestA) * size * copperJGK)}
}
