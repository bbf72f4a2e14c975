package advice

import (
	"math"

	"sagline/predict"
)

// A Station is a place to hold in a current: depth and offset (+ downstream)
// from the operator, with tether paid out.
type Station struct {
	CurrentMS, DepthM, OffsetM, TetherOutM float64
	WaterC, Salinity                       float64
	BallastG                               float64
}

// A Holding is what it takes to hold a station. Forces are the vehicle's: up
// is upstream, down is down.
type Holding struct {
	ForceUpN      float64      `json:"force_up_n"`
	ForceDownN    float64      `json:"force_down_n"`
	TensionN      float64      `json:"tension_n"` // at the vehicle
	CanHold       bool         `json:"can_hold"`
	GreatestUpN   float64      `json:"greatest_up_n"`   // what the surge thrusters give in that current
	GreatestDownN float64      `json:"greatest_down_n"` // the heave thrusters, towards where they are wanted
	StrongestMS   float64      `json:"strongest_current_m_s"`
	Shape         []CablePoint `json:"shape"`
}

// Hold solves the tether between operator and vehicle and asks whether the
// thrusters, through this tether, can give what is left: up
// ½ρ·A·U² − T·cos θ, down T·sin θ + b·g/1000 with the buoyancy b without the
// tether's own weight, which comes through T. StrongestMS is left 0.
func Hold(m *predict.Model, s Station, p predict.Params) (Holding, error) {
	c := cableOf(m, s)
	shape, err := c.Shape(s.OffsetM, s.DepthM)
	if err != nil {
		return Holding{}, err
	}
	v := &m.Vehicle.Hull
	rho := predict.WaterDensity(s.WaterC, s.Salinity)
	end := shape[len(shape)-1]
	sin, cos := math.Sincos(end.Angle)
	cond := stationCondition(m, s)
	hull := 0.5 * rho * v.DragAreaM2 * math.Exp(p[predict.LogDrag]) * s.CurrentMS * s.CurrentMS
	hung := m.HungG(s.DepthM)
	h := Holding{TensionN: end.TensionN, Shape: shape,
		ForceUpN:   hull - end.TensionN*cos,
		ForceDownN: end.TensionN*sin + (m.NetBuoyancyG(&cond)+p[predict.TrimG]+hung)*predict.Gravity/1000}
	thrusters(m, &h, s, p)
	return h, nil
}

// cable is the tether of a station.
func cableOf(m *predict.Model, s Station) Cable {
	t := &m.Vehicle.Tether
	q := 0.5 * predict.WaterDensity(s.WaterC, s.Salinity) * s.CurrentMS * s.CurrentMS * t.DiameterMM / 1000
	return Cable{Length: s.TetherOutM, Normal: q * t.NormalDrag, Skin: q * t.SkinDrag * math.Pi, Weight: t.WeightGM * predict.Gravity / 1000, Floats: t.Floats}
}

func stationCondition(m *predict.Model, s Station) predict.Condition {
	return predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: true, DepthM: s.DepthM, TetherOutM: s.TetherOutM,
		WaterC: s.WaterC, Salinity: s.Salinity, BallastG: s.BallastG}
}

// thrusters works out what surge and heave can give in the current. Heave is
// switched on for the share of the time that it is needed; surge runs all the
// time, with less while heave takes its part of the tether.
func thrusters(m *predict.Model, h *Holding, s Station, p predict.Params) {
	up, down := int8(1), int8(-1)
	if h.ForceUpN < 0 {
		up = -1
	}
	if h.ForceDownN < 0 {
		down = 1
	}
	alone, _ := push(m, s, p, up, 0)
	with, heave := push(m, s, p, up, down)
	_, heaveAlone := push(m, s, p, 0, down)
	h.GreatestUpN, h.GreatestDownN = alone, heaveAlone
	needUp, needDown := math.Abs(h.ForceUpN), math.Abs(h.ForceDownN)
	if heave <= 0 {
		h.CanHold = needDown < stationSlackN && needUp <= alone
		return
	}
	duty := needDown / heave
	h.CanHold = duty <= 1 && needUp <= duty*with+(1-duty)*alone
}

// stationSlackN is a force that an operator would not notice, N.
const stationSlackN = 0.05

// push is the surge and heave thrust in N of thrusters at rest over ground in
// the station's current, signs as in Condition.Sign.
func push(m *predict.Model, s Station, p predict.Params, surge, heave int8) (surgeN, heaveN float64) {
	c := stationCondition(m, s)
	for i := range m.Vehicle.Thrusters {
		if m.Vehicle.Thrusters[i].Surge() {
			c.Sign[i] = surge
		} else {
			c.Sign[i] = heave
		}
	}
	speed := s.CurrentMS
	if surge < 0 {
		speed = 0 // astern the wake is not ahead of the propellers
	}
	return m.Push(&c, p, speed)
}

// Strongest is the strongest current, to a mm/s and up to most, in which a
// station can be held; 0 when not even the weakest can.
func Strongest(m *predict.Model, s Station, p predict.Params, most float64) float64 {
	can := func(u float64) bool {
		s.CurrentMS = u
		h, err := Hold(m, s, p)
		return err == nil && h.CanHold
	}
	lo, hi := 0.0, 0.0
	for hi = 0.05; hi < most && can(hi); hi += 0.05 {
		lo = hi
	}
	for hi-lo > 0.001 {
		if mid := (lo + hi) / 2; can(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
