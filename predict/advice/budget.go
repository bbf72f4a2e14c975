package advice

import (
	"sagline/predict"
	"sagline/session/quantity"
)

// Power is where the watts of the battery go, W.
type Power struct {
	Battery   float64 `json:"battery"` // its own resistance
	Tether    float64 `json:"tether"`
	Joints    float64 `json:"joints"`
	Branches  float64 `json:"branches"`  // relay contacts and leads
	Thrusters float64 `json:"thrusters"` // at the motors' terminals
	Lights    float64 `json:"lights"`
	Windings  float64 `json:"windings"` // of Thrusters, what their windings turn to heat
}

// Budget splits a solved point's power. It sums to the open-circuit voltage
// times the current.
func Budget(m *predict.Model, c *predict.Condition, p predict.Params, pt *predict.Point) Power {
	v := m.Vehicle
	amps, volts := pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
	cable := v.Tether.CableOhm(c.WaterC)
	w := Power{
		Battery: amps * amps * (v.Battery.ResistanceOhm + p[predict.BatteryOhm]),
		Tether:  amps * amps * cable,
		Joints:  amps * amps * (v.Tether.Power.JointsOhm + p[predict.LoopOhm]),
	}
	for i, a := range pt.Amps {
		branch := v.Thrusters[i].BranchOhm + p[predict.FirstBranch+i]
		w.Branches += a * a * branch
		w.Thrusters += a * (volts - a*branch)
		w.Windings += a * a * v.Thrusters[i].ArmatureOhm
	}
	if c.Lights {
		w.Lights = m.LightsA(volts) * volts
	}
	return w
}
