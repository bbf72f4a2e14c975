package predict

import "math"

// differentiate fills grad with ∂Out/∂Params at a solved point by the
// implicit-function theorem: with unknowns z = (V, v, w) and balances
// F(z, p) = 0 for circuit, surge and heave, dz/dp = −(∂F/∂z)⁻¹·∂F/∂p.
func (m *Model) differentiate(c *Condition, ln *line, p Params, v, w float64, pt *Point, grad [][]float64) {
	n := m.Dim()
	for k := range grad {
		clear(grad[k][:n])
	}
	total, amps := ln.rb+ln.rs, pt.Out[OutCurrentA]
	_, lightSlope := ln.lights(pt.Out[OutVehicleV])
	var iz, sz, tz [3]float64 // ∂(current, surge thrust, heave thrust)/∂(V, v, w)
	iz[0] = lightSlope
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		iz[0] += r.iV
		dc, dd := 1/(torqueZero*r.s), 1/(thrustZero*r.s)
		if m.motors[i].surge {
			k := ln.inflow(r)
			iz[1] += r.ic * dc * k
			sz[0] += ln.sense * r.sign * r.tV
			sz[1] += ln.sense * r.sign * (r.tc*dc + r.thatD*dd) * k
		} else {
			tz[0] += r.sign * r.tV
			if s := math.Copysign(1, r.sign); w*s > 0 {
				iz[2] += r.ic * dc * s
				tz[2] += r.sign * (r.tc*dc + r.thatD*dd) * s
			}
		}
	}
	f := [3][3]float64{{1 + total*iz[0], total * iz[1], total * iz[2]}, {0, 1, 0}, {0, 0, 1}}
	if ln.moving {
		f[1] = [3]float64{-sz[0], ln.rho*ln.area*v - sz[1] + 1e-9, -sz[2]}
	}
	if ln.climbing {
		f[2] = [3]float64{-tz[0], 0, ln.rho*ln.climbArea*max(math.Abs(w), 0.01) - tz[2]}
	}
	inverse := invert3(f)
	for k := range n {
		ip, sp, tp := m.partials(k, ln)
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
		grad[OutCurrentA][k] = di
		grad[OutVehicleV][k], grad[OutSpeed][k], grad[OutClimb][k] = z[0], z[1], z[2]
		grad[OutBatteryV][k] = -ln.rb * di
		pull := sp + sz[0]*z[0]*ln.sense
		grad[OutPull][k] = math.Copysign(1, m.sum(true, thrustOf)) * pull
	}
	grad[OutBatteryV][OpenCircuitV]++
	grad[OutBatteryV][SagVPerMinute] -= c.Minute
	grad[OutBatteryV][BatteryOhm] -= amps
	grad[OutTrim][TrimG] = 1
	grad[OutLoopOhm][LoopOhm] = 1
}

// partials are ∂(current, surge thrust, heave thrust)/∂p[k] at fixed V and
// speeds, with the signs of the thrusters in the thrusts.
func (m *Model) partials(k int, ln *line) (ip, sp, tp float64) {
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		var di, dt float64
		switch k {
		case LogTorque:
			di, dt = r.q*r.iq, r.q*r.tq
		case LogThrust:
			dt = r.thrust
		case LogPitch: // c and d fall as pitch speed rises
			di, dt = -r.c*r.ic, -r.c*r.tc-r.d*r.thatD
		case FrictionA:
			di, dt = r.iI0, r.tI0
		default:
			if k != FirstBranch+i {
				continue
			}
			di, dt = r.iRa, r.tRa
		}
		ip += di
		if m.motors[i].surge {
			sp += r.sign * dt
		} else {
			tp += r.sign * dt
		}
	}
	return ip, sp, tp
}

// invert3 inverts a well-conditioned 3×3 matrix by cofactors.
func invert3(a [3][3]float64) (b [3][3]float64) {
	cof := func(i, j int) float64 {
		p, q, r, s := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return a[p][r]*a[q][s] - a[p][s]*a[q][r]
	}
	det := a[0][0]*cof(0, 0) + a[0][1]*cof(0, 1) + a[0][2]*cof(0, 2)
	for i := range 3 {
		for j := range 3 {
			b[j][i] = cof(i, j) / det
		}
	}
	return b
}
