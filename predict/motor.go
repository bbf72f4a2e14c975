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

// running is one thruster at a branch voltage and advance speed. Names such as iV and tRa are
// partial derivatives: ∂i/∂V, ∂thrust/∂ra.
type running struct {
	on, jammed, reversed        bool
	sign                        float64 // along its axis, astern loss included
	q, t, s, ra, i0             float64 // A/V², N/V², m/s per V of back-EMF, Ω with the branch, A without load
	c, d                        float64 // V of back-EMF at which torque and thrust vanish at this advance speed
	u, i, thrust                float64 // V of back-EMF, A, N
	uV, uc, uI0, uq, uRa        float64
	iV, ic, iI0, iq, iRa        float64
	tV, tc, tI0, tq, tRa, thatD float64

	winding    float64 // Ω of ra in the warm winding
	armature   float64 // ∂ra/∂LogArmature
	dq, dt, ds float64 // ∂ln(q, t, s)/∂LogArmature
	warmth     float64 // ∂ra/∂WarmK
	byIdle     float64 // ∂i0/∂ln(the motor's own no-load current)
	byFriction float64 // ∂i0/∂FrictionA
}

// leastTestEMF is the least share of a static test's voltage that is left for the back-EMF: a fit
// may try so much winding resistance that less would be left.
const leastTestEMF = 0.05

// factors are the exponentials of the parameters that all thrusters share, and the log by which the
// water's temperature weakens all magnets.
type factors struct{ size, torque, thrust, pitch, armature, weakness float64 }

// constants reduces a motor to its back-EMF equations under p, from its static test: u = V − I·R_a,
// q = (I − I₀)/u², t = T/u², s = pitch speed/u. LogArmature changes R_a and leaves the test's
// current and pull unchanged; LogSize leaves u and the pull unchanged.
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

// leastIdle is the share of a motor's no-load current below which negative friction lowers it ever
// more slowly. A fit may try less than none, and needs a slope to find back.
const leastIdle = 0.25

// noLoad sets the no-load current to x = idle + friction or, below e = leastIdle·idle, to e·exp(x/e
// − 1), which stays positive and joins with the same slope.
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

// motorAt returns thruster i under p, cold, neither reversed nor jammed. It is safe for concurrent
// use.
func (m *Model) motorAt(p Params, i int) (r running) {
	f := factors{math.Exp(p[LogSize]), math.Exp(p[LogTorque]), math.Exp(p[LogThrust]), math.Exp(p[LogPitch]), math.Exp(p[LogArmature]), 0}
	r.constants(&m.motors[i], p, i, 0, &f)
	return r
}

// ArmatureOhm returns the resistance of thruster i's cold winding under p, Ω.
func (m *Model) ArmatureOhm(p Params, i int) float64 {
	r := m.motorAt(p, i)
	return r.winding
}

// TestOhm returns thruster i's voltage over its current under p, Ω: on short leads, held, at the
// voltage of its static test.
func (m *Model) TestOhm(p Params, i int) float64 {
	r, v := m.motorAt(p, i), m.motors[i].testV
	r.solve(v)
	return v / r.i
}

// solve finds back-EMF, current and thrust at branch voltage v from V = I·R + u, I = I₀ + q·u·(u −
// c), T = t·u·(u − d). The motor is stalled, u = 0, where V does not exceed I₀·R.
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

// stall sets the state of a propeller that does not turn: I = V/R, no thrust.
func (r *running) stall(v float64) {
	r.u, r.thrust = 0, 0
	r.uV, r.uc, r.uI0, r.uq, r.uRa = 0, 0, 0, 0, 0
	r.tV, r.tc, r.tI0, r.tq, r.tRa, r.thatD = 0, 0, 0, 0, 0, 0
	r.ic, r.iI0, r.iq = 0, 0, 0
	r.i, r.iV, r.iRa = v/r.ra, 1/r.ra, -v/(r.ra*r.ra)
}
