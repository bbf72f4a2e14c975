package predict

import (
	"math"
	"sagline/predict/vehicle"
)

// The advance speeds at which torque and thrust vanish, in pitch speeds. The
// Wageningen B-series puts them at 1.11–1.30 and 1.06–1.15 (Oosterveld and van
// Oossanen 1975).
const (
	torqueZero = 1.3
	thrustZero = 1.1
)

// motor is a thruster reduced to the constants of its equations.
type motor struct {
	testV, testA, testN float64 // static test on short leads
	armature, branch    float64 // Ω
	i0                  float64 // A without load
	pitchMS             float64 // m/s of pitch speed without load at testV
	astern, arm         float64 // –, mm
	surge               bool
}

// running is one thruster at a branch voltage and advance speed, with the
// partial derivatives of its current and thrust.
type running struct {
	on, jammed, reversed        bool
	sign                        float64 // along its axis, astern loss included
	q, t, s, ra, i0             float64
	c, d                        float64 // advance speed in volts of back-EMF, at the torque and thrust zeros
	u, i, thrust                float64
	uV, uc, uI0, uq, uRa        float64
	iV, ic, iI0, iq, iRa        float64
	tV, tc, tI0, tq, tRa, thatD float64

	winding    float64 // Ω of ra that is winding, warmed
	armature   float64 // ∂ra/∂LogArmature
	dq, dt, ds float64 // ∂ln(q, t, s)/∂LogArmature
	warmth     float64 // ∂ra/∂WarmK
	byIdle     float64 // ∂i0/∂ln(the motor's own)
	byFriction float64 // ∂i0/∂FrictionA
}

// leastTestEMF is the share of a static test's voltage that a winding leaves
// for the back-EMF at the least: a fit may try more resistance than that.
const leastTestEMF = 0.05

// factors are e to the parameters that all thrusters share, and by how much all magnets are weaker
// in the water's temperature, the logarithm.
type factors struct{ size, torque, thrust, pitch, armature, weakness float64 }

// constants reduces a motor to its back-EMF equations under p, after its
// static test: u = V − I·R_a, q = (I − I₀)/u², t = T/u², s = pitch speed/u.
// LogArmature changes R_a and leaves the test's current and pull as they are;
// LogSize leaves u and the pull.
func (r *running) constants(mo *motor, p Params, i int, warm float64, f *factors) {
	testA, i0, byFile := mo.testA*f.size, mo.i0*f.size, mo.armature/f.size
	ra := byFile * f.armature
	byArmature := 1.0 // ∂ln(ra)/∂LogArmature
	if most := (1 - leastTestEMF) * mo.testV / testA; ra > most && ra > byFile {
		ra, byArmature = max(most, byFile), 0
	}
	u, idle := mo.testV-testA*ra, mo.testV-i0*ra
	weak := 1.0
	if x := p[OfThruster(i, LogWeakness)] + f.weakness; x != 0 {
		weak = math.Exp(x)
	}
	r.q = (testA - i0) / (u * u) * f.torque * weak * weak * weak
	r.t = mo.testN / (u * u) * f.thrust * weak * weak
	r.s = mo.pitchMS / idle * f.pitch * weak
	if x := p[OfThruster(i, LogOneTorque)]; x != 0 {
		r.q *= math.Exp(x)
	}
	if x := p[OfThruster(i, LogOneThrust)]; x != 0 {
		r.t *= math.Exp(x)
	}
	if x := p[OfThruster(i, LogOnePitch)]; x != 0 {
		r.s *= math.Exp(x)
	}
	r.dq = byArmature * 2 * testA * ra / u
	r.dt = r.dq
	r.ds = byArmature * i0 * ra / idle
	hotter := 1 + vehicle.CopperPerK*p[WarmK]*warm
	r.winding = ra * max(hotter, 0.5)
	r.armature = r.winding * byArmature
	r.warmth = ra * vehicle.CopperPerK * warm
	r.ra = max(r.winding+mo.branch+p.ExcessOhm(i, r.reversed), 1e-6)
	r.noLoad(i0*weak, p[FrictionA]+p[OfThruster(i, OneFrictionA)])
}

// leastIdle is the share of a motor's no-load current that less friction leaves of it before
// it falls ever more slowly: a fit may try less than none, and needs to find back.
const leastIdle = 0.25

// noLoad sets the no-load current to a motor's own and what friction adds, x; where x is
// below e, leastIdle of the motor's own, to e·exp(x/e − 1).
func (r *running) noLoad(idle, friction float64) {
	r.i0, r.byIdle, r.byFriction = idle+friction, idle, 1
	least := leastIdle * idle
	switch {
	case r.i0 >= least:
	case least > 0:
		x := r.i0 / least
		r.i0 = least * math.Exp(x-1)
		r.byFriction = r.i0 / least
		r.byIdle = r.byFriction * (idle + least*(1-x))
	default:
		r.i0, r.byIdle, r.byFriction = 0, 0, 0
	}
}

// solve finds back-EMF, current and thrust at branch voltage v:
// V = I·R + u, I = I₀ + q·u·(u − c), T = t·u·(u − d); stalled at u = 0.
func (r *running) solve(v float64) {
	if r.jammed || v <= r.i0*r.ra {
		r.stall(v)
		return
	}
	a, b, k := r.ra*r.q, 1-r.ra*r.q*r.c, r.ra*r.i0-v
	root := math.Sqrt(b*b - 4*a*k)
	if b > 0 {
		r.u = -2 * k / (b + root)
	} else {
		r.u = (root - b) / (2 * a)
	}
	u := r.u
	r.i = r.i0 + r.q*u*(u-r.c)
	r.uV = 1 / root // ∂/∂u of u + R·I is 1 + R·q·(2u − c) = root
	r.uc, r.uI0, r.uq, r.uRa = r.ra*r.q*u*r.uV, -r.ra*r.uV, -r.ra*u*(u-r.c)*r.uV, -r.i*r.uV
	g := r.q * (2*u - r.c)
	r.iV, r.ic, r.iI0, r.iq, r.iRa = g*r.uV, -r.q*u+g*r.uc, 1+g*r.uI0, u*(u-r.c)+g*r.uq, g*r.uRa
	h := r.t * (2*u - r.d)
	r.thrust, r.thatD = r.t*u*(u-r.d), -r.t*u
	r.tV, r.tc, r.tI0, r.tq, r.tRa = h*r.uV, h*r.uc, h*r.uI0, h*r.uq, h*r.uRa
}

// stall is a propeller that does not turn: I = V/R, no thrust.
func (r *running) stall(v float64) {
	r.u, r.thrust = 0, 0
	r.uV, r.uc, r.uI0, r.uq, r.uRa = 0, 0, 0, 0, 0
	r.tV, r.tc, r.tI0, r.tq, r.tRa, r.thatD = 0, 0, 0, 0, 0, 0
	r.ic, r.iI0, r.iq = 0, 0, 0
	r.i, r.iV, r.iRa = v/r.ra, 1/r.ra, -v/(r.ra*r.ra)
}
