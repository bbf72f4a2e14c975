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

// A Holding is what it takes to hold a station. Forces are the vehicle's: up is upstream, down is
// down.
type Holding struct {
	ForceUpN      float64      `json:"force_up_n"`
	ForceDownN    float64      `json:"force_down_n"`
	TensionN      float64      `json:"tension_n"` // at the vehicle
	CanHold       bool         `json:"can_hold"`
	GreatestUpN   float64      `json:"greatest_up_n"`   // what the surge thrusters give in that current
	GreatestDownN float64      `json:"greatest_down_n"` // what the heave thrusters give in the wanted direction
	StrongestMS   float64      `json:"strongest_current_m_s"`
	AfloatM       float64      `json:"tether_afloat_m"`  // length of tether on the surface
	DeeperM       float64      `json:"tether_deeper_m"`  // length of tether deeper than the vehicle
	DeepestM      float64      `json:"tether_deepest_m"` // depth of its deepest point
	Shape         []CablePoint `json:"shape"`
	Rough         bool         `json:"-"` // the shape rises above the surface, where real tether would lie on it

	Share      float64 `json:"can_hold_share"`   // share of the possible vehicles that can hold; CanHold is for the likeliest
	SureMS     float64 `json:"sure_current_m_s"` // the strongest current in which all but one in forty can hold
	Needed     Ways    `json:"force_range"`      // over the possible vehicles, 95 %
	GreatestOf Ways    `json:"greatest_range"`
}

// Ways are forces along and across the current, N.
type Ways struct {
	Up   Range `json:"up_n"`
	Down Range `json:"down_n"`
}

// sureShare is the share of possible vehicles above which something is sure: all but one tail of a
// 95 % range.
const sureShare = 0.975

// Can reports whether the vehicle can hold, and whether that answer is sure.
func (h *Holding) Can() (can, sure bool) {
	return h.Share >= sureShare, h.Share >= sureShare || h.Share <= 1-sureShare
}

// Directions returns the ways in which the vehicle must push.
func (h *Holding) Directions() (up, down string) {
	up, down = "upstream", "down"
	if h.ForceUpN < 0 {
		up = "downstream"
	}
	if h.ForceDownN < 0 {
		down = "up"
	}
	return up, down
}

// Over returns the 95 % range of each result of solve over the possible vehicles. values are the
// results at the mean; fixed parameters are known.
type Over func(values []float64, fixed map[int]float64, solve func(predict.Params) []float64) []Range

// Hold solves the tether between operator and vehicle. It reports whether the thrusters, supplied
// through this tether, can give the forces that are left to them: up ½ρ·A·U² − T·cos θ, down T·sin
// θ + b·g/1000, where the buoyancy b leaves out the tether's own weight, which comes through T. The
// same is asked of all possible vehicles. StrongestMS is left 0. No bottom is assumed: a tether
// that sinks may hang deeper than the vehicle.
func Hold(m *predict.Model, s Station, p predict.Params, over Over) (Holding, error) {
	h, _, err := hold(m, s, p, nil, new(mostSolves))
	if err == nil {
		h.doubt(m, s, p, over)
	}
	return h, err
}

// doubt works out what the possible vehicles can do on a full battery with the same shape of the
// tether.
func (h *Holding) doubt(m *predict.Model, s Station, p predict.Params, over Over) {
	can, all := 0.0, 0.0
	fixed := map[int]float64{predict.OpenCircuitV: p[predict.OpenCircuitV], predict.SagVPerMinute: 0}
	x := over([]float64{h.ForceUpN, h.ForceDownN, h.GreatestUpN, h.GreatestDownN}, fixed, func(q predict.Params) []float64 {
		is := *h
		is.push(m, s, q)
		all++
		if is.CanHold {
			can++
		}
		return []float64{is.ForceUpN, is.ForceDownN, is.GreatestUpN, is.GreatestDownN}
	})
	h.Share, h.Needed, h.GreatestOf = can/max(all, 1), Ways{x[0], x[1]}, Ways{x[2], x[3]}
}

// hold is Hold without doubt. It begins with the shape of a similar station, if any.
func hold(m *predict.Model, s Station, p predict.Params, before *earlier, solves *int) (Holding, *earlier, error) {
	c := cableOf(m, s)
	c.solves = solves
	hung, err := c.hang(s.OffsetM, s.DepthM, before)
	if err != nil {
		return Holding{}, nil, err
	}
	h := Holding{Shape: c.trace(hung)}
	if h.measure(s); h.Rough {
		if shape, ok := c.afloat(s.OffsetM, s.DepthM); ok {
			h.Shape = shape
			h.measure(s)
		}
	}
	h.push(m, s, p)
	return h, &earlier{hung, c.Length, c.load()}, nil
}

