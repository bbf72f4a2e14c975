package advice

import (
	"math"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// A Range is a value with its 95 % range.
type Range struct {
	Low   float64 `json:"low"`
	Value float64 `json:"value"`
	High  float64 `json:"high"`
}

// over divides by an independent range. The relative deviations of both are combined by the root of
// the sum of squares, either way.
func (r Range) over(by Range) Range {
	share := func(x, of float64) float64 { return 1 - x/of }
	x := r.Value / by.Value
	if x == 0 {
		return Range{}
	}
	return Range{x * max(1-math.Hypot(share(r.Low, r.Value), share(by.Value, by.High)), 0), x,
		x * (1 + math.Hypot(share(r.High, r.Value), 1-by.Value/by.Low))}
}

// A Case is a vehicle on which margins are judged: as built, or as its log shows it.
type Case struct {
	Model   *predict.Model
	Params  predict.Params // with LoopOhm and BatteryOhm at the middle of the ranges
	LoopOhm Range          // Ω of the whole power loop at the water's temperature, with joints
	Battery Range          // Ω of the battery
	Doubts  []Doubt        // about the thrusters
}

// A Doubt is what one unknown of the thrusters, independent of the others, adds to Params at either
// end of its 95 % range.
type Doubt struct {
	Down, Up predict.Params
	Stated   bool // it is the tolerance of a value that the file states
}

const z95 = vehicle.Z95

// asBuilt returns the case of a vehicle as its file states it, with the ranges of the file's
// numbers and priors.
func asBuilt(m *predict.Model, c *predict.Condition) Case {
	t := &m.Vehicle.Tether
	s := Case{Model: m, Params: m.NewParams()}
	joints, battery := m.Vehicle.Belief("tether.power.joints_ohm"), m.Vehicle.Belief("battery.resistance_ohm")
	s.Battery = Range{battery.Low, m.Vehicle.Battery.ResistanceOhm, battery.High}
	cable := t.CableOhm(c.WaterC)
	s.LoopOhm.Value = cable + t.Power.JointsOhm
	below, above := cable*cableShare(m.Vehicle, false), cable*cableShare(m.Vehicle, true)
	s.LoopOhm.Low = max(s.LoopOhm.Value-math.Hypot(below, t.Power.JointsOhm-joints.Low), 0)
	s.LoopOhm.High = s.LoopOhm.Value + math.Hypot(above, joints.High-t.Power.JointsOhm)
	done := map[string]bool{}
	for _, b := range m.Vehicle.Beliefs() {
		if !strings.HasPrefix(b.Key, "thruster.") || b.Residual == 0 || done[b.Doubt] {
			continue
		}
		done[b.Doubt] = true
		at := func(z float64) predict.Params {
			return predict.Difference(m.Vehicle, m.Vehicle.Varied(map[string]float64{b.Doubt: z}))
		}
		s.Doubts = append(s.Doubts, Doubt{at(-z95), at(z95), b.Origin != vehicle.Prior})
	}
	for _, path := range []string{"lights.current_a", "camera.current_a"} {
		b := m.Vehicle.Belief(path)
		if b.SD == 0 || b.Key == "lights.current_a" && len(m.Vehicle.Lights.ResistorOhm) > 0 || b.Key == "camera.current_a" && !m.Vehicle.Camera.OnVehicle() {
			continue
		}
		down, up := make(predict.Params, m.Dim()), make(predict.Params, m.Dim())
		for _, k := range []int{predict.UnlitA, predict.LightsA} {
			down[k], up[k] = b.Low-b.Value, b.High-b.Value
		}
		s.Doubts = append(s.Doubts, Doubt{down, up, true})
	}
	return s
}

// overKeys returns the 95 % range of f of a vehicle over the numbers whose keys begin with one of
// the prefixes. Each is moved alone to either end of its range; the deviations are combined by the
// root of the sum of squares.
func overKeys(v *vehicle.Vehicle, f func(*vehicle.Vehicle) float64, prefixes ...string) Range {
	out, done := Range{Value: f(v)}, map[string]bool{}
	for _, b := range v.Beliefs() {
		if b.SD == 0 || done[b.Doubt] || !slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(b.Key, p) }) {
			continue
		}
		done[b.Doubt] = true
		one, other := f(v.Varied(map[string]float64{b.Doubt: -z95})), f(v.Varied(map[string]float64{b.Doubt: z95}))
		out.Low = math.Hypot(out.Low, max(out.Value-min(one, other), 0))
		out.High = math.Hypot(out.High, max(max(one, other)-out.Value, 0))
	}
	return Range{out.Value - out.Low, out.Value, out.Value + out.High}
}

