package predict

import (
	"math"

	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// slowest, in m/s, is the least climb speed used in derivatives: climb goes as the square root of
// the force, whose slope is infinite at rest.
const slowest = 1e-4

// A partial holds what one parameter changes at fixed voltage and speeds: the balance of the
// circuit through battery and loop, the motors' current, and the net forces (thrust less drag) in
// surge, along the motion, and in heave, up. battery and side are ∂V_bat and ∂I_bat through the
// supply alone, at a fixed current of the motors.
type partial struct {
	circuit, current, surge, heave float64
	battery, side                  float64
	pull                           float64 // the thrust that a scale holds
}

// none reports whether all fields are zero. It is written out because comparing structs costs a
// call.
func (p *partial) none() bool {
	return p.circuit == 0 && p.current == 0 && p.surge == 0 && p.heave == 0 && p.battery == 0 && p.side == 0 && p.pull == 0
}

// differentiate fills grad with ∂Out/∂Params at a solved point by the
// implicit-function theorem: with unknowns z = (V, v, w) and balances
// F(z, p) = 0 for circuit, surge and heave, dz/dp = −(∂F/∂z)⁻¹·∂F/∂p.
func (m *Model) differentiate(c *Condition, ln *line, p Params, v, w float64, pt *Point, grad [][]float64) {
	n := m.Dim()
	for k := range grad {
		clear(grad[k][:n])
	}
	at := m.slopes(ln, pt.Volts, w)
	inverse := invert3(ln.jacobian(&at, v, w, slowest))
	lit, _ := ln.aboard(pt.Volts)
	amps := lit
	for i := range m.at {
		amps += m.at[i].i
	}
	clear(m.partial)
	m.partialsOfThrusters(c, ln, p)
	m.partialsOfSupply(c, ln, p, amps)
	m.partialsOfWater(c, ln, p, v, w)
	if m.Untimed(c) {
		m.partialsOfShare(w)
	}
	pull := math.Copysign(m.factor(p, LogPull), m.thrust(!ln.upright))
	volts, vehicle, clamp, speed := m.factor(p, LogVolts), m.factor(p, LogVehicleV), m.factor(p, LogClamp), m.factor(p, LogSpeed)
	battery, _ := ln.loaded(amps)
	for k := range m.partial {
		d := &m.partial[k]
		if d.none() {
			continue
		}
		fp := [3]float64{d.circuit + ln.total*d.current, -d.surge, -d.heave}
		if !ln.moving {
			fp[1] = 0
		}
		if !ln.climbing {
			fp[2] = 0
		}
		var z [3]float64
		for a := range 3 {
			z[a] = -inverse[a][0]*fp[0] - inverse[a][1]*fp[1] - inverse[a][2]*fp[2]
		}
		di := d.current + at.iz[0]*z[0] + at.iz[1]*z[1] + at.iz[2]*z[2]
		dBattery := d.battery - ln.share*ln.rb*di
		grad[quantity.BatteryV][k] = volts * dBattery
		grad[quantity.CurrentA][k] = clamp * (di + d.side + ln.slope*dBattery)
		grad[quantity.VehicleV][k], grad[quantity.Speed][k], grad[quantity.Climb][k] = volts*vehicle*z[0], speed*z[1], z[2]
		byState := (at.sz[0]*z[0] + at.sz[1]*z[1]) * ln.sense
		if ln.upright {
			byState = at.tz[0]*z[0] + at.tz[2]*z[2]
		}
		grad[quantity.Pull][k] = pull * (d.pull + byState)
	}
	m.differentiateReadings(c, ln, p, battery, pt, grad)
	for k := range grad {
		grad[k][YearCosK], grad[k][YearSinK] = c.YearCos*grad[k][WaterK], c.YearSin*grad[k][WaterK]
		grad[k][AssumedDepthM], grad[k][AssumedOutM] = c.DepthAssumed*grad[k][DepthM], c.OutAssumed*grad[k][TetherOutM]
	}
}

// differentiateReadings adds what parameters change in readings directly, not through the solved
// point.
func (m *Model) differentiateReadings(c *Condition, ln *line, p Params, battery float64, pt *Point, grad [][]float64) {
	volts := m.factor(p, LogVolts)
	grad[quantity.BatteryV][LogVolts] = battery * volts
	grad[quantity.VehicleV][LogVolts] = pt.Out[quantity.VehicleV]
	grad[quantity.VehicleV][LogVehicleV] = pt.Out[quantity.VehicleV]
	grad[quantity.CurrentA][LogClamp] = pt.Out[quantity.CurrentA] - p[ClampZeroA]
	grad[quantity.CurrentA][ClampZeroA] = 1
	grad[quantity.Insulation][LogInsulation] = 1
	grad[quantity.Speed][LogSpeed] = pt.Out[quantity.Speed]
	if c.OneWay {
		grad[quantity.Speed][StreamMS] = m.factor(p, LogSpeed)
	}
	grad[quantity.Pull][LogPull] = pt.Out[quantity.Pull]
	trim := grad[quantity.Trim]
	trim[TrimG], trim[TrimZeroG], trim[TrimPerM], trim[WithinDiveG] = 1, 1, -ln.depth, c.UnderWay
	warmerK := c.waterC(p) - referenceC
	trim[LogDisplaced], trim[HullPerK] = m.displacedG(p)*(ln.rho/referenceDensity-1+p[HullPerK]*warmerK), m.displacedG(p)*warmerK
	trim[DepthM] = -m.heavierPerM(ln.depth) - p[TrimPerM]
	trim[BallastLift] = c.BallastG * ln.rho / referenceDensity
	byRho := m.byDensity(p) + c.BallastG*m.liftPerDensity(p)
	trim[WaterK], trim[SalinityPSU] = byRho*densityPerK(c, p)+m.displacedG(p)*p[HullPerK], byRho*densityPerPSU(c, p)
	loop := grad[quantity.LoopOhm]
	loop[LoopOhm], loop[LoopMeterOhm] = 1, 1
	cable := m.Vehicle.Tether.CableOhm(c.waterC(p))
	share := m.reelShare(ln)
	loop[ReelK] = cable * share * vehicle.CopperPerK
	loop[WaterK] = m.Vehicle.Tether.CableOhm(21) - m.Vehicle.Tether.CableOhm(20)
	if share > 0 && share < 1 {
		loop[TetherOutM] = -cable * vehicle.CopperPerK * p[ReelK] / m.Vehicle.Tether.LengthM
	}
}

// byDensity returns ∂(net buoyancy)/∂ρ of what the vehicle displaces, in g per kg/m³.
func (m *Model) byDensity(p Params) float64 {
	return m.displacedG(p) / referenceDensity
}

// heavierPerM returns how much buoyancy the vehicle loses per metre of depth, g.
func (m *Model) heavierPerM(depth float64) float64 {
	return m.Vehicle.Hull.FoamLossGM + (m.HungG(depth+0.005)-m.HungG(depth-0.005))/0.01
}

// densityStep is the step of the differences below, in K or psu.
const densityStep = 0.01

// densityPerK and densityPerPSU are ∂ρ/∂T and ∂ρ/∂S by central differences.
func densityPerK(c *Condition, p Params) float64 {
	t, s := c.waterC(p), c.Salinity+p[SalinityPSU]
	return (density(t+densityStep, s) - density(t-densityStep, s)) / (2 * densityStep)
}

func densityPerPSU(c *Condition, p Params) float64 {
	t, s := c.waterC(p), c.Salinity+p[SalinityPSU]
	return (density(t, s+densityStep) - density(t, s-densityStep)) / (2 * densityStep)
}

// density is WaterDensity, continued as a straight line below salinity 0, which a fit may try.
func density(tempC, salinity float64) float64 {
	if salinity >= 0 {
		return WaterDensity(tempC, salinity)
	}
	fresh := WaterDensity(tempC, 0)
	return fresh + salinity*(WaterDensity(tempC, densityStep)-fresh)/densityStep
}

// partialsOfThrusters fills in the partials of the thrusters' parameters. Thrusts carry the
// thrusters' signs.
func (m *Model) partialsOfThrusters(c *Condition, ln *line, p Params) {
	warmerK := c.waterC(p) - referenceC
	for i := range m.at {
		r := &m.at[i]
		if !r.on {
			continue
		}
		surge := m.motors[i].surge
		add := func(k int, di, dt float64) {
			to := &m.partial[k]
			to.current += di
			if surge {
				to.surge += ln.sense * r.sign * dt
			} else {
				to.heave += r.sign * dt
			}
			if surge != ln.upright {
				to.pull += r.sign * dt
			}
		}
		torqueI, torqueT := r.q*r.iq, r.q*r.tq
		pitchI, pitchT := -r.c*r.ic, -r.c*r.tc-r.d*r.thatD // c and d fall as pitch speed rises
		add(LogSize, torqueI-r.winding*r.iRa+r.byIdle*r.iI0, torqueT-r.winding*r.tRa+r.byIdle*r.tI0)
		add(LogTorque, torqueI, torqueT)
		add(OfThruster(i, LogOneTorque), torqueI, torqueT)
		add(LogThrust, 0, r.thrust)
		add(OfThruster(i, LogOneThrust), 0, r.thrust)
		add(LogPitch, pitchI, pitchT)
		add(OfThruster(i, LogOnePitch), pitchI, pitchT)
		add(FrictionA, r.byFriction*r.iI0, r.byFriction*r.tI0)
		add(OfThruster(i, OneFrictionA), r.byFriction*r.iI0, r.byFriction*r.tI0)
		add(OfThruster(i, BranchOhm), r.iRa, r.tRa)
		add(WarmK, r.warmth*r.iRa, r.warmth*r.tRa)
		add(LogArmature, r.armature*r.iRa+r.dq*torqueI+r.ds*pitchI, r.armature*r.tRa+r.dq*torqueT+r.dt*r.thrust+r.ds*pitchT)
		weakI, weakT := 3*torqueI+pitchI+r.byIdle*r.iI0, 3*torqueT+2*r.thrust+pitchT+r.byIdle*r.tI0
		add(OfThruster(i, LogWeakness), weakI, weakT)
		add(MagnetPerK, warmerK*weakI, warmerK*weakT)
		add(WaterK, p[MagnetPerK]*weakI, p[MagnetPerK]*weakT)
		add(MagnetYearCos, c.YearCos*weakI, c.YearCos*weakT)
		add(MagnetYearSin, c.YearSin*weakI, c.YearSin*weakT)
		if r.reversed {
			add(OfThruster(i, ReverseOhm), r.iRa, r.tRa)
			add(LogAstern, 0, r.thrust)
		}
	}
}

// partialsOfSupply fills in the partials of battery and loop when the motors and lights on the
// power pair draw amps.
func (m *Model) partialsOfSupply(c *Condition, ln *line, p Params, amps float64) {
	all := amps + ln.constant
	// the chain rule's first factors: by open-circuit voltage, battery resistance and loop resistance
	open := partial{circuit: -ln.share, battery: ln.share}
	dTerminals := -(ln.side + ln.slope*ln.open) * ln.share * ln.share
	rb := partial{circuit: -dTerminals + ln.share*ln.share*all, battery: dTerminals - ln.share*ln.share*all}
	rs := partial{circuit: all}
	set := func(k int, by partial, slope float64) {
		to := &m.partial[k]
		to.circuit += slope * by.circuit
		to.battery += slope * by.battery
	}
	set(OpenCircuitV, open, 1)
	if !c.idle() {
		set(SurfaceV, open, -1)
	}
	set(SagVPerMinute, open, -c.losing(p))
	set(MinuteMin, open, -p[SagVPerMinute])
	set(RestedShare, open, p[SagVPerMinute]*c.RestMin)
	if ln.rb > 0 {
		set(BatteryOhm, rb, ln.factor)
		set(BatteryPerK, rb, ln.batteryAlone*ln.belowCold)
		set(BatteryPerSpent, rb, ln.batteryAlone*c.Spent)
		if ln.belowCold > 0 {
			set(WaterK, rb, -ln.batteryAlone*p[BatteryPerK])
		}
	}
	if ln.rs > 0 {
		set(LoopOhm, rs, 1)
		cable, share := m.Vehicle.Tether.CableOhm(c.waterC(p)), m.reelShare(ln)
		set(ReelK, rs, cable*share*vehicle.CopperPerK)
		set(WaterK, rs, (m.Vehicle.Tether.CableOhm(21)-m.Vehicle.Tether.CableOhm(20))*(1+share*vehicle.CopperPerK*p[ReelK]))
		if share > 0 && share < 1 {
			set(TetherOutM, rs, -cable*vehicle.CopperPerK*p[ReelK]/m.Vehicle.Tether.LengthM)
		}
	}
	for _, k := range []int{UnloggedA, c.ofLights()} {
		load := &m.partial[k]
		load.circuit += ln.total
		load.battery -= ln.share * ln.rb
		load.side++
	}
}

// partialsOfWater fills in the partials of drag and buoyancy.
func (m *Model) partialsOfWater(c *Condition, ln *line, p Params, v, w float64) {
	if ln.moving {
		pressure := 0.5 * ln.rho * v * v
		drag := m.factor(p, LogDrag)
		m.partial[LogDrag].surge -= pressure * ln.area
		m.partial[LogTetherDrag].surge -= pressure * drag * ln.tether
		t := &m.Vehicle.Tether
		d, f := t.DiameterMM/1000, drag*m.factor(p, LogTetherDrag)
		across, along := t.NormalDrag*d, t.SkinDrag*math.Pi*d
		if ln.out <= ln.depth {
			along = 0
		}
		m.partial[DepthM].surge -= pressure * f * (across - along)
		m.partial[TetherOutM].surge -= pressure * f * along
		byRho := -pressure * ln.area / ln.rho
		m.partial[WaterK].surge += byRho * densityPerK(c, p)
		m.partial[SalinityPSU].surge += byRho * densityPerPSU(c, p)
	}
	if !ln.climbing {
		return
	}
	pressure := 0.5 * ln.rho * w * math.Abs(w)
	m.partial[LogClimbDrag].heave -= pressure * ln.climbArea
	byRho := -pressure*ln.climbArea/ln.rho + Gravity/1000*(m.byDensity(p)+c.BallastG*m.liftPerDensity(p))
	lift := func(k int, grams float64) { m.partial[k].heave += Gravity / 1000 * grams }
	lift(TrimG, 1)
	lift(TrimPerM, -ln.depth)
	lift(WithinDiveG, c.UnderWay)
	warmerK := c.waterC(p) - referenceC
	lift(LogDisplaced, m.displacedG(p)*(ln.rho/referenceDensity-1+p[HullPerK]*warmerK))
	lift(HullPerK, m.displacedG(p)*warmerK)
	lift(WaterK, m.displacedG(p)*p[HullPerK])
	lift(BallastLift, c.BallastG*ln.rho/referenceDensity)
	lift(DepthM, -m.heavierPerM(ln.depth)-p[TrimPerM])
	m.partial[WaterK].heave += byRho * densityPerK(c, p)
	m.partial[SalinityPSU].heave += byRho * densityPerPSU(c, p)
}

// partialsOfShare fills in the partials of a climb at w that nobody timed.
func (m *Model) partialsOfShare(w float64) {
	to := &m.partial[ClimbShare]
	for i := range m.at {
		r := &m.at[i]
		if !r.on || m.motors[i].surge {
			continue
		}
		along := max(0, w*math.Copysign(1, r.sign))
		dc, dd := along/(torqueZero*r.s), along/(thrustZero*r.s)
		to.current += r.ic * dc
		to.heave += r.sign * (r.tc*dc + r.thatD*dd)
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