// push works out the forces that the vehicle needs at the end of the shape, and those that its
// thrusters give.
func (h *Holding) push(m *predict.Model, s Station, p predict.Params) {
	end := h.Shape[len(h.Shape)-1]
	sin, cos := math.Sincos(end.Angle)
	cond := stationCondition(m, s)
	hull := 0.5 * predict.WaterDensity(s.WaterC, s.Salinity) * m.Vehicle.Hull.DragAreaM2 * math.Exp(p[predict.LogDrag]) * s.CurrentMS * s.CurrentMS
	h.TensionN, h.ForceUpN = end.TensionN, hull-end.TensionN*cos
	h.ForceDownN = end.TensionN*sin + (m.NetBuoyancyG(&cond, p)+m.HungG(s.DepthM))*predict.Gravity/1000
	thrusters(m, h, s, p)
}

// atSurface is the distance in m from the surface within which a tether lies on it, and the
// distance below the vehicle from which it counts as deeper.
const atSurface = 0.02

// measure sets how much of the tether lies on the surface and how much hangs deeper than the
// vehicle.
func (h *Holding) measure(s Station) {
	h.AfloatM, h.DeeperM, h.DeepestM, h.Rough = 0, 0, 0, false
	for i, q := range h.Shape {
		h.Rough = h.Rough || q.ZM < -atSurface
		h.DeepestM = max(h.DeepestM, q.ZM)
		if i == 0 {
			continue
		}
		last := h.Shape[i-1]
		if last.ZM < atSurface && q.ZM < atSurface && s.DepthM >= atSurface {
			h.AfloatM += q.AlongM - last.AlongM
		}
		if last.ZM > s.DepthM+atSurface || q.ZM > s.DepthM+atSurface {
			h.DeeperM += q.AlongM - last.AlongM
		}
	}
}

// cableOf returns the tether of a station.
func cableOf(m *predict.Model, s Station) Cable {
	t := &m.Vehicle.Tether
	q := 0.5 * predict.WaterDensity(s.WaterC, s.Salinity) * s.CurrentMS * s.CurrentMS * t.DiameterMM / 1000
	return Cable{Length: s.TetherOutM, Normal: q * t.NormalDrag, Skin: q * t.SkinDrag * math.Pi, Weight: t.WeightGM * predict.Gravity / 1000, Floats: t.Floats}
}

func stationCondition(m *predict.Model, s Station) predict.Condition {
	return predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), Electrical: true, DepthM: s.DepthM, TetherOutM: s.TetherOutM,
		WaterC: s.WaterC, Salinity: s.Salinity, BallastG: s.BallastG}
}

// thrusters works out what surge and heave can give in the current. Each is switched on for the
// share of time that it is needed, alone or together: together both have less voltage.
func thrusters(m *predict.Model, h *Holding, s Station, p predict.Params) {
	up, down := int8(1), int8(-1)
	if h.ForceUpN < 0 {
		up = -1
	}
	if h.ForceDownN < 0 {
		down = 1
	}
	var surge, heave, both [2]float64
	surge[0], _ = pushes(m, s, p, up, 0)
	_, heave[1] = pushes(m, s, p, 0, down)
	both[0], both[1] = pushes(m, s, p, up, down)
	h.GreatestUpN, h.GreatestDownN = surge[0], heave[1]
	need := [2]float64{math.Abs(h.ForceUpN), math.Abs(h.ForceDownN)}
	if heave[1] <= 0 && need[1] < stationSlackN {
		need[1] = 0
	}
	h.CanHold = byTurns(surge, both, need) || byTurns(both, heave, need) || byTurns(surge, heave, need)
}

// byTurns reports whether two ways of pushing, N up and N down, that take turns give on average what
// is needed.
func byTurns(a, b, need [2]float64) bool {
	least, most := 0.0, 1.0 // share of the time that a is on
	for k := range need {
		switch by := a[k] - b[k]; {
		case by > 0:
			least = max(least, (need[k]-b[k])/by)
		case by < 0:
			most = min(most, (need[k]-b[k])/by)
		case need[k] > b[k]:
			return false
		}
	}
	return least <= most
}

