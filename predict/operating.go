package predict

import (
	"math"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// The advance speeds at which torque and thrust vanish, in pitch speeds:
// common practice for small propellers, no source.
const (
	torqueZero = 1.3
	thrustZero = 1.1
)

// motor is a thruster reduced to the constants of its equations.
type motor struct {
	q, t, s, ra, i0, astern, arm float64 // A/V², N/V², m/s/V, Ω, A, –, mm
	surge                        bool
}

// A Model is a vehicle ready to be solved. It is not safe for concurrent use.
type Model struct {
	Vehicle *vehicle.Vehicle
	motors  []motor
	at      []running
	partial [][3]float64 // work of differentiate, by parameter
	asBuilt Params
	factors [LogClimbDrag + 1]factor
}

// factor is e to a parameter, kept since the lines of a dive share theirs.
type factor struct{ of, is float64 }

// factor is e to p[k].
func (m *Model) factor(p Params, k int) float64 {
	f := &m.factors[k]
	if f.of != p[k] || f.is == 0 {
		f.of, f.is = p[k], math.Exp(p[k])
	}
	return f.is
}

// NewModel reduces a valid vehicle's thruster tests to back-EMF constants:
// u = V − I·R_a, q = (I − I₀)/u², t = T/u², s = pitch·n/u₀.
func NewModel(v *vehicle.Vehicle) *Model {
	m := &Model{Vehicle: v, at: make([]running, len(v.Thrusters))}
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		u := t.TestV - t.TestA*t.ArmatureOhm
		m.motors = append(m.motors, motor{
			q: (t.TestA - t.NoLoadA) / (u * u), t: t.TestN / (u * u),
			s:  t.PropPitchMM / 1000 * t.NoLoadRPM / 60 / (t.TestV - t.NoLoadA*t.ArmatureOhm),
			ra: t.ArmatureOhm + t.BranchOhm, i0: t.NoLoadA, astern: t.Astern, arm: t.ArmMM, surge: t.Surge(),
		})
	}
	m.partial, m.asBuilt = make([][3]float64, m.Dim()), m.NewParams()
	return m
}

// running is one thruster at a branch voltage and advance speed, with the
// partial derivatives of its current and thrust.
type running struct {
	on                          bool
	sign                        float64 // along its axis, astern loss included
	q, t, s, ra, i0             float64
	c, d                        float64 // advance speed in volts of back-EMF, at the torque and thrust zeros
	u, i, thrust                float64
	uV, uc, uI0, uq, uRa        float64
	iV, ic, iI0, iq, iRa        float64
	tV, tc, tI0, tq, tRa, thatD float64
}

