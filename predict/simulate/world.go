package simulate

import (
	"cmp"
	_ "embed" // the coefficients
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A World is the physics of a simulation: it gives what exact instruments would show.
type World interface {
	// Dive begins a dive with parameters p, battery and windings rested.
	Dive(p predict.Params)
	// Line returns what a line shows, minutes after the line before.
	Line(c *predict.Condition, p predict.Params, minutes float64) *predict.Point
}

// design is the world of package predict itself, with windings that warm by heat, K, under long
// load.
type design struct {
	m    *predict.Model
	heat float64
	warm float64 // 0 to 1
	on   bool
	pt   predict.Point
}

// warmMinutes is the time constant of the windings' warming.
const warmMinutes = 8.0

func (w *design) Dive(predict.Params) { w.warm, w.on = 0, false }

func (w *design) Line(c *predict.Condition, p predict.Params, minutes float64) *predict.Point {
	to := 0.0
	if w.on {
		to = 1
	}
	w.warm += (to - w.warm) * (1 - math.Exp(-minutes/warmMinutes))
	w.on = slices.ContainsFunc(c.Sign, func(s int8) bool { return s != 0 })
	if w.heat != 0 {
		q := append(predict.Params(nil), p...)
		q[predict.WarmK] += w.heat
		d := *c
		d.Warm = w.warm
		w.m.Solve(&d, q, &w.pt, nil)
		return &w.pt
	}
	w.m.Solve(c, p, &w.pt, nil)
	return &w.pt
}

// measured is a world of other physics than the design's: propellers of the
// Wageningen B-series, brushes that drop a voltage of their own, windings and
// magnets that warm, a battery with charge, polarisation and cold, drag
// coefficients that fall with speed, foam that gives way. It agrees with the
// vehicle's file in the static test and at no load.
type measured struct {
	v        *vehicle.Vehicle
	m        *predict.Model // for the loop, the supply's side loads and the buoyancy
	motors   []measuredMotor
	charge   float64 // of the battery, 0 to 1
	polar    float64 // V lost to polarisation
	exponent float64 // of speed in the drag coefficient
	tether   float64 // factor on the tether's drag
	foam     float64 // g lost per square of the depth in m, besides the file's per metre
	pt       predict.Point

	climbShare float64 // of the climb's speed at which heave thrusters move on the line
}

// measuredMotor is a brushed motor with its propeller.
type measuredMotor struct {
	k, r, brush, friction float64 // V·s, Ω, V, N·m
	prop                  propeller
	diameter              float64
	thrust, torque        float64 // factors on the series
	surge                 bool
	astern, arm, branch   float64
	kelvins               float64 // of the winding above the water
	full                  float64 // A of the static test
}

// What the measured world is made of; common practice, no source.
const (
	windingK       = 45.0  // K of a winding under the static test's current for long
	windingMinutes = 5.0   // time constant
	magnetPerK     = 0.002 // 1/K that ferrite magnets lose
	polarShare     = 0.4   // of the battery's resistance that comes as polarisation
	polarMinutes   = 4.0
	readMinutes    = 1.0 // for which a load has lasted when it is read
	chargeV        = 0.9 // V between a full and an empty lead-acid battery of 12 V
	coldPerK       = 0.009
)

// NewMeasured returns a measured world of a vehicle, another for each seed.
func NewMeasured(v *vehicle.Vehicle, seed uint64) World {
	rng := rand.New(rand.NewPCG(seed, 31))
	w := &measured{v: v, m: predict.NewModel(v), exponent: 0.2 * rng.Float64(), tether: 0.8 + 0.4*rng.Float64(), foam: 0.3 * rng.Float64()}
	brush := 0.3 + 0.5*rng.Float64()
	area, blades := 0.4+0.3*rng.Float64(), float64(3+rng.IntN(2))
	for i := range v.Thrusters {
		w.motors = append(w.motors, newMeasuredMotor(&v.Thrusters[i], brush, area, blades))
	}
	return w
}

func newMeasuredMotor(t *vehicle.Thruster, brush, area, blades float64) measuredMotor {
	m := measuredMotor{r: t.ArmatureOhm, brush: brush, diameter: t.PropDiameterMM / 1000, surge: t.Surge(), astern: t.Astern, arm: t.ArmMM,
		branch: t.BranchOhm, full: t.TestA}
	m.k = (t.TestV - t.NoLoadA*t.ArmatureOhm - brush) / (t.NoLoadRPM * 2 * math.Pi / 60)
	m.friction = m.k * t.NoLoadA
	m.prop = series(min(max(t.PropPitchMM/t.PropDiameterMM, 0.5), 1.4), area, blades)
	n := (t.TestV - t.TestA*t.ArmatureOhm - brush) / m.k / (2 * math.Pi) // 1/s
	unit := 1000 * n * n * math.Pow(m.diameter, 4)
	m.thrust = t.TestN / (unit * m.prop.kt(0))
	m.torque = m.k * (t.TestA - t.NoLoadA) / (unit * m.diameter * m.prop.kq(0))
	return m
}

// at returns current and thrust of a motor at a branch voltage and advance speed.
func (m *measuredMotor) at(volts, advance, rho float64, p predict.Params, i int, jammed, reversed bool) (amps, newtons float64) {
	of := func(what int) float64 { return p[predict.OfThruster(i, what)] }
	k := m.k * (1 - magnetPerK*m.kelvins) * math.Exp(-of(predict.LogWeakness))
	r := m.r*(1+vehicle.CopperPerK*m.kelvins) + m.branch + p.ExcessOhm(i, reversed)
	drive := max(volts-m.brush, 0)
	friction := m.friction + m.k*(p[predict.FrictionA]+of(predict.OneFrictionA))
	if jammed || k*drive/r <= friction {
		return drive / r, 0
	}
	torque := m.torque * math.Exp(p[predict.LogTorque]+of(predict.LogOneTorque))
	load := func(omega float64) (kt, q float64) {
		n := omega / (2 * math.Pi)
		j := 0.0
		if n > 1e-6 {
			j = min(advance/(n*m.diameter), 1.4)
		}
		unit := rho * n * n * math.Pow(m.diameter, 4)
		return unit * m.prop.kt(j), torque * unit * m.diameter * m.prop.kq(j)
	}
	omega := falling(0, drive/k, func(omega float64) float64 {
		_, q := load(omega)
		return k*(drive-k*omega)/r - friction - q
	})
	kt, _ := load(omega)
	return (drive - k*omega) / r, m.thrust * math.Exp(p[predict.LogThrust]+of(predict.LogOneThrust)) * kt
}

// falling returns the root of a falling function in [lo, hi], by false position (Illinois), or the
// end beyond which it lies.
func falling(lo, hi float64, f func(float64) float64) float64 {
	a, b := f(lo), f(hi)
	if a <= 0 {
		return lo
	}
	if b >= 0 {
		return hi
	}
	side := 0
	for range 60 {
		x := (lo*b - hi*a) / (b - a)
		y := f(x)
		if math.Abs(hi-lo) < 1e-9*(1+math.Abs(x)) || math.Abs(y) < 1e-12 {
			return x
		}
		if y > 0 {
			lo, a = x, y
			if side == 1 {
				b /= 2
			}
			side = 1
		} else {
			hi, b = x, y
			if side == -1 {
				a /= 2
			}
			side = -1
		}
	}
	return (lo + hi) / 2
}

func (w *measured) Dive(p predict.Params) {
	w.charge, w.polar = 1, 0
	for i := range w.motors {
		w.motors[i].kelvins = 0
	}
}

func (w *measured) Line(c *predict.Condition, p predict.Params, minutes float64) *predict.Point {
	w.rest(max(minutes-readMinutes, 0))
	amps := w.solve(c, p)
	w.load(amps)
	w.solve(c, p)
	return &w.pt
}

// rest lets battery and windings recover.
func (w *measured) rest(minutes float64) {
	w.polar *= math.Exp(-minutes / polarMinutes)
	for i := range w.motors {
		w.motors[i].kelvins *= math.Exp(-minutes / windingMinutes)
	}
}

// load lets a minute pass under the currents of w.pt.
func (w *measured) load(amps float64) {
	r := polarShare * w.v.Battery.ResistanceOhm
	w.polar += (amps*r - w.polar) * (1 - math.Exp(-readMinutes/polarMinutes))
	w.charge -= amps * readMinutes / 60 / cmp.Or(w.v.Battery.CapacityAh, 12)
	for i := range w.motors {
		to := windingK * math.Pow(w.pt.Amps[i]/w.motors[i].full, 2)
		w.motors[i].kelvins += (to - w.motors[i].kelvins) * (1 - math.Exp(-readMinutes/windingMinutes))
	}
}

// solve finds the operating point and returns the battery's current.
func (w *measured) solve(c *predict.Condition, p predict.Params) float64 {
	v, pt := w.v, &w.pt
	at := *c
	at.DepthM += c.DepthAssumed * p[predict.AssumedDepthM]
	at.TetherOutM += c.OutAssumed * p[predict.AssumedOutM]
	c = &at
	rho := predict.WaterDensity(c.WaterC, c.Salinity+p[predict.SalinityPSU])
	open := p[predict.OpenCircuitV] - chargeV*v.Battery.NominalV/12*(1-w.charge) - w.polar
	rb := (v.Battery.ResistanceOhm*(1-polarShare) + p[predict.BatteryOhm]) * math.Exp(coldPerK*predict.BelowCold(c.WaterC))
	wound := max(1-c.TetherOutM/v.Tether.LengthM, 0)
	rs := v.Tether.CableOhm(c.WaterC)*(1+wound*vehicle.CopperPerK*p[predict.ReelK]) + v.Tether.Power.JointsOhm + p[predict.LoopOhm]
	salted := *c
	salted.Salinity += p[predict.SalinityPSU]
	buoyancy := w.m.NetBuoyancyG(&salted, p) - w.foam*c.DepthM*c.DepthM
	n := len(w.motors)
	pt.Amps, pt.Newtons = append(pt.Amps[:0], make([]float64, n)...), append(pt.Newtons[:0], make([]float64, n)...)
	var amps, surge, heave, volts float64
	circuit := func(speed, climb float64) {
		total := func(x float64) float64 {
			amps, surge, heave = p[predict.UnloggedA], 0, 0
			if c.Lights {
				amps += p[predict.LightsA]
			}
			for i := range w.motors {
				pt.Amps[i], pt.Newtons[i] = 0, 0
				if sign := float64(c.Sign[i]); sign != 0 {
					w.motor(c, p, i, x, speed, climb, rho)
					amps += pt.Amps[i]
					if w.motors[i].surge {
						surge += pt.Newtons[i]
					} else {
						heave += pt.Newtons[i]
					}
				}
			}
			return amps
		}
		volts = falling(0, open+0.01, func(x float64) float64 { return open - total(x)*(rb+rs) - x })
		total(volts)
	}
	yaw, surging := 0.0, false
	for i := range w.motors {
		if w.motors[i].surge && c.Sign[i] != 0 {
			yaw, surging = yaw+w.motors[i].arm*float64(c.Sign[i]), true
		}
	}
	pt.Running = surging && !c.Held && math.Abs(yaw) < vehicle.Straight
	speed, climb := 0.0, 0.0
	if pt.Running {
		speed = falling(0, 5, func(x float64) float64 {
			circuit(x, 0)
			return math.Abs(surge) - w.drag(c, p, rho, x)
		})
	}
	w.climbShare = 1
	untimed := w.m.Untimed(c)
	if untimed {
		w.climbShare = p[predict.ClimbShare]
	}
	if c.Climbing || untimed {
		climb = w.climb(p, rho, buoyancy, func(x float64) float64 { circuit(speed, x); return heave })
	}
	circuit(speed, climb)
	pull := surge
	if !surging {
		pull = heave
	}
	w.report(c, p, open-amps*rb, amps, volts, speed, climb, buoyancy, math.Abs(pull), rs)
	return amps
}

// motor fills in current and thrust of a thruster that is on.
func (w *measured) motor(c *predict.Condition, p predict.Params, i int, volts, speed, climb, rho float64) {
	m, sign := &w.motors[i], float64(c.Sign[i])
	advance := speed * (1 - w.v.Hull.Wake)
	if !m.surge {
		advance = w.climbShare * max(0, climb*sign)
	}
	amps, newtons := m.at(volts, advance, rho, p, i, c.Jammed == i+1, sign < 0)
	if sign < 0 {
		newtons *= m.astern
	}
	w.pt.Amps[i], w.pt.Newtons[i] = amps, sign*newtons
}

// referenceSpeed is the speed at which drag coefficients are the file's, m/s.
const referenceSpeed = 0.4

func (w *measured) drag(c *predict.Condition, p predict.Params, rho, v float64) float64 {
	h, t := &w.v.Hull, &w.v.Tether
	d := t.DiameterMM / 1000
	area := h.DragAreaM2*math.Pow(max(v, 0.02)/referenceSpeed, -w.exponent) +
		w.tether*(t.NormalDrag*d*c.DepthM+t.SkinDrag*math.Pi*d*max(c.TetherOutM-c.DepthM, 0))
	return 0.5 * rho * area * math.Exp(p[predict.LogDrag]) * v * v
}

// climb returns the steady vertical speed of a vehicle that floats or sinks.
func (w *measured) climb(p predict.Params, rho, buoyancy float64, heave func(float64) float64) float64 {
	force := func(x float64) float64 {
		area := w.v.Hull.ClimbDragAreaM2 * math.Exp(p[predict.LogClimbDrag]) * math.Pow(max(math.Abs(x), 0.02)/0.1, -w.exponent)
		return heave(x) + predict.Gravity*buoyancy/1000 - 0.5*rho*area*x*math.Abs(x)
	}
	return falling(-5, 5, force)
}

func (w *measured) report(c *predict.Condition, p predict.Params, battery, amps, volts, speed, climb, buoyancy, pull, rs float64) {
	stream := 0.0
	if c.OneWay {
		stream = p[predict.StreamMS]
	}
	gain := math.Exp(p[predict.LogVolts])
	pt := &w.pt
	pt.Out[quantity.BatteryV], pt.Out[quantity.CurrentA] = battery*gain, amps*math.Exp(p[predict.LogClamp])+p[predict.ClampZeroA]
	pt.Out[quantity.VehicleV], pt.Out[quantity.Speed] = volts*gain*math.Exp(p[predict.LogVehicleV]), (speed+stream)*math.Exp(p[predict.LogSpeed])
	pt.Out[quantity.Climb], pt.Out[quantity.Trim], pt.Out[quantity.Pull] = climb, buoyancy+p[predict.TrimZeroG], pull*math.Exp(p[predict.LogPull])
	pt.Out[quantity.LoopOhm], pt.Out[quantity.Insulation] = rs+p[predict.LoopMeterOhm], p[predict.LogInsulation]
	pt.Volts, pt.PairA = volts, amps
}

// The Wageningen B-series at a Reynolds number of 2·10⁶ (Oosterveld and van
// Oossanen, International Shipbuilding Progress 22, 1975).
var (
	//go:embed wageningen_b_kt.csv
	thrustText string
	//go:embed wageningen_b_kq.csv
	torqueText string

	terms = sync.OnceValues(func() (thrust, torque []seriesTerm) { return readTerms(thrustText), readTerms(torqueText) })
)

// A seriesTerm is C·Jˢ·(P/D)ᵗ·(A_E/A_O)ᵘ·Zᵛ.
type seriesTerm struct{ c, s, t, u, v float64 }

// readTerms reads the terms of a table, a line each; other lines are its headings.
func readTerms(text string) (out []seriesTerm) {
	for line := range strings.Lines(text) {
		var k seriesTerm
		if n, _ := fmt.Sscanf(line, "%g,%g,%g,%g,%g", &k.c, &k.s, &k.t, &k.u, &k.v); n == 5 {
			out = append(out, k)
		}
	}
	return out
}

// A propeller is one of the B-series, as polynomials in the advance ratio J
// alone.
type propeller struct{ thrust, torque [4]float64 }

// series returns the propeller with a pitch ratio, blade area ratio and number of blades.
func series(pitchRatio, areaRatio, blades float64) propeller {
	var p propeller
	add := func(to *[4]float64, terms []seriesTerm) {
		for _, k := range terms {
			to[int(k.s)] += k.c * math.Pow(pitchRatio, k.t) * math.Pow(areaRatio, k.u) * math.Pow(blades, k.v)
		}
	}
	thrust, torque := terms()
	add(&p.thrust, thrust)
	add(&p.torque, torque)
	return p
}

func polynomial(c *[4]float64, j float64) float64 { return c[0] + j*(c[1]+j*(c[2]+j*c[3])) }

// kt and kq return the thrust and torque coefficients at an advance ratio.
func (p *propeller) kt(j float64) float64 { return polynomial(&p.thrust, j) }
func (p *propeller) kq(j float64) float64 { return polynomial(&p.torque, j) }