// stationSlackN is a force that an operator would not notice, N.
const stationSlackN = 0.05

// pushes returns the surge and heave thrust in N of thrusters at rest over ground in the station's
// current, with signs as in Condition.Sign.
func pushes(m *predict.Model, s Station, p predict.Params, surge, heave int8) (surgeN, heaveN float64) {
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
		speed = 0 // astern the propellers work in their own wash and see no inflow
	}
	return m.Push(&c, p, speed)
}

const (
	currentStep  = 0.05   // m/s, between the currents tried first
	searchSolves = 20_000 // calls of off in a search: half a second
)

// Strongest returns the strongest current, to a mm/s and up to most, in which a station can be
// held; 0 if it can be held in none.
func Strongest(m *predict.Model, s Station, p predict.Params, most float64) float64 {
	return strongest(m, s, p, most, new(searchSolves), likely)
}

// Sure returns the strongest current in which it is sure that the station can be held.
func Sure(m *predict.Model, s Station, p predict.Params, most float64, over Over) float64 {
	return strongest(m, s, p, most, new(searchSolves), func(h *Holding, s Station) bool {
		h.doubt(m, s, p, over)
		can, _ := h.Can()
		return can
	})
}

func likely(h *Holding, _ Station) bool { return h.CanHold }

// strongest finds the strongest current in which holds is true; left is the number of solves that
// remain for the search.
func strongest(m *predict.Model, s Station, p predict.Params, most float64, left *int, holds func(*Holding, Station) bool) float64 {
	var before *earlier
	can := func(u float64) bool {
		s.CurrentMS = u
		solves := min(mostSolves, *left)
		*left -= solves
		h, hung, err := hold(m, s, p, before, &solves)
		*left += max(solves, 0)
		if err == nil {
			before = hung
		}
		return err == nil && holds(&h, s)
	}
	lo := 0.0
	if asked := s.CurrentMS; asked > 0 && asked <= most && can(asked) { // in none, the shape of a slack tether takes longest to find
		lo = asked
	}
	for k := 1; float64(k)*currentStep <= most; k++ {
		if u := float64(k) * currentStep; can(u) {
			lo = max(lo, u)
		}
	}
	hi := min(lo+currentStep, most)
	for hi-lo > 0.001 {
		if mid := (lo + hi) / 2; can(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// lengths is the number of tether lengths that BestLength tries.
const lengths = 6

// BestLength returns the length of tether paid out, between just enough and all of it, with which a
// station can be held in the strongest current up to most, and that current.
func BestLength(m *predict.Model, s Station, p predict.Params, most float64) (length, current float64) {
	left := searchSolves
	least := min(1.03*math.Hypot(s.DepthM, s.OffsetM), m.Vehicle.Tether.LengthM)
	for k := range lengths {
		s.TetherOutM = least + (m.Vehicle.Tether.LengthM-least)*float64(k)/(lengths-1)
		if s.TetherOutM < 0.5 {
			continue
		}
		if u := strongest(m, s, p, most, &left, likely); u > current {
			length, current = s.TetherOutM, u
		}
	}
	return length, current
}

// A Place is one below the surface and whether the vehicle can probably hold there. CanHold is nil if
// the place is out of reach or no shape of the tether was found.
type Place struct {
	DepthM  float64 `json:"depth_m"`
	OffsetM float64 `json:"offset_m"`
	CanHold *bool   `json:"can_hold"`
	Share   float64 `json:"can_hold_share"`
	Held    string  `json:"-"` // yes, no, ? for unsure, - for no answer
}

// Across is the number of places at each depth that Places looks at.
const Across = 9

// Places solves places within the reach of a station's tether, depth by depth.
func Places(m *predict.Model, s Station, p predict.Params, over Over) (out []Place) {
	for d := 1; d <= 6; d++ {
		for k := range Across {
			s.DepthM, s.OffsetM = s.TetherOutM*0.15*float64(d), s.TetherOutM*0.22*float64(k-Across/2)
			place := Place{DepthM: s.DepthM, OffsetM: s.OffsetM, Held: "-"}
			if h, err := Hold(m, s, p, over); err == nil {
				place.CanHold, place.Share, place.Held = &h.CanHold, h.Share, "no"
				switch can, sure := h.Can(); {
				case !sure:
					place.Held = "?"
				case can:
					place.Held = "yes"
				}
			}
			out = append(out, place)
		}
	}
	return out
}
