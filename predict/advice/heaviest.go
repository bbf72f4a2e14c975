package advice

import (
	"math"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A heavy is the heaviest run: what it draws, and the voltages that are left.
type heavy struct {
	amps, pair         Range // A of the battery, and through the power pair
	ohm                Range // Ω of the battery
	batteryV, vehicleV float64
	fullV              float64 // battery's voltage at the beginning of a dive
}

// heaviest tries every drive on every case. fullV is for a battery that rests at full. Middle
// values are those of the case that draws most.
func heaviest(cases []Case, c *predict.Condition, drives [][]int8, rest Range, full float64) heavy {
	h := heavy{batteryV: math.Inf(1), vehicleV: math.Inf(1), fullV: math.Inf(1)}
	h.amps.Low, h.pair.Low, h.ohm.Low = math.Inf(1), math.Inf(1), math.Inf(1)
	var pt predict.Point
	for s := range cases {
		extremes := func(p predict.Params) []float64 {
			amps, pair, battery, vehicle := 0.0, 0.0, math.Inf(1), math.Inf(1)
			for _, c.Sign = range drives {
				for _, c.Held = range []bool{true, false} {
					cases[s].Model.Solve(c, p, &pt, nil)
					amps, pair = max(amps, pt.Out[quantity.CurrentA]), max(pair, pt.PairA)
					battery, vehicle = min(battery, pt.Out[quantity.BatteryV]), min(vehicle, pt.Volts)
				}
			}
			return []float64{amps, pair, battery, vehicle}
		}
		x := cases[s].over(rest, extremes)
		if x[0].Value > h.amps.Value {
			h.amps.Value, h.pair.Value, h.ohm.Value = x[0].Value, x[1].Value, cases[s].Battery.Value
		}
		h.ohm.Low, h.ohm.High = min(h.ohm.Low, cases[s].Battery.Low), max(h.ohm.High, cases[s].Battery.High)
		h.amps.Low, h.amps.High = min(h.amps.Low, x[0].Low), max(h.amps.High, x[0].High)
		h.pair.Low, h.pair.High = min(h.pair.Low, x[1].Low), max(h.pair.High, x[1].High)
		h.batteryV, h.vehicleV = min(h.batteryV, x[2].Low), min(h.vehicleV, x[3].Low)
		h.fullV = min(h.fullV, cases[s].over(Range{full, full, full}, extremes)[2].Low)
	}
	return h
}

// coilV returns a relay coil's voltage with so many coils on, V.
func coilV(m *predict.Model, c *predict.Condition, on int, batteryV float64) float64 {
	coil := m.Vehicle.Relay.CoilOhm
	return batteryV * coil / (coil + m.SignalOhm(c.WaterC, on))
}

// signalLightsV returns the voltage across lights that a signal conductor feeds from the battery: E
// − I·R with the LEDs' current I = Σ(V − led_v)/R_k, or the stated current.
func signalLightsV(m *predict.Model, c *predict.Condition, loadedV float64) (float64, bool) {
	l, wire := &m.Vehicle.Lights, m.SignalOhm(c.WaterC, 1)
	if l.Supply != "signal" || wire == 0 || !l.Any() {
		return 0, false
	}
	if len(l.ResistorOhm) == 0 {
		return max(loadedV-l.CurrentA*wire, 0), true
	}
	if loadedV <= l.LEDV {
		return loadedV, true
	}
	drop := wire * l.Siemens()
	return (loadedV + drop*l.LEDV) / (1 + drop), true
}

// shelfMinutes is how long a battery at rest keeps much of its charge: about a year, from memory.
const shelfMinutes = 60 * 24 * 365.0

// ratedHours is the discharge time for which a lead-acid battery's capacity is rated; common
// practice, no source.
const ratedHours = 20

// peukert returns how long a battery lasts at a steady current, hours: T = C·(C/R)^(n−1)/Iⁿ with
// capacity C rated over R hours (the rated form of Peukert's law).
func peukert(capacityAh, amps, rated, n float64) float64 {
	return capacityAh * math.Pow(capacityAh/rated, n-1) / math.Pow(amps, n)
}

// usable returns the share of a full battery's charge that can be drawn at a steady current before
// it falls to minimum_v.
func usable(b *vehicle.Battery, amps, ohm float64) float64 {
	if b.MinimumV <= 0 {
		return 1
	}
	return 1 - b.Charge(b.MinimumV+amps*ohm)
}

// minutes returns how long a full battery lasts at a steady current, down to minimum_v; at most
// shelfMinutes.
func minutes(b *vehicle.Battery, amps, ohm float64) float64 {
	return min(60*peukert(b.CapacityAh, amps, ratedHours, b.Peukert()), shelfMinutes) * usable(b, amps, ohm)
}

// endurance returns how long a full battery lasts at the heaviest run, minutes; nil if its capacity
// is not known.
func endurance(b *vehicle.Battery, h heavy) *Range {
	if b.CapacityAh <= 0 || h.amps.Value <= 0 || h.amps.Low <= 0 {
		return nil
	}
	return &Range{minutes(b, h.amps.High, h.ohm.High), minutes(b, h.amps.Value, h.ohm.Value), minutes(b, h.amps.Low, h.ohm.Low)}
}

// A Jam is what happens when one thruster alone is switched on and cannot turn.
type Jam struct {
	Thruster  string  `json:"thruster"`
	CurrentA  float64 `json:"current_a"`  // of the battery
	FuseBlows bool    `json:"fuse_blows"` // before the winding reaches spoiltC
	WindingW  float64 `json:"winding_w"`
	Seconds   float64 `json:"seconds"` // until the winding reaches spoiltC, no heat lost
}

const (
	// windingGPerW is the copper in a small brushed motor's armature, in g per watt that its static
	// test takes: 25 g for 84 W. Common practice, no source; twice or half as much is possible.
	windingGPerW = 0.3
	copperJGK    = 0.385 // specific heat of copper, J/(g·K), handbook value from memory
	spoiltC      = 130.0 // °C that a winding of thermal class B may have, IEC 60085
)

// jams returns every thruster's jam, with the highest current and heat over the cases. The fuse is
// judged at the least current that the thruster may draw.
func jams(cases []Case, c *predict.Condition, rest Range, fuseA float64) (out []Jam) {
	for i := range cases[0].Model.Vehicle.Thrusters {
		t := &cases[0].Model.Vehicle.Thrusters[i]
		j, least := Jam{Thruster: t.Name}, math.Inf(1)
		for s := range cases {
			x := cases[s].over(rest, func(p predict.Params) []float64 { return cases[s].jam(c, p, i) })
			least = min(least, x[0].Low)
			j.CurrentA, j.WindingW = max(j.CurrentA, x[0].High), max(j.WindingW, x[1].High)
		}
		copperG := windingGPerW * t.TestV * t.TestA
		j.Seconds = copperG * copperJGK * max(spoiltC-c.WaterC, 0) / j.WindingW
		j.FuseBlows = fuseA > 0 && fuseSeconds(least, fuseA) <= j.Seconds
		out = append(out, j)
	}
	return out
}

// jam solves one thruster that cannot turn. It returns the battery's current and the watts in its
// winding.
func (s *Case) jam(c *predict.Condition, p predict.Params, i int) []float64 {
	stuck := *c
	stuck.Sign, stuck.Jammed, stuck.Held, stuck.Climbing, stuck.Electrical = make([]int8, len(s.Model.Vehicle.Thrusters)), i+1, true, false, true
	stuck.Sign[i] = 1
	var pt predict.Point
	s.Model.Solve(&stuck, p, &pt, nil)
	ohm := s.Model.Vehicle.Thrusters[i].ArmatureOhm * math.Exp(p[predict.LogArmature]-p[predict.LogSize])
	return []float64{pt.Out[quantity.CurrentA], pt.Amps[i] * pt.Amps[i] * ohm}
}
