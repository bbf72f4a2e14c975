package advice

import (
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// anyCondition is a random drive of a vehicle in any water.
func anyCondition(t *rapid.T, v *vehicle.Vehicle) predict.Condition {
	c := predict.Condition{Sign: make([]int8, len(v.Thrusters)), Electrical: true, WaterC: rapid.Float64Range(-2, 40).Draw(t, "water"),
		Salinity: rapid.Float64Range(0, 42).Draw(t, "salt"), DepthM: rapid.Float64Range(0, 50).Draw(t, "depth"), TetherOutM: v.Tether.LengthM,
		Held: rapid.Bool().Draw(t, "held"), Climbing: rapid.Bool().Draw(t, "climb"), Lights: rapid.Bool().Draw(t, "lit"), BallastG: rapid.Float64Range(-2000, 2000).Draw(t, "ballast")}
	for i := range c.Sign {
		c.Sign[i] = int8(rapid.IntRange(-1, 1).Draw(t, "sign"))
	}
	return c
}
