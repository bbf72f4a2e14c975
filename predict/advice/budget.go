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
	Lights    float64 `json:"lights"`    // on the power pair
	Others    float64 `json:"others"`    // fed by other wires: relay coils, lights on signal conductors, a shared camera
	Windings  float64 `json:"windings"`  // of Thrusters, what their windings turn to heat
}

// Budget splits a solved point's power. It sums to the open-circuit voltage
// times the current.
func Budget(m *predict.Model, c *predict.Condition, p predict.Params, pt *predict.Point) Power {
	v := m.Vehicle
	amps, pair, volts := pt.Out[quantity.CurrentA], pt.PairA, pt.Volts
	cable := v.Tether.CableOhm(c.WaterC)
	w := Power{
		Battery: amps * amps * (v.Battery.ResistanceOhm + p[predict.BatteryOhm]),
		Tether:  pair * pair * cable,
		Joints:  pair * pair * (v.Tether.Power.JointsOhm + p[predict.LoopOhm]),
		Others:  (amps - pair) * pt.Out[quantity.BatteryV],
	}
	for i, a := range pt.Amps {
		branch := v.Thrusters[i].BranchOhm + p[predict.OfThruster(i, predict.BranchOhm)]
		w.Branches += a * a * branch
		w.Thrusters += a * (volts - a*branch)
		w.Windings += a * a * v.Thrusters[i].ArmatureOhm
	}
	if c.Lights {
		amps, _ := m.LightAmps(volts)
		w.Lights = amps * volts
	}
	return w
}
