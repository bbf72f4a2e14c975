package predict

import "math"

// balance returns surge speed, climb speed and vehicle voltage. It solves all three together by
// Newton's method, starting from the point at rest; where that fails, by nested bracketed searches.
func (m *Model) balance(ln *line) (v, w, volts float64) {
	volts = m.circuit(ln, 0, 0)
	lift := Gravity * ln.buoyancy / 1000
	if ln.climbing {
		w = free(m.thrust(false)+lift, ln.rho*ln.climbArea)
	}
	if ln.moving {
		still := m.thrust(true)
		ln.sense = math.Copysign(1, still)
		v = free(math.Abs(still), ln.rho*ln.area)
	}
	solveClimb := ln.climbing && ln.heaving && ln.climbShare != 0
	if !ln.moving && !solveClimb {
		return v, w, volts
	}
	if z, ok := m.newton(ln, m.startingPoint(ln, volts, v, w, solveClimb), solveClimb); ok {
		return z[1], z[2], z[0]
	}
	return m.bracketed(ln)
}

// startingPoint returns the first guess for Newton's method: the voltage at rest and the speeds v
// and w that the thrust at rest would give, corrected as if thrust and voltage went on changing
// with speed at the slopes that they have at rest.
func (m *Model) startingPoint(ln *line, volts, v, w float64, solveClimb bool) [3]float64 {
	s := m.slopes(ln, volts, w)
	jac := ln.jacobian(&s, 0, 0, 0)
	byV, byW := -jac[0][1]/jac[0][0], -jac[0][2]/jac[0][0]
	z := [3]float64{volts, 0, w}
	if ln.moving {
		z[1] = slowed(v, s.sz[1]+s.sz[0]*byV, ln.rho*ln.area)
	}
	if solveClimb {
		z[2] = math.Copysign(slowed(math.Abs(w), s.tz[2]+s.tz[0]*byW, ln.rho*ln.climbArea), w)
	}
	z[0] = max(volts+byV*z[1]+byW*z[2], 0)
	return z
}

// slowed returns the speed at which quadratic drag balances a force that alone would give speed v
// and that changes by slope with speed: the root x of ½·half·(x² − v²) = slope·x.
func slowed(v, slope, half float64) float64 {
	if v == 0 {
		return 0
	}
	k := slope / half
	return v * v / (math.Sqrt(k*k+v*v) - k)
}

// free returns the speed at which quadratic drag balances a force; half is ρ·area.
func free(force, half float64) float64 {
	return math.Copysign(math.Sqrt(2*math.Abs(force)/half), force)
}

// short is the relative length of the last Newton step: convergence is quadratic, so the error that
// is left is below rounding.
const short = 1e-8

// newton solves circuit, surge and heave for z = (V, v, w) by Newton's method. It reports false at
// an edge that only the bracketed search handles: a speed against the thrust, or a propeller driven
// by the water.
func (m *Model) newton(ln *line, z [3]float64, solveClimb bool) ([3]float64, bool) {
	last := false
	for range 20 {
		m.advance(ln, z[1], z[2])
		f := [3]float64{}
		f[0], _ = m.draw(ln, z[0])
		if last {
			return z, !m.driven()
		}
		s := m.slopes(ln, z[0], z[2])
		jac := ln.jacobian(&s, z[1], z[2], 0)
		if ln.moving {
			f[1] = 0.5*ln.rho*ln.area*z[1]*z[1] - s.surge
		}
		if solveClimb {
			f[2] = 0.5*ln.rho*ln.climbArea*z[2]*math.Abs(z[2]) - s.heave - Gravity*ln.buoyancy/1000
		} else {
			jac[2] = [3]float64{0, 0, 1}
		}
		last = true
		for i, row := range invert3(jac) {
			step := row[0]*f[0] + row[1]*f[1] + row[2]*f[2]
			z[i] -= step
			last = last && math.Abs(step) <= short*(math.Abs(z[i])+1e-3)
		}
		if !(z[1] >= 0) || z[0] < 0 {
			return z, false
		}
	}
	return z, false
}

// driven reports whether the water turns a propeller faster than its motor would. The circuit may
// then balance at several voltages, and only the bracketed search knows which to take.
func (m *Model) driven() bool {
	for i := range m.at {
		if r := &m.at[i]; r.on && r.d > 0 && r.u < r.d {
			return true
		}
	}
	return false
}

// jacobian returns ∂F/∂z of the balances F of circuit, surge and heave at z = (V, v, w). The slope
// of the climb's drag is taken at slowest m/s or more, so that it does not vanish.
func (ln *line) jacobian(s *slopes, v, w, slowest float64) [3][3]float64 {
	total := ln.total
	f := [3][3]float64{{1 + total*s.iz[0], total * s.iz[1], total * s.iz[2]}, {0, 1, 0}, {0, 0, 1}}
	if ln.moving {
		f[1] = [3]float64{-s.sz[0], ln.rho*ln.area*v - s.sz[1] + 1e-9, -s.sz[2]}
	}
	if ln.climbing {
		f[2] = [3]float64{-s.tz[0], 0, ln.rho*ln.climbArea*max(math.Abs(w), slowest) - s.tz[2] + 1e-12}
	}
	return f
}

// bracketed solves for surge speed within climb, and for voltage within both. Every root is
// bracketed, so the search ends for every valid vehicle. Where the water drives a propeller, its
// thrust may jump as it stops or starts. The root may then be that edge; a real vehicle would hunt
// about it.
func (m *Model) bracketed(ln *line) (v, w, volts float64) {
	lift := Gravity * ln.buoyancy / 1000
	freely := free(lift, ln.rho*ln.climbArea)
	switch {
	case !ln.climbing:
		v, volts = m.surge(ln, 0)
		return v, 0, volts
	case !ln.heaving:
		v, volts = m.surge(ln, freely)
		return v, freely, volts
	}
	m.surge(ln, 0)
	still := free(m.thrust(false)+lift, ln.rho*ln.climbArea)
	f := func(w float64) (float64, float64) {
		m.surge(ln, w)
		f := m.thrust(false) + lift - 0.5*ln.rho*ln.climbArea*w*math.Abs(w)
		return -f, ln.rho*ln.climbArea*math.Abs(w) + 1e-9
	}
	reach := max(math.Abs(still), math.Abs(freely), 1e-9)
	w = bracketedNewton(beyond(min(still, freely, 0)-1e-9, -reach, f), beyond(max(still, freely, 0)+1e-9, reach, f), 0.7*still, f)
	v, volts = m.surge(ln, w)
	return v, w, volts
}

// surge returns surge speed and voltage at a given climb speed.
func (m *Model) surge(ln *line, w float64) (v, volts float64) {
	volts = m.circuit(ln, 0, w)
	if !ln.moving {
		return 0, volts
	}
	still := m.thrust(true)
	ln.sense = math.Copysign(1, still)
	top := free(math.Abs(still), ln.rho*ln.area) + 1e-12
	f := func(v float64) (float64, float64) {
		volts = m.circuit(ln, v, w)
		s := m.slopes(ln, volts, w)
		jac := ln.jacobian(&s, v, w, 0)
		return 0.5*ln.rho*ln.area*v*v - s.surge, jac[1][1] - jac[1][0]*jac[0][1]/jac[0][0]
	}
	v = bracketedNewton(0, beyond(top, top, f), 0.7*top, f)
	return v, volts
}
