package predict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sagline/predict/invented"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// Every derivative equals a central difference, over drives, water and drift.
func TestGradientMatchesDifferences(t *testing.T) {
	v := invented.Vehicle()
	v.Camera = vehicle.Camera{CurrentA: 0.3, Supply: "shared"}
	v.Relay = vehicle.Relay{CoilOhm: 90}
	v.Tether.Signal = vehicle.Conductor{AreaMM2: 0.25, Parallel: 1, SharedReturn: 2}
	v.Lights = vehicle.Lights{LEDV: 9, ResistorOhm: []float64{20}, Supply: "signal"}
	v.Tether.Floats = []vehicle.Float{{FromM: 1, ToM: 30, LiftGM: 4}}
	onPair := *v
	onPair.Camera.Supply = "pair"
	models := []*Model{NewModel(v), NewModel(&onPair)}
	rapid.Check(t, func(rt *rapid.T) {
		m := rapid.SampledFrom(models).Draw(rt, "camera")
		c := Condition{Sign: make([]int8, 3), Electrical: true, WaterC: rapid.Float64Range(1, 19.9).Draw(rt, "t"), Salinity: rapid.Float64Range(1, 35).Draw(rt, "s"),
			DepthM: rapid.Float64Range(1.1, 8).Draw(rt, "h"), TetherOutM: 20, Minute: 10, RestMin: 6, Warm: rapid.Float64Range(0, 1).Draw(rt, "warm"), BallastG: 300, Spent: rapid.Float64Range(0, 1).Draw(rt, "spent"), UnderWay: rapid.Float64Range(0, 1).Draw(rt, "under way"),
			Held: rapid.Bool().Draw(rt, "held"), Climbing: rapid.Bool().Draw(rt, "climb"), OneWay: rapid.Bool().Draw(rt, "one way"), Lights: rapid.Bool().Draw(rt, "lit")}
		for i := range c.Sign {
			c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(rt, "sign"))
		}
		p := m.NewParams()
		for k := range p {
			w := 0.05
			switch k {
			case TrimG, TrimZeroG, WithinDiveG:
				w = 40
			case SagVPerMinute, BatteryPerK, MagnetPerK:
				w = 0.004
			case HullPerK:
				w = 0.0004
			case OpenCircuitV, WarmK, ReelK, FrictionA, BatteryPerSpent:
				w = 0.5
			}
			p[k] += rapid.Float64Range(-w, w).Draw(rt, "p")
		}
		p[ClimbShare] = rapid.Float64Range(0, 1).Draw(rt, "rise")
		p[UnloggedA], p[UnlitA] = math.Abs(p[UnloggedA]), math.Abs(p[UnlitA])
		grad := newGradient(m)
		var pt, lo, hi Point
		m.Solve(&c, p, &pt, grad)
		if (c.Climbing || m.Untimed(&c)) && math.Abs(pt.Out[quantity.Climb]) < 0.02 {
			return // the square root's slope is bounded there on purpose
		}
		for k := range p {
			h := 1e-5 * max(1, math.Abs(p[k]))
			if k == HullPerK {
				h = 1e-7
			}
			q := append(Params(nil), p...)
			q[k] = p[k] + h
			m.Solve(&c, q, &hi, nil)
			q[k] = p[k] - h
			m.Solve(&c, q, &lo, nil)
			for o := range quantity.Count {
				if pt.Known[o] {
					d := (hi.Out[o] - lo.Out[o]) / (2 * h)
					assert.InDelta(rt, d, grad[o][k], 4e-5*(1+math.Abs(d)), "output %d by parameter %d", o, k)
				}
			}
		}
	})
}
