package advice

import (
	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

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

// drives are those of all thrusters of one axis on, ahead or up.
func drives(v *vehicle.Vehicle, surge bool) (sign []int8, any bool) {
	sign = make([]int8, len(v.Thrusters))
	for i := range v.Thrusters {
		if v.Thrusters[i].Surge() == surge {
			sign[i], any = 1, true
		}
	}
	return sign, any
}

// AllUp is the steady climb with all heave thrusters up, m/s; false where none
// points up.
func AllUp(m *predict.Model, c predict.Condition, p predict.Params) (float64, bool) {
	var any bool
	c.Sign, any = drives(m.Vehicle, false)
	c.Electrical, c.Held, c.Climbing = true, false, true
	var pt predict.Point
	m.Solve(&c, p, &pt, nil)
	return pt.Out[quantity.Climb], any && pt.Known[quantity.Climb]
}

// AllAhead solves the vehicle under a condition whose drives are set to all
// surge thrusters ahead. A vehicle without any gives zeros.
func AllAhead(m *predict.Model, c predict.Condition, p predict.Params) Outcome {
	c.Sign, _ = drives(m.Vehicle, true)
	c.Electrical, c.Climbing = true, false
	var pt predict.Point
	c.Held = true
	m.Solve(&c, p, &pt, nil)
	out := Outcome{PullN: pt.Out[quantity.Pull]}
	c.Held = false
	m.Solve(&c, p, &pt, nil)
	out.SpeedMS, out.CurrentA, out.VehicleV = pt.Out[quantity.Speed], pt.Out[quantity.CurrentA], pt.Out[quantity.VehicleV]
	w := Budget(m, &c, p, &pt)
	out.TetherW, out.DragAreaM2 = w.Tether+w.Joints, m.DragAreaM2(&c, p)
	if v := m.Vehicle; v.Battery.CapacityAh > 0 && out.CurrentA > 0 {
		out.EnduranceMin = new(minutes(&v.Battery, out.CurrentA, v.Battery.ResistanceOhm+p[predict.BatteryOhm]))
	}
	return out
}
