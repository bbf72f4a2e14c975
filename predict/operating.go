package predict

import (
	"math"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Model is a vehicle ready to be solved. It is not safe for concurrent use.
type Model struct {
	Vehicle *vehicle.Vehicle
	motors  []motor
	at      []running
	partial []partial // scratch of differentiate, by parameter
	asBuilt Params
	factors [FirstThruster]factor
}

// A factor caches e to a parameter, since the lines of one dive share their parameters.
type factor struct{ of, is float64 } // is = exp(of)

// factor returns e to p[k].
func (m *Model) factor(p Params, k int) float64 {
	f := &m.factors[k]
	if f.of != p[k] || f.is == 0 {
		f.of, f.is = p[k], math.Exp(p[k])
	}
	return f.is
}

// NewModel reduces a valid vehicle's thrusters to the constants of their
// equations.
func NewModel(v *vehicle.Vehicle) *Model {
	m := &Model{Vehicle: v, at: make([]running, len(v.Thrusters))}
	for i := range v.Thrusters {
		t := &v.Thrusters[i]
		m.motors = append(m.motors, motor{testV: t.TestV, testA: t.TestA, testN: t.TestN, armature: t.ArmatureOhm, branch: t.BranchOhm,
			i0: t.NoLoadA, pitchMS: t.PropPitchMM / 1000 * t.NoLoadRPM / 60, astern: t.Astern, arm: t.ArmMM, surge: t.Surge()})
	}
	m.partial, m.asBuilt = make([]partial, m.Dim()), m.NewParams()
	return m
}

// A line holds what stays fixed while one operating point is solved.
type line struct {
	supply
	rs                                    float64 // Ω of the power loop
	rho, area, climbArea, buoyancy        float64
	tether, depth, out                    float64                            // drag area of the tether, m²; depth and tether out, m
	aboard                                func(v float64) (i, slope float64) // of lights and camera
	fade                                  float64                            // V, below which lights and camera fade
	electrical, moving, climbing, heaving bool
	upright                               bool    // heave thrusters alone run: a scale holds the vehicle up or down
	wake, sense                           float64 // sense is +1 or −1: the direction of surge
	climbShare                            float64 // advance speed of heave thrusters as a share of the steady climb's
}

// inflow returns a surge thruster's advance speed as a share of the vehicle's speed. A thruster
// that pushes against the motion works in its own wash and sees no inflow.
func (ln *line) inflow(r *running) float64 {
	if r.sign*ln.sense < 0 {
		return 0
	}
	return 1 - ln.wake
}

// Solve finds the operating point under a condition. Unless grad is nil, it has quantity.Count rows
// of Dim entries and receives ∂Out/∂Params. Solve converges for every valid vehicle: all roots are
// bracketed.
func (m *Model) Solve(c *Condition, p Params, pt *Point, grad [][]float64) {
	ln := m.prepare(c, p)
	v, w, volts := m.balance(&ln)
	m.report(c, &ln, p, v, w, volts, pt)
	if grad != nil {
		m.differentiate(c, &ln, p, v, w, pt, grad)
	}
}

// prepare evaluates everything that does not depend on the speeds.
func (m *Model) prepare(c *Condition, p Params) line {
	h, v := &m.Vehicle.Hull, m.Vehicle
	water, salinity := c.waterC(p), c.Salinity+p[SalinityPSU]
	ln := line{rho: density(water, salinity), wake: h.Wake, sense: 1, electrical: c.Electrical, climbing: c.Climbing,
		depth: c.depthM(p), out: c.outM(p), climbShare: 1}
	if m.Untimed(c) {
		ln.climbing, ln.climbShare = true, p[ClimbShare]
	}
	// A fit may try a negative resistance.
	ln.rs = max(v.Tether.CableOhm(water)*(1+m.reelShare(&ln)*vehicle.CopperPerK*p[ReelK])+v.Tether.Power.JointsOhm+p[LoopOhm], 0)
	ln.supply = m.supply(c, p, water, ln.rs)
	d := v.Tether.DiameterMM / 1000
	ln.tether = m.factor(p, LogTetherDrag) * (v.Tether.NormalDrag*d*ln.depth + v.Tether.SkinDrag*math.Pi*d*max(ln.out-ln.depth, 0))
	ln.area = m.factor(p, LogDrag) * (h.DragAreaM2 + ln.tether)
	ln.climbArea = m.factor(p, LogClimbDrag) * h.ClimbDragAreaM2
	ln.buoyancy = m.buoyancy(ln.depth, c.waterC(p), ln.rho, c.BallastG, p) + c.UnderWay*p[WithinDiveG]
	var fades bool
	if ln.aboard, fades = m.aboard(c.Lights); fades {
		ln.fade = fadingV
	}
	m.switchOn(c, &ln, p)
	return ln
}

// switchOn sets up the thrusters that run under a condition.
func (m *Model) switchOn(c *Condition, ln *line, p Params) {
	var f factors
	if ln.electrical {
		f = factors{m.factor(p, LogSize), m.factor(p, LogTorque), m.factor(p, LogThrust), m.factor(p, LogPitch), m.factor(p, LogArmature), c.weakness(p)}
	}
	yaw, surging := 0.0, false
	for i := range m.motors {
		mo, r := &m.motors[i], &m.at[i]
		*r = running{on: ln.electrical && c.Sign[i] != 0, sign: float64(c.Sign[i]), reversed: c.Sign[i] < 0, jammed: c.Jammed == i+1}
		if !r.on {
			continue
		}
		r.constants(mo, p, i, c.Warm, &f)
		if mo.surge {
			yaw += mo.arm * r.sign
			surging = true
		} else {
			ln.heaving = true
		}
		if r.sign < 0 {
			r.sign = -mo.astern * m.factor(p, LogAstern)
		}
	}
	ln.upright = ln.heaving && !surging
	ln.moving = surging && !c.Held && math.Abs(yaw) < vehicle.Straight
}

// reelShare returns the share of the tether that is still on the reel.
func (m *Model) reelShare(ln *line) float64 {
	return min(max(1-ln.out/m.Vehicle.Tether.LengthM, 0), 1)
}

// NetBuoyancyG returns the weight in water, in g, that makes the vehicle hover at the condition's
// depth, with tether weight and ballast included.
func (m *Model) NetBuoyancyG(c *Condition, p Params) float64 {
	return m.buoyancy(c.DepthM, c.WaterC, WaterDensity(c.WaterC, c.Salinity), c.BallastG, p) + c.UnderWay*p[WithinDiveG]
}

// buoyancy is NetBuoyancyG at a given depth, water temperature and density.
func (m *Model) buoyancy(depth, waterC, rho, ballastG float64, p Params) float64 {
	h := &m.Vehicle.Hull
	asFile := h.TrimG + m.displacedG(p)*(rho/referenceDensity-1) - h.FoamLossGM*depth -
		ballastG*m.BallastShare(rho, p) - m.HungG(depth)
	return asFile + p[TrimG] - p[TrimPerM]*depth + m.displacedG(p)*p[HullPerK]*(waterC-referenceC)
}

// displacedG returns the mass of fresh water that the vehicle displaces, g.
func (m *Model) displacedG(p Params) float64 {
	return 1000 * m.Vehicle.Hull.DisplacedKG * m.factor(p, LogDisplaced)
}

// liftPerDensity returns the volume of ballast per mass, m³/kg: the share of its weight that it
// loses per kg/m³ of water.
func (m *Model) liftPerDensity(p Params) float64 {
	return 1/m.Vehicle.Hull.BallastDensityKGM3 + p[BallastLift]/referenceDensity
}

// BallastShare returns the share of its dry weight that ballast has in water of density rho.
func (m *Model) BallastShare(rho float64, p Params) float64 { return 1 - rho*m.liftPerDensity(p) }

// HungG returns the net weight in g of the tether that hangs on the vehicle at a depth, less the
// lift of its floats.
func (m *Model) HungG(depth float64) float64 {
	t := &m.Vehicle.Tether
	hung := t.WeightGM * depth
	for _, f := range t.Floats {
		hung -= f.LiftGM * max(min(f.ToM, depth)-f.FromM, 0)
	}
	return hung
}

// report fills in the predicted readings.
func (m *Model) report(c *Condition, ln *line, p Params, v, w, volts float64, pt *Point) {
	amps, _ := ln.aboard(volts)
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
	battery, total := ln.loaded(amps)
	pt.Running, pt.Volts, pt.PairA = ln.moving, volts, amps+ln.constant
	stream := 0.0
	if c.OneWay {
		stream = p[StreamMS]
	}
	gain := m.factor(p, LogVolts)
	pt.Out = [quantity.Count]float64{
		quantity.BatteryV: battery * gain, quantity.CurrentA: total*m.factor(p, LogClamp) + p[ClampZeroA],
		quantity.VehicleV: volts * gain * m.factor(p, LogVehicleV), quantity.Speed: (v + stream) * m.factor(p, LogSpeed),
		quantity.Climb: w, quantity.Trim: ln.buoyancy + p[TrimZeroG], quantity.Pull: math.Abs(m.thrust(!ln.upright)) * m.factor(p, LogPull),
		quantity.LoopOhm: ln.rs + p[LoopMeterOhm], quantity.Insulation: p[LogInsulation],
	}
	pt.Known = ln.known(c)
}

// Known reports which outputs are meaningful under a condition, as Solve does.
func (m *Model) Known(c *Condition) [quantity.Count]bool {
	ln := m.prepare(c, m.asBuilt)
	return ln.known(c)
}

func (ln *line) known(c *Condition) [quantity.Count]bool {
	el := ln.electrical
	return [quantity.Count]bool{quantity.BatteryV: el, quantity.CurrentA: el, quantity.VehicleV: el, quantity.Speed: ln.moving,
		quantity.Climb: c.Climbing, quantity.Trim: true, quantity.Pull: el && c.Held, quantity.LoopOhm: true, quantity.Insulation: true}
}

// Combinations returns the sets of thrusters worth knowing: everything off, each thruster alone,
// the surge thrusters together ahead and astern, the heave thrusters together up and down. Sets
// with a thruster that cannot reverse are left out of the reversed ones.
func (m *Model) Combinations() [][]int8 {
	n := len(m.motors)
	out := [][]int8{make([]int8, n)}
	for i := range n {
		one := make([]int8, n)
		one[i] = 1
		out = append(out, one)
	}
	for _, sign := range []int8{1, -1} {
		for _, surge := range []bool{true, false} {
			all, count, can := make([]int8, n), 0, true
			for i := range n {
				if m.motors[i].surge == surge {
					all[i] = sign
					count++
					can = can && (sign > 0 || m.motors[i].astern > 0)
				}
			}
			if can && (count > 1 || (count == 1 && sign < 0)) {
				out = append(out, all)
			}
		}
	}
	return out
}

// DragAreaM2 returns the drag area of hull and tether in m² under a condition.
func (m *Model) DragAreaM2(c *Condition, p Params) float64 { return m.prepare(c, p).area }

// Push returns the magnitudes of surge and heave thrust in N while the thrusters hold the vehicle
// still in water that flows past at speed m/s.
func (m *Model) Push(c *Condition, p Params, speed float64) (surgeN, heaveN float64) {
	ln := m.prepare(c, p)
	m.circuit(&ln, speed, 0)
	return math.Abs(m.thrust(true)), math.Abs(m.thrust(false))
}