// solve finds back-EMF, current and thrust at branch voltage v:
// V = I·R + u, I = I₀ + q·u·(u − c), T = t·u·(u − d); stalled at u = 0.
func (r *running) solve(v float64) {
	if v <= r.i0*r.ra {
		*r = running{on: true, sign: r.sign, q: r.q, t: r.t, s: r.s, ra: r.ra, i0: r.i0, c: r.c, d: r.d}
		r.i, r.iV, r.iRa = v/r.ra, 1/r.ra, -v/(r.ra*r.ra)
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

// line is what stays fixed while one operating point is solved.
type line struct {
	e, rb, rs, rho, area, climbArea, buoyancy float64
	lights                                    func(v float64) (i, slope float64)
	fade                                      float64 // V, below which the lights fade
	electrical, moving, climbing, heaving     bool
	wake, sense                               float64
}

// inflow is a surge thruster's advance speed over the vehicle's. One that
// pushes against the motion works in its own wash and sees none.
func (ln *line) inflow(r *running) float64 {
	if r.sign*ln.sense < 0 {
		return 0
	}
	return 1 - ln.wake
}

// Solve finds the operating point under a condition. grad, when not nil, has
// quantity.Predicted rows of Dim entries and receives ∂Out/∂Params. It converges for
// every valid vehicle: all roots are bracketed.
func (m *Model) Solve(c *Condition, p Params, pt *Point, grad [][]float64) {
	ln := m.prepare(c, p)
	v, w, volts := m.balance(&ln)
	m.report(c, &ln, v, w, volts, pt)
	if grad != nil {
		m.differentiate(c, &ln, p, v, w, pt, grad)
	}
}

// prepare evaluates everything that does not depend on the speeds.
func (m *Model) prepare(c *Condition, p Params) line {
	h, v := &m.Vehicle.Hull, m.Vehicle
	ln := line{
		e: p[OpenCircuitV] - p[SagVPerMinute]*c.Minute, rb: v.Battery.ResistanceOhm + p[BatteryOhm],
		rs:  v.Tether.CableOhm(c.WaterC) + v.Tether.Power.JointsOhm + p[LoopOhm],
		rho: WaterDensity(c.WaterC, c.Salinity), wake: h.Wake, sense: 1,
		electrical: c.Electrical, climbing: c.Climbing,
	}
	ln.rb, ln.rs = max(ln.rb, 0), max(ln.rs, 0) // a fit may try less than no resistance
	d := v.Tether.DiameterMM / 1000
	ln.area = m.factor(p, LogDrag) * (h.DragAreaM2 + v.Tether.NormalDrag*d*c.DepthM +
		v.Tether.SkinDrag*math.Pi*d*max(c.TetherOutM-c.DepthM, 0))
	ln.climbArea = m.factor(p, LogClimbDrag) * h.ClimbDragAreaM2
	ln.buoyancy = m.NetBuoyancyG(c) + p[TrimG]
	ln.lights = dark
	if c.Lights {
		ln.lights = m.lightAmps
		if len(m.Vehicle.Lights.ResistorOhm) == 0 {
			ln.fade = fadingV
		}
	}
	yaw, surging := 0.0, false
	torque, thrust, pitch := 1.0, 1.0, 1.0
	if ln.electrical {
		torque, thrust, pitch = m.factor(p, LogTorque), m.factor(p, LogThrust), m.factor(p, LogPitch)
	}
	for i := range m.motors {
		mo, r := &m.motors[i], &m.at[i]
		*r = running{on: ln.electrical && c.Sign[i] != 0, sign: float64(c.Sign[i])}
		if !r.on {
			continue
		}
		r.q, r.t, r.s = mo.q*torque, mo.t*thrust, mo.s*pitch
		r.ra, r.i0 = max(mo.ra+p[FirstBranch+i], 1e-6), max(mo.i0+p[FrictionA], 0)
		if mo.surge {
			yaw += mo.arm * r.sign
			surging = true
		} else {
			ln.heaving = true
		}
		if r.sign < 0 {
			r.sign = -mo.astern
		}
	}
	ln.moving = surging && !c.Held && math.Abs(yaw) < vehicle.Straight
	return ln
}

// NetBuoyancyG is the weight in water, in g, that brings the vehicle to hover
// at the condition's depth, tether weight and ballast included.
func (m *Model) NetBuoyancyG(c *Condition) float64 {
	h := &m.Vehicle.Hull
	rho := WaterDensity(c.WaterC, c.Salinity)
	return h.TrimG + 1000*h.DisplacedKG*(rho/referenceDensity-1) - h.FoamLossGM*c.DepthM -
		c.BallastG*(1-rho/h.BallastDensityKGM3) - m.hungG(c.DepthM)
}

// hungG is the net weight in g of the tether that hangs on the vehicle at a
// depth, its floats' lift taken off.
func (m *Model) hungG(depth float64) float64 {
	t := &m.Vehicle.Tether
	hung := t.WeightGM * depth
	for _, f := range t.Floats {
		hung -= f.LiftGM * max(min(f.ToM, depth)-f.FromM, 0)
	}
	return hung
}

func dark(float64) (i, slope float64) { return 0, 0 }

// fadingV is the vehicle voltage below which lights of a given current fade,
// so that every loop has a balance: any small voltage would do.
const fadingV = 1.0

// lightAmps is the lights' current at a vehicle voltage, and its slope.
func (m *Model) lightAmps(v float64) (float64, float64) {
	l := &m.Vehicle.Lights
	if l.Supply == "signal" {
		return 0, 0
	}
	if len(l.ResistorOhm) == 0 {
		if v < fadingV { // no circuit could keep the current up
			return l.CurrentA * v / fadingV, l.CurrentA / fadingV
		}
		return l.CurrentA, 0
	}
	slope := 0.0
	for _, r := range l.ResistorOhm {
		slope += 1 / r
	}
	if v <= l.LEDV {
		return 0, 0
	}
	return (v - l.LEDV) * slope, slope
}

// report fills in the predicted readings.
func (m *Model) report(c *Condition, ln *line, v, w, volts float64, pt *Point) {
	amps, _ := ln.lights(volts)
	pt.BackEMF, pt.Amps, pt.Newtons = pt.BackEMF[:0], pt.Amps[:0], pt.Newtons[:0]
	for i := range m.at {
		r := &m.at[i]
		amps += r.i
		pt.BackEMF, pt.Amps = append(pt.BackEMF, r.u), append(pt.Amps, r.i)
		pt.Newtons = append(pt.Newtons, r.sign*r.thrust)
	}
	if !ln.electrical {
		amps = 0
	}
	pull := math.Abs(m.sum(true, thrustOf))
	pt.Running = ln.moving
	pt.Out = [quantity.Predicted]float64{ln.e - amps*ln.rb, amps, volts, v, w, ln.buoyancy, pull, ln.rs}
	pt.Known = ln.known(c)
}

// Known says which outputs mean something under a condition, as Solve does.
func (m *Model) Known(c *Condition) [quantity.Predicted]bool {
	ln := m.prepare(c, m.asBuilt)
	return ln.known(c)
}

func (ln *line) known(c *Condition) [quantity.Predicted]bool {
	el := ln.electrical
	return [quantity.Predicted]bool{el, el, el, ln.moving, ln.climbing, true, el && c.Held, true}
}
