package advice

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/invented"
	"sagline/session/quantity"
)

// Whatever the valid vehicle and drive, what the watts go to adds up to what
// the battery gives, to 1e-9 of the largest that flows.
func TestPowerAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := invented.AnyVehicle(rt)
		m, c := predict.NewModel(v), anyCondition(rt, v)
		p := m.NewParams()
		p[predict.LoopOhm] = rapid.Float64Range(-0.2, 5).Draw(rt, "excess")
		p[predict.FrictionA] = rapid.Float64Range(0, 1).Draw(rt, "friction")
		var pt predict.Point
		m.Solve(&c, p, &pt, nil)
		e, amps := p[predict.OpenCircuitV], pt.Out[quantity.CurrentA]
		most := math.Abs(amps)
		for i, a := range pt.Amps {
			q, _, _ := constants(&v.Thrusters[i])
			most += math.Abs(a) + 4*q*(e+pt.BackEMF[i])*(e+pt.BackEMF[i])
		}
		w := Budget(m, &c, p, &pt)
		assert.GreaterOrEqual(rt, w.Joints, 0.0, "no joint gives watts")
		total := v.Battery.ResistanceOhm + pt.Out[quantity.LoopOhm]
		assert.InDelta(rt, e*amps, w.Battery+w.Tether+w.Joints+w.Branches+w.Thrusters+w.Lights, 1e-9*most*(e+most*total))
	})
}
