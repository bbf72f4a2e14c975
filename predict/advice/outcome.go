package advice

import (
	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// An Outcome is what a vehicle does with all surge thrusters ahead, running free and held or, if it
// has none, with all heave thrusters up.
type Outcome struct {
	SpeedMS      float64  `json:"speed_m_s"`
	ClimbMS      *float64 `json:"climb_m_s,omitempty"` // only for a vehicle without surge thrusters
	PullN        float64  `json:"pull_n"`
	CurrentA     float64  `json:"current_a"`
	VehicleV     float64  `json:"vehicle_v"`
	TetherW      float64  `json:"lost_in_tether_w"` // joints included
	DragAreaM2   float64  `json:"drag_area_m2"`     // hull and tether at the condition
	EnduranceMin *float64 `json:"endurance_min"`    // at that current; nil: capacity unknown
}

// Move returns how fast the vehicle moves, m/s, and whether that is its speed ahead or a climb.
func (o *Outcome) Move() (what string, ms float64) {
	if o.ClimbMS != nil {
		return "climb", *o.ClimbMS
	}
	return "speed", o.SpeedMS
}

// drives switches on all thrusters of one axis, ahead or up; any reports whether there are any.
func drives(v *vehicle.Vehicle, surge bool) (sign []int8, any bool) {
	sign = make([]int8, len(v.Thrusters))
	for i := range v.Thrusters {
		if v.Thrusters[i].Surge() == surge {
			sign[i], any = 1, true
		}
	}
	return sign, any
}

// AllUp returns the steady climb with all heave thrusters up, m/s; false if there are none.
func AllUp(m *predict.Model, c predict.Condition, p predict.Params) (float64, bool) {
	var any bool
	c.Sign, any = drives(m.Vehicle, false)
	c.Electrical, c.Held, c.Climbing = true, false, true
	var pt predict.Point
	m.Solve(&c, p, &pt, nil)
	return pt.Out[quantity.Climb], any && pt.Known[quantity.Climb]
}

// AllAhead solves the vehicle under a condition with all surge thrusters ahead or, if it has none,
// all heave thrusters up.
func AllAhead(m *predict.Model, c predict.Condition, p predict.Params) Outcome {
	var surges bool
	if c.Sign, surges = drives(m.Vehicle, true); !surges {
		c.Sign, _ = drives(m.Vehicle, false)
	}
	c.Electrical, c.Climbing = true, false
	var pt predict.Point
	c.Held = true
	m.Solve(&c, p, &pt, nil)
	out := Outcome{PullN: pt.Out[quantity.Pull]}
	c.Held, c.Climbing = false, !surges
	m.Solve(&c, p, &pt, nil)
	if !surges {
		out.ClimbMS = new(pt.Out[quantity.Climb])
	}
	out.SpeedMS, out.CurrentA, out.VehicleV = pt.Out[quantity.Speed], pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
	w := Budget(m, &c, p, &pt)
	out.TetherW, out.DragAreaM2 = w.Tether+w.Joints, m.DragAreaM2(&c, p)
	if v := m.Vehicle; v.Battery.CapacityAh > 0 && out.CurrentA > 0 {
		out.EnduranceMin = new(minutes(&v.Battery, out.CurrentA, v.Battery.ResistanceOhm+p[predict.BatteryOhm]))
	}
	return out
}

// Power is where the watts of the battery go, W.
type Power struct {
	Battery   float64 `json:"battery"` // its own resistance
	Tether    float64 `json:"tether"`
	Joints    float64 `json:"joints"`
	Branches  float64 `json:"branches"`  // relay contacts and leads
	Thrusters float64 `json:"thrusters"` // at the motors' terminals
	Lights    float64 `json:"lights"`    // on the power pair
	Others    float64 `json:"others"`    // fed by other wires: relay coils, lights on signal conductors, a shared camera
	Windings  float64 `json:"windings"`  // part of Thrusters that heats their windings
}

// Budget splits a solved point's power. It sums to the open-circuit voltage times the current.
func Budget(m *predict.Model, c *predict.Condition, p predict.Params, pt *predict.Point) Power {
	v := m.Vehicle
	amps, pair, volts := pt.Out[quantity.CurrentA], pt.PairA, pt.Volts
	cable, joints := v.Tether.CableOhm(c.WaterC), v.Tether.Power.JointsOhm+p[predict.LoopOhm]
	if joints < 0 { // a cable of less resistance than the file's: joints cannot be negative
		cable, joints = max(cable+joints, 0), 0
	}
	w := Power{
		Battery: amps * amps * (v.Battery.ResistanceOhm + p[predict.BatteryOhm]),
		Tether:  pair * pair * cable,
		Joints:  pair * pair * joints,
	}
	for i, a := range pt.Amps {
		branch := v.Thrusters[i].BranchOhm + p.ExcessOhm(i, c.Sign[i] < 0)
		w.Branches += a * a * branch
		w.Thrusters += a * (volts - a*branch)
		w.Windings += a * a * v.Thrusters[i].ArmatureOhm
	}
	if c.Lights {
		amps, _ := m.LightAmps(volts)
		w.Lights = amps * volts
	}
	w.Others = amps*pt.Out[quantity.BatteryV] - w.Tether - w.Joints - w.Branches - w.Thrusters - w.Lights // with loads that no line mentions
	return w
}
