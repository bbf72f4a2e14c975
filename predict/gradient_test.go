package predict

import (
	"math"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// testVehicle is invented: two surge thrusters and a heave thruster on 30 m.
func testVehicle() *vehicle.Vehicle {
	th := func(name, axis string, arm float64) vehicle.Thruster {
		return vehicle.Thruster{Name: name, Axis: axis, TestV: 12, TestA: 7, TestN: 10, ArmatureOhm: 0.5, NoLoadA: 0.5,
			NoLoadRPM: 8000, PropPitchMM: 38, PropDiameterMM: 60, ArmMM: arm, BranchOhm: 0.03, Astern: 0.7}
	}
	return &vehicle.Vehicle{Name: "test", Battery: vehicle.Battery{NominalV: 12.6, ResistanceOhm: 0.04},
		Tether:    vehicle.Tether{LengthM: 30, DiameterMM: 9, WeightGM: -2, NormalDrag: 1.2, SkinDrag: 0.012, Power: vehicle.Conductor{AreaMM2: 2.5, Parallel: 1, JointsOhm: 0.04}},
		Thrusters: []vehicle.Thruster{th("port", "surge", -150), th("starboard", "surge", 150), th("vertical", "heave", 0)},
		Hull:      vehicle.Hull{DragAreaM2: 0.07, ClimbDragAreaM2: 0.08, DisplacedKG: 11, Wake: 0.1, TrimG: 60, FoamLossGM: 2, BallastDensityKGM3: 7850}}
}

// Every derivative equals a central difference, over drives, water and drift.
func TestGradientMatchesDifferences(t *testing.T) {
	m := NewModel(testVehicle())
	rapid.Check(t, func(rt *rapid.T) {
		c := Condition{Sign: make([]int8, 3), Electrical: true, WaterC: rapid.Float64Range(0, 25).Draw(rt, "t"),
			DepthM: rapid.Float64Range(0, 8).Draw(rt, "h"), TetherOutM: 20, Minute: 10,
			Held: rapid.Bool().Draw(rt, "held"), Climbing: rapid.Bool().Draw(rt, "climb")}
		for i := range c.Sign {
			c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(rt, "sign"))
		}
		p := m.NewParams()
		for k, w := range []float64{.2, .2, .1, .3, .3, 40, .3, .2, .02, .5, .004, .1, .1, .1} {
			p[k] += rapid.Float64Range(-w, w).Draw(rt, "p")
		}
		grad := make([][]float64, quantity.Predicted)
		for k := range grad {
			grad[k] = make([]float64, m.Dim())
		}
		var pt, lo, hi Point
		m.Solve(&c, p, &pt, grad)
		if c.Climbing && math.Abs(pt.Out[quantity.Climb]) < 0.02 {
			return // the square root's slope is bounded there on purpose
		}
		for k := range p {
			h := 1e-5 * max(1, math.Abs(p[k]))
			q := append(Params(nil), p...)
			q[k] = p[k] + h
			m.Solve(&c, q, &hi, nil)
			q[k] = p[k] - h
			m.Solve(&c, q, &lo, nil)
			for o := range quantity.Predicted {
				if pt.Known[o] {
					d := (hi.Out[o] - lo.Out[o]) / (2 * h)
					assert.InDelta(rt, d, grad[o][k], 2e-5*(1+math.Abs(d)), "output %d by parameter %d", o, k)
				}
			}
		}
	})
}
