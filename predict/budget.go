package predict

import "sagline/session/quantity"

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
func (m *Model) Budget(c *Condition, p Params, pt *Point) Power {
	v := m.Vehicle
	amps, volts := pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
	cable := v.Tether.CableOhm(c.WaterC)
	w := Power{
		Battery: amps * amps * (v.Battery.ResistanceOhm + p[BatteryOhm]),
		Tether:  amps * amps * cable,
		Joints:  amps * amps * (v.Tether.Power.JointsOhm + p[LoopOhm]),
	}
	for i, a := range pt.Amps {
		branch := v.Thrusters[i].BranchOhm + p[FirstBranch+i]
		w.Branches += a * a * branch
		w.Thrusters += a * (volts - a*branch)
		w.Windings += a * a * v.Thrusters[i].ArmatureOhm
	}
	if c.Lights {
		a, _ := m.lightAmps(volts)
		w.Lights = a * volts
	}
	return w
}

// Combinations are the drives worth knowing: everything off, each thruster
// alone, the surge thrusters together ahead and astern, the heave thrusters
// up and down.
func (m *Model) Combinations() [][]int8 {
	n := len(m.motors)
	out := [][]int8{make([]int8, n)}
	for i := range n {
		one := make([]int8, n)
		one[i] = 1
		out = append(out, one)
	}
	for _, sign := range []int8{1, -1} {
		for _, surge := range []bool{true, false} {
			all, count := make([]int8, n), 0
			for i := range n {
				if m.motors[i].surge == surge {
					all[i] = sign
					count++
				}
			}
			if count > 1 || (count == 1 && sign < 0) {
				out = append(out, all)
			}
		}
	}
	return out
}
