package advice

import (
	"math"

	"sagline/predict"
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
