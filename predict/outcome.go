package predict

import "sagline/session/quantity"

// An Outcome is what a builder gets from a vehicle: all surge thrusters
// ahead, running free and held.
type Outcome struct {
	SpeedMS      float64  `json:"speed_m_s"`
	PullN        float64  `json:"pull_n"`
	CurrentA     float64  `json:"current_a"`
	VehicleV     float64  `json:"vehicle_v"`
	TetherW      float64  `json:"lost_in_tether_w"` // joints included
	DragAreaM2   float64  `json:"drag_area_m2"`     // hull and tether at the condition
	EnduranceMin *float64 `json:"endurance_min"`    // at that current; nil: capacity unknown
}

// Outcome solves the vehicle under a condition whose drives are set to all
// surge thrusters ahead. A vehicle without any gives zeros.
func (m *Model) Outcome(c Condition, p Params) Outcome {
	c.Sign, c.Electrical, c.Climbing = make([]int8, len(m.motors)), true, false
	for i := range m.motors {
		if m.motors[i].surge {
			c.Sign[i] = 1
		}
	}
	var pt Point
	c.Held = true
	m.Solve(&c, p, &pt, nil)
	out := Outcome{PullN: pt.Out[quantity.Pull]}
	c.Held = false
	m.Solve(&c, p, &pt, nil)
	out.SpeedMS, out.CurrentA, out.VehicleV = pt.Out[quantity.Speed], pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
	w := m.Budget(&c, p, &pt)
	out.TetherW, out.DragAreaM2 = w.Tether+w.Joints, m.prepare(&c, p).area
	if v := m.Vehicle; v.Battery.CapacityAh > 0 && out.CurrentA > 0 {
		minutes := minutes(&v.Battery, out.CurrentA, v.Battery.ResistanceOhm+p[BatteryOhm])
		out.EnduranceMin = &minutes
	}
	return out
}
