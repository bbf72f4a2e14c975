package predict

import (
	"math"
	"sagline/session/quantity"
)

// slowest keeps the derivatives of a climb bounded, whose square root has a
// slope without bound at rest, m/s.
const slowest = 0.01

// differentiate fills grad with ∂Out/∂Params at a solved point by the
// implicit-function theorem: with unknowns z = (V, v, w) and balances
// F(z, p) = 0 for circuit, surge and heave, dz/dp = −(∂F/∂z)⁻¹·∂F/∂p.
func (m *Model) differentiate(c *Condition, ln *line, p Params, v, w float64, pt *Point, grad [][]float64) {
	n := m.Dim()
	for k := range grad {
		clear(grad[k][:n])
	}
	total, amps := ln.rb+ln.rs, pt.Out[quantity.CurrentA]
	at := m.slopes(ln, pt.Out[quantity.VehicleV], w)
	iz, sz := at.iz, at.sz
	inverse := invert3(ln.jacobian(&at, v, w, slowest))
	m.partials()
	pull := math.Copysign(1, m.sum(true, thrustOf))
	for k, part := range m.partial {
		ip, sp, tp := part[0], part[1], part[2]
		var fp [3]float64 // ∂F/∂p
		fp[0] = total * ip
		switch k {
		case OpenCircuitV:
			fp[0] -= 1
		case SagVPerMinute:
			fp[0] += c.Minute
		case BatteryOhm, LoopOhm:
			fp[0] += amps
		}
		if ln.moving {
			fp[1] = -ln.sense * sp
			if k == LogDrag {
				fp[1] += 0.5 * ln.rho * ln.area * v * v
			}
		}
		if ln.climbing {
			fp[2] = -tp
			switch k {
			case LogClimbDrag:
				fp[2] += 0.5 * ln.rho * ln.climbArea * w * math.Abs(w)
			case TrimG:
				fp[2] -= Gravity / 1000
			}
		}
		var z [3]float64
		for a := range 3 {
			for b := range 3 {
				z[a] -= inverse[a][b] * fp[b]
			}
		}
		di := ip + iz[0]*z[0] + iz[1]*z[1] + iz[2]*z[2]
		grad[quantity.CurrentA][k] = di
		grad[quantity.VehicleV][k], grad[quantity.Speed][k], grad[quantity.Climb][k] = z[0], z[1], z[2]
		grad[quantity.BatteryV][k] = -ln.rb * di
		grad[quantity.Pull][k] = pull * (sp + sz[0]*z[0]*ln.sense)
	}
	grad[quantity.BatteryV][OpenCircuitV]++
	grad[quantity.BatteryV][SagVPerMinute] -= c.Minute
	grad[quantity.BatteryV][BatteryOhm] -= amps
	grad[quantity.Trim][TrimG] = 1
	grad[quantity.LoopOhm][LoopOhm] = 1
}

// partials fills m.partial with ∂(current, surge thrust, heave thrust)/∂p at
// fixed V and speeds, with the signs of the thrusters in the thrusts.
func (m *Model) partials() {
	clear(m.partial)
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		axis := 2
		if m.motors[i].surge {
			axis = 1
		}
		add := func(k int, di, dt float64) {
			m.partial[k][0] += di
			m.partial[k][axis] += r.sign * dt
		}
		add(LogTorque, r.q*r.iq, r.q*r.tq)
		add(LogThrust, 0, r.thrust)
		add(LogPitch, -r.c*r.ic, -r.c*r.tc-r.d*r.thatD) // c and d fall as pitch speed rises
		add(FrictionA, r.iI0, r.tI0)
		add(FirstBranch+i, r.iRa, r.tRa)
	}
}

// invert3 inverts a well-conditioned 3×3 matrix by cofactors.
func invert3(a [3][3]float64) [3][3]float64 {
	x, y, z := a[0], a[1], a[2]
	p := [3]float64{y[1]*z[2] - y[2]*z[1], y[2]*z[0] - y[0]*z[2], y[0]*z[1] - y[1]*z[0]}
	k := 1 / (x[0]*p[0] + x[1]*p[1] + x[2]*p[2])
	return [3][3]float64{
		{k * p[0], k * (x[2]*z[1] - x[1]*z[2]), k * (x[1]*y[2] - x[2]*y[1])},
		{k * p[1], k * (x[0]*z[2] - x[2]*z[0]), k * (x[2]*y[0] - x[0]*y[2])},
		{k * p[2], k * (x[1]*z[0] - x[0]*z[1]), k * (x[0]*y[1] - x[1]*y[0])},
	}
}