// cableShare returns how much higher or lower the copper's resistance may be than by the file, as a
// share, given the doubt of its length and conductor size.
func cableShare(v *vehicle.Vehicle, higher bool) float64 {
	off := func(path string, ohm func(x float64) float64) float64 {
		b := v.Belief(path)
		if b.SD == 0 {
			return 0
		}
		low, high := ohm(b.Low)/ohm(b.Value)-1, ohm(b.High)/ohm(b.Value)-1
		if higher {
			return max(low, high, 0)
		}
		return -min(low, high, 0)
	}
	length := off("tether.length_m", func(x float64) float64 { return x })
	switch p := &v.Tether.Power; {
	case p.AWG != nil:
		return math.Hypot(length, off("tether.power.awg", func(x float64) float64 { return 1 / vehicle.AWGArea(x) }))
	case p.AreaMM2 > 0:
		return math.Hypot(length, off("tether.power.area_mm2", func(x float64) float64 { return 1 / x }))
	}
	return math.Hypot(length, off("tether.power.ohm_km", func(x float64) float64 { return x }))
}

// ByLog returns the case of a vehicle as its log shows it, with Params p. loopSD and batterySD are
// one standard deviation of loop and battery, Ω; thrusters are what one standard deviation of each
// doubt about the thrusters adds to p.
func ByLog(m *predict.Model, c *predict.Condition, p predict.Params, loopSD, batterySD float64, thrusters ...predict.Params) Case {
	about := func(x, sd float64) Range { return Range{max(x-z95*sd, 0), max(x, 0), max(x+z95*sd, 0)} }
	t := &m.Vehicle.Tether
	var doubts []Doubt
	for _, x := range thrusters {
		doubts = append(doubts, Doubt{Down: x.Times(-z95), Up: x.Times(z95)})
	}
	return Case{Doubts: doubts, Model: m, Params: p.ReadAsIs(),
		LoopOhm: about(t.CableOhm(c.WaterC)+t.Power.JointsOhm+p[predict.LoopOhm], loopSD),
		Battery: about(m.Vehicle.Battery.ResistanceOhm+p[predict.BatteryOhm], batterySD)}
}

// over returns the 95 % range of each of f's results. Value is f at the middle of all ranges. Loop,
// battery, rest voltage and each doubt about the thrusters are moved alone to either end of their
// ranges; the deviations are combined by the root of the sum of squares.
func (s *Case) over(rest Range, f func(p predict.Params) []float64) []Range {
	at := func(e, loop, battery float64, more predict.Params) []float64 {
		p := append(predict.Params(nil), s.Params...)
		for k, x := range more {
			p[k] += x
		}
		p[predict.LoopOhm] += loop - s.LoopOhm.Value
		p[predict.BatteryOhm] += battery - s.Battery.Value
		p[predict.OpenCircuitV], p[predict.SagVPerMinute] = e, 0
		return f(p)
	}
	e, loop, battery := rest.Value, s.LoopOhm.Value, s.Battery.Value
	middle := at(e, loop, battery, nil)
	out := make([]Range, len(middle))
	all := [][2][]float64{
		{at(rest.Low, loop, battery, nil), at(rest.High, loop, battery, nil)},
		{at(e, s.LoopOhm.Low, battery, nil), at(e, s.LoopOhm.High, battery, nil)},
		{at(e, loop, s.Battery.Low, nil), at(e, loop, s.Battery.High, nil)},
	}
	for i := range s.Doubts {
		all = append(all, [2][]float64{at(e, loop, battery, s.Doubts[i].Down), at(e, loop, battery, s.Doubts[i].Up)})
	}
	for _, ends := range all {
		for k, x := range middle {
			down, up := x-min(ends[0][k], ends[1][k], x), max(ends[0][k], ends[1][k], x)-x
			out[k].Low, out[k].High = math.Hypot(out[k].Low, down), math.Hypot(out[k].High, up)
		}
	}
	for k, x := range middle {
		out[k] = Range{x - out[k].Low, x, x + out[k].High}
	}
	return out
}

// withLoop returns the case with another resistance of the power loop.
func (s Case) withLoop(ohm Range) Case {
	s.Params = slices.Clone(s.Params)
	s.Params[predict.LoopOhm] += ohm.Value - s.LoopOhm.Value
	s.LoopOhm = ohm
	return s
}

// withBattery returns the case with another resistance of the battery.
func (s Case) withBattery(ohm Range) Case {
	s.Params = slices.Clone(s.Params)
	s.Params[predict.BatteryOhm] += ohm.Value - s.Battery.Value
	s.Battery = ohm
	return s
}

// short returns the current of a dead short at the vehicle's end, A.
func (s *Case) short(rest Range) Range {
	t := &s.Model.Vehicle.Tether
	cable := s.LoopOhm.Value - t.Power.JointsOhm - s.Params[predict.LoopOhm]
	return s.over(rest, func(p predict.Params) []float64 {
		loop := cable + t.Power.JointsOhm + p[predict.LoopOhm]
		battery := s.Model.Vehicle.Battery.ResistanceOhm + p[predict.BatteryOhm]
		return []float64{p[predict.OpenCircuitV] / max(loop+battery, 1e-6)}
	})[0]
}
