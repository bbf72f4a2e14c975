package predict

// A supply is the battery with all that it feeds by other wires than the power pair (relay coils,
// lights on signal conductors, a camera on the shared supply). Seen from the vehicle's end it is a
// voltage behind a resistance (Thévenin).
type supply struct {
	e     float64 // V at the vehicle with no motor or light on
	total float64 // Ω: battery and loop

	open, rb     float64 // V and Ω of the battery alone
	side, slope  float64 // A and A/V drawn through other wires
	share        float64 // 1/(1 + rb·slope)
	terminals    float64 // V at the battery with nothing on the power pair
	constant     float64 // A of loads on the power pair that the file does not state
	factor       float64 // on the battery's resistance, for cold and spent charge
	belowCold    float64 // K
	batteryAlone float64 // Ω at coldBelowC, full
}

// coldBelowC is the temperature in °C below which a battery's resistance
// rises: common practice, no source.
const coldBelowC = 20.0

// BelowCold returns how many kelvins water lies below coldBelowC.
func BelowCold(waterC float64) float64 { return max(coldBelowC-waterC, 0) }

// supply reduces battery and side loads to e behind total:
//
//	V_bat = E − R_b·(I + I_side), I_side = side + slope·V_bat
//	V_bat = terminals − I·share·R_b, terminals = share·(E − R_b·side)
func (m *Model) supply(c *Condition, p Params, water, rs float64) supply {
	s := supply{open: p[OpenCircuitV] - p[SagVPerMinute]*c.losing(p), constant: p[UnloggedA] + p[c.ofLights()],
		belowCold: BelowCold(water), batteryAlone: max(m.Vehicle.Battery.ResistanceOhm+p[BatteryOhm], 0)}
	if !c.idle() {
		s.open -= p[SurfaceV]
	}
	s.factor = max(1+p[BatteryPerK]*s.belowCold+p[BatteryPerSpent]*c.Spent, 0.1)
	s.rb = s.batteryAlone * s.factor
	s.side, s.slope = m.sideLoads(c, s.open)
	s.share = 1 / (1 + s.rb*s.slope)
	s.terminals = s.share * (s.open - s.rb*s.side)
	s.total = s.share*s.rb + rs
	s.e = s.terminals - s.constant*s.total
	return s
}

// losing returns the minutes in which the battery has lost voltage: those of the dive, less the
// share of those at rest in which it loses none.
func (c *Condition) losing(p Params) float64 {
	return c.Minute + p[MinuteMin] - p[RestedShare]*c.RestMin
}

// ofLights returns the parameter for current of lights that the file does not state.
func (c *Condition) ofLights() int {
	if c.Lights {
		return LightsA
	}
	return UnlitA
}

// loaded returns the battery's voltage and current when the motors and lights on the power pair
// draw amps.
func (s *supply) loaded(amps float64) (volts, total float64) {
	amps += s.constant
	volts = s.terminals - amps*s.share*s.rb
	return volts, amps + s.side + s.slope*volts
}

// sideLoads returns what the battery feeds by other wires than the power pair: amps, and amps per
// volt at its terminals.
func (m *Model) sideLoads(c *Condition, open float64) (amps, slope float64) {
	v := m.Vehicle
	if !c.Electrical {
		return 0, 0
	}
	if v.Camera.Supply == "shared" {
		amps += v.Camera.CurrentA
	}
	if c.Lights && v.Lights.Supply == "signal" {
		wire := m.SignalOhm(c.WaterC, 1)
		l := &v.Lights
		if len(l.ResistorOhm) == 0 {
			amps += l.CurrentA
		} else if open > l.LEDV {
			g := l.Siemens()
			g /= 1 + wire*g
			amps, slope = amps-g*l.LEDV, slope+g
		}
	}
	if v.Relay.CoilOhm > 0 {
		on := 0
		for _, sign := range c.Sign {
			if sign != 0 {
				on++
			}
		}
		slope += float64(on) / (v.Relay.CoilOhm + m.SignalOhm(c.WaterC, on))
	}
	return amps, slope
}

// SignalOhm returns the resistance that the signal conductors put before one of n equal loads at
// the vehicle: its own wire out and the shared return, which carries the current of all n. Without
// a shared return each has its own wire back. It is 0 without signal conductors.
func (m *Model) SignalOhm(waterC float64, n int) float64 {
	s := &m.Vehicle.Tether.Signal
	if s.AWG == nil && s.AreaMM2 == 0 && s.OhmKM == 0 {
		return 0
	}
	wire := m.Vehicle.Tether.LengthM * s.OhmPerMetre(waterC) / float64(max(s.Parallel, 1))
	back := wire
	if s.SharedReturn > 0 {
		back = wire * float64(n) / float64(s.SharedReturn)
	}
	return wire + back + s.JointsOhm
}

// fadingV is the vehicle voltage below which loads of a given current fade. It makes every loop
// have a balance; any small voltage would do.
const fadingV = 1.0

// fading is the current of such a load at a vehicle voltage, and its slope.
func fading(amps, v float64) (i, slope float64) {
	if v < fadingV { // no circuit could keep the current up
		return amps * v / fadingV, amps / fadingV
	}
	return amps, 0
}

func nothing(float64) (i, slope float64) { return 0, 0 }

// aboard returns what lights and a camera draw from the power pair, with its slope, as a function of
// the vehicle voltage, and whether a part of it fades.
func (m *Model) aboard(lit bool) (draw func(v float64) (i, slope float64), fades bool) {
	camera := 0.0
	if m.Vehicle.Camera.Supply == "pair" {
		camera = m.Vehicle.Camera.CurrentA
	}
	if camera == 0 && !lit { // nearly always: spare the closure
		return nothing, false
	}
	return func(v float64) (i, slope float64) {
		if lit {
			i, slope = m.LightAmps(v)
		}
		c, dc := fading(camera, v)
		return i + c, slope + dc
	}, camera > 0 || lit && len(m.Vehicle.Lights.ResistorOhm) == 0
}

// LightAmps returns the current of lights on the power pair at a vehicle voltage, and its slope.
func (m *Model) LightAmps(v float64) (float64, float64) {
	l := &m.Vehicle.Lights
	if l.Supply == "signal" {
		return 0, 0
	}
	if len(l.ResistorOhm) == 0 {
		return fading(l.CurrentA, v)
	}
	if v <= l.LEDV {
		return 0, 0
	}
	slope := l.Siemens()
	return (v - l.LEDV) * slope, slope
}
