package predict

import (
	"math"
)

// advance sets the thrusters' advance speeds from surge speed v and climb speed w.
func (m *Model) advance(ln *line, v, w float64) {
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		va := ln.inflow(r) * v
		if !m.motors[i].surge {
			va = ln.climbShare * max(0, w*math.Copysign(1, r.sign))
		}
		r.c, r.d = va/(torqueZero*r.s), va/(thrustZero*r.s)
	}
}

// draw evaluates the thrusters at a vehicle voltage. It returns V − E + I·(R_b + R_s), which is
// zero where the circuit balances, and its slope.
func (m *Model) draw(ln *line, volts float64) (excess, slope float64) {
	i, di := ln.aboard(volts)
	for k := range m.at {
		if r := &m.at[k]; r.on {
			r.solve(volts)
			i, di = i+r.i, di+r.iV
		}
	}
	total := ln.total
	return volts - ln.e + i*total, 1 + di*total
}

// circuit solves V_veh = E − I·(R_b + R_s) at given speeds and leaves the thrusters evaluated
// there. Where the water drives a propeller there can be several solutions. circuit returns the
// lowest, the one that a closing switch reaches first.
//
// Above its stall a thruster's back-EMF is concave in voltage, so its current is convex; where it
// starts to turn, its current can only jump down. The current of lights and camera is convex except where
// they cease to fade. Between the voltages at which thrusters start and those cease to fade, the excess
// therefore crosses zero upward at most once if it starts below zero, as it does at 0 V.
func (m *Model) circuit(ln *line, v, w float64) float64 {
	m.advance(ln, v, w)
	f := func(x float64) (float64, float64) { return m.draw(ln, x) }
	lo := 0.0
	for edge := m.nextEdge(ln, lo); edge < math.Inf(1); edge = m.nextEdge(ln, lo) {
		if y, _ := f(edge); y >= 0 {
			return bracketedNewton(lo, edge, edge, f)
		}
		lo = edge
	}
	top := max(ln.e, lo)
	y, slope := f(top)
	if y < 0 { // a propeller driven faster than it would turn feeds the tether: above E
		return bracketedNewton(top, beyond(top+1, 2, f), top, f)
	}
	return bracketedNewton(lo, top, min(max(top-y/slope, lo), top), f)
}

// nextEdge returns the lowest voltage above lo at which a thruster starts to turn or lights
// and camera cease to fade. It is infinite when the water drives no propeller: the excess then rises throughout.
func (m *Model) nextEdge(ln *line, lo float64) float64 {
	next, driven := math.Inf(1), false
	if ln.fade > lo {
		next = ln.fade
	}
	for i := range m.at {
		if r := &m.at[i]; r.on {
			driven = driven || r.c > 0
			if v := r.i0 * r.ra; v > lo {
				next = min(next, v)
			}
		}
	}
	if !driven {
		return math.Inf(1)
	}
	return next
}

// thrust adds up the thrusts, with their signs, of the running surge or heave thrusters, N.
func (m *Model) thrust(surge bool) float64 {
	total := 0.0
	for i := range m.at {
		if r := &m.at[i]; r.on && m.motors[i].surge == surge {
			total += r.sign * r.thrust
		}
	}
	return total
}

// slopes are the sums that the balances and their derivatives need at the thrusters' present state:
// thrust along ln.sense and upward, and ∂(current, surge thrust, heave thrust)/∂(V, v, w).
type slopes struct {
	surge, heave float64
	iz, sz, tz   [3]float64
}

func (m *Model) slopes(ln *line, volts, w float64) (s slopes) {
	_, s.iz[0] = ln.aboard(volts)
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		s.iz[0] += r.iV
		if m.motors[i].surge {
			s.addSurge(r, ln.sense*r.sign, ln.inflow(r))
		} else {
			s.addHeave(r, w, ln.climbShare)
		}
	}
	return s
}

func (s *slopes) addSurge(r *running, sign, inflow float64) {
	s.surge += sign * r.thrust
	s.sz[0] += sign * r.tV
	if inflow == 0 {
		return
	}
	dc, dd := inflow/(torqueZero*r.s), inflow/(thrustZero*r.s)
	s.iz[1] += r.ic * dc
	s.sz[1] += sign * (r.tc*dc + r.thatD*dd)
}

func (s *slopes) addHeave(r *running, w, share float64) {
	s.heave += r.sign * r.thrust
	s.tz[0] += r.sign * r.tV
	along := math.Copysign(1, r.sign)
	if w*along <= 0 {
		return
	}
	dc, dd := share*along/(torqueZero*r.s), share*along/(thrustZero*r.s)
	s.iz[2] += r.ic * dc
	s.tz[2] += r.sign * (r.tc*dc + r.thatD*dd)
}

// bracketedNewton finds the root of an increasing f in [lo, hi] by Newton's method. It bisects
// whenever a step leaves the bracket or f does not halve. The last call of f is at the root
// returned.
func bracketedNewton(lo, hi, x float64, f func(float64) (value, slope float64)) float64 {
	before := math.Inf(1)
	for range 200 {
		y, slope := f(x)
		if y == 0 {
			return x
		}
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - y/slope
		if !(next >= lo && next <= hi) || math.Abs(y) > before/2 {
			next = lo + (hi-lo)/2
		}
		before = math.Abs(y)
		if math.Abs(next-x) <= 1e-14*(math.Abs(x)+1e-3) || hi-lo <= 1e-15*(math.Abs(hi)+1e-3) {
			if last, _ := f(next); math.Abs(last) <= before {
				return next
			}
			f(x) // next lies beyond a jump of f; the root is at its edge
			return x
		}
		x = next
	}
	f(x)
	return x
}

// beyond moves one end of a bracket by doubling steps until an increasing f has the sign of step
// there.
func beyond(end, step float64, f func(float64) (float64, float64)) float64 {
	for range 60 {
		if y, _ := f(end); y*step >= 0 {
			return end
		}
		end += step
		step *= 2
	}
	return end
}
