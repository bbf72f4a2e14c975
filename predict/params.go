package predict

import (
	"math"
	"slices"

	"sagline/session/quantity"
)

// Params say how a vehicle, and the readings taken of it, differ from its file: the vector that a
// fit adjusts. It is 0 for a vehicle as built, except the absolute OpenCircuitV and LogInsulation.
// The indices are listed below; PerThruster more follow for each thruster.
type Params []float64

// Indices of Params. Names that begin with Log are natural logarithms of factors, LogInsulation of MΩ.
const (
	// The battery.
	OpenCircuitV    = iota // V at rest, at minute 0, absolute
	SagVPerMinute          // V lost per minute of the dive
	RestedShare            // share of the minutes at rest in which no voltage is lost
	SurfaceV               // V lost as soon as anything runs: surface charge and activation
	BatteryOhm             // Ω added to the battery's resistance
	BatteryPerK            // relative rise of the battery's resistance per K below coldBelowC
	BatteryPerSpent        // relative rise of the battery's resistance with all its charge spent

	// The power pair.
	LoopOhm       // Ω added to the loop
	LogInsulation // ln of the power pair's insulation from the water in MΩ, absolute
	UnloggedA     // A of a constant load at the vehicle that no line mentions
	UnlitA        // A of lights that are on where the line says off
	LightsA       // A added to the lights' current where the line says on
	ReelK         // K by which copper on the reel is warmer than the water

	// All thrusters alike.
	LogSize     // on test and no-load currents, and on the inverse of armature resistance
	LogTorque   // on the current that the propellers draw
	LogThrust   // on thrust
	LogPitch    // on pitch speed
	LogArmature // on armature resistance, with the static test's current and pull unchanged
	FrictionA   // A added to each no-load current
	LogAstern   // on thrust astern
	WarmK       // K by which windings warm after long running
	MagnetPerK  // relative weakening of the motors' magnets per K above referenceC

	// The vehicle in the water.
	LogDrag       // on surge drag, the tether's included
	LogTetherDrag // on the tether's part of surge drag
	LogClimbDrag  // on climb drag
	TrimG         // g added to net buoyancy
	TrimPerM      // g lost per metre of depth
	WithinDiveG   // g added to net buoyancy by the end of a dive, in proportion to Condition.UnderWay
	LogDisplaced  // on the mass displaced
	HullPerK      // relative gain of displaced volume per K above referenceC
	BallastLift   // added to the share of its weight that ballast loses in fresh water
	StreamMS      // m/s of a stream along a run that is timed one way

	// Errors of a line's circumstances as written down.
	DepthM        // m
	TetherOutM    // m
	MinuteMin     // min
	WaterK        // K
	SalinityPSU   // psu
	YearCosK      // K by which water whose temperature was not read is warmer: the amplitude of the cosine over the year
	YearSinK      // the same, of the sine
	MagnetYearCos // log by which all magnets are weaker in water whose temperature was not read: the amplitude of the cosine
	MagnetYearSin // the same, of the sine
	AssumedDepthM // m by which all lines of a log that gives no depth are deeper than assumed
	AssumedOutM   // m by which more tether is out than assumed on all lines before the log gives it
	ClimbShare    // share of a steady climb's speed that heave thrusters move at where nobody timed it

	// The instruments.
	LogClamp     // on all currents read
	ClampZeroA   // A added to all currents read
	LogVolts     // on all voltages read
	LogVehicleV  // on the vehicle's voltage as read, against the battery's
	LogSpeed     // on speeds read
	LogPull      // on pulls read
	TrimZeroG    // g added to hover weights read
	LoopMeterOhm // Ω added to loop resistances read

	FirstThruster // the first thruster's BranchOhm
)

// Parameters of each thruster, from FirstThruster on.
const (
	BranchOhm    = iota // Ω added to its branch
	LogOneThrust        // on its thrust
	LogOneTorque        // on the current its propeller draws
	LogOnePitch         // on its pitch speed
	OneFrictionA        // A added to its no-load current
	LogWeakness         // on the inverse of its torque constant: magnets that weaken
	ReverseOhm          // Ω added to its branch only in reverse: the contacts for astern or down
	PerThruster         // number of parameters per thruster
)

// OfThruster returns the index into Params of parameter what (BranchOhm …) of thruster i.
func OfThruster(i, what int) int { return FirstThruster + i*PerThruster + what }

// ExcessOhm returns the excess resistance of thruster i's branch, Ω: running ahead or up, or
// reversed.
func (p Params) ExcessOhm(i int, reversed bool) float64 {
	ohm := p[OfThruster(i, BranchOhm)]
	if reversed {
		ohm += p[OfThruster(i, ReverseOhm)]
	}
	return ohm
}

// NewParams returns the Params of the vehicle as built, with a rested battery at its nominal
// voltage.
func (m *Model) NewParams() Params {
	p := make(Params, m.Dim())
	p[OpenCircuitV], p[LogInsulation] = m.Vehicle.Battery.NominalV, math.Log(goodInsulationMegohm)
	return p
}

// goodInsulationMegohm is the insulation of a tether about which nothing is known: most meters read
// no higher; common practice, no source.
const goodInsulationMegohm = 100.0

// Dim is the length of the vehicle's Params.
func (m *Model) Dim() int { return OfThruster(len(m.motors), 0) }

// BuiltOhm returns the resistance in the vehicle's file that a parameter adds to, Ω: that of the
// power pair's joints or of a thruster's branch. ok is false for other parameters.
func (m *Model) BuiltOhm(param int) (ohm float64, ok bool) {
	of, what := (param-FirstThruster)/PerThruster, (param-FirstThruster)%PerThruster
	switch {
	case param == LoopOhm:
		return m.Vehicle.Tether.Power.JointsOhm, true
	case param >= FirstThruster && what == BranchOhm:
		return m.Vehicle.Thrusters[of].BranchOhm, true
	}
	return 0, false
}

// ReadAsIs returns p with perfect instruments and every circumstance as written down: what the
// vehicle is, not what is read of it.
func (p Params) ReadAsIs() Params {
	out := append(Params(nil), p...)
	clear(out[StreamMS:FirstThruster])
	return out
}

// Times returns p times x.
func (p Params) Times(x float64) Params {
	out := make(Params, len(p))
	for k := range p {
		out[k] = x * p[k]
	}
	return out
}

// A Condition holds the circumstances of one observation.
type Condition struct {
	Sign         []int8 // per thruster: 0 off, 1 ahead or up, −1 astern or down
	Electrical   bool   // false: nothing electrical is predicted
	Lights       bool
	Held         bool
	Climbing     bool    // solve for steady vertical speed
	OneWay       bool    // speed is over ground, with the stream in it
	Jammed       int     // 1 + the thruster that cannot turn, 0 for none
	Minute       float64 // since the dive began
	RestMin      float64 // of Minute, those in which no thruster ran
	Warm         float64 // 0 to 1: share of the windings' final warming
	DepthM       float64
	DepthAssumed float64 // 1 where the depth is assumed because no line of the log gave one so far; else 0
	TetherOutM   float64
	OutAssumed   float64 // 1 where the tether that is out is assumed because no line of the log gave it so far; else 0
	WaterC       float64
	Spent        float64 // share of charge by which the battery is below the state in which its resistance is known
	YearCos      float64 // cosine of the day in the year where the water's temperature was not read; so YearSin
	YearSin      float64
	Salinity     float64
	BallastG     float64
	UnderWay     float64 // 0 to 1: share of the time from the first run in the dive to its last line
}

// idle reports whether all thrusters and the lights are off.
func (c *Condition) idle() bool {
	return !c.Lights && !slices.ContainsFunc(c.Sign, func(s int8) bool { return s != 0 })
}

// Untimed reports whether heave thrusters alone run under a condition that does not say how fast the vehicle
// climbs.
func (m *Model) Untimed(c *Condition) bool {
	heave := false
	for i, sign := range c.Sign {
		if sign != 0 && m.motors[i].surge {
			return false
		}
		heave = heave || sign != 0
	}
	return heave && c.Electrical && !c.Held && !c.Climbing
}

// waterC returns the water temperature under p, °C.
func (c *Condition) waterC(p Params) float64 {
	return c.WaterC + p[WaterK] + c.YearCos*p[YearCosK] + c.YearSin*p[YearSinK]
}

// weakness returns the log by which the water's temperature weakens all magnets under p.
func (c *Condition) weakness(p Params) float64 {
	return p[MagnetPerK]*(c.waterC(p)-referenceC) + c.YearCos*p[MagnetYearCos] + c.YearSin*p[MagnetYearSin]
}

// depthM returns the depth under p, m.
func (c *Condition) depthM(p Params) float64 {
	return max(c.DepthM+p[DepthM]+c.DepthAssumed*p[AssumedDepthM], 0)
}

// outM returns the tether that is out under p, m.
func (c *Condition) outM(p Params) float64 {
	return max(c.TetherOutM+p[TetherOutM]+c.OutAssumed*p[AssumedOutM], 0)
}

// A Point is the operating point of one line.
type Point struct {
	Out     [quantity.Count]float64 // as the instruments show it; for insulation its logarithm
	Known   [quantity.Count]bool    // which of Out are meaningful under the Condition
	Running bool
	Volts   float64   // V at the vehicle
	PairA   float64   // A through the power pair
	BackEMF []float64 // V, per thruster
	Amps    []float64 // A, per thruster
	Newtons []float64 // N along the thruster's sign, per thruster
}

// IsLog reports whether a parameter is the logarithm of a factor.
func IsLog(k int) bool {
	if k >= FirstThruster {
		what := (k - FirstThruster) % PerThruster
		return what == LogOneThrust || what == LogOneTorque || what == LogOnePitch || what == LogWeakness
	}
	switch k {
	case LogSize, LogTorque, LogThrust, LogPitch, LogArmature, LogAstern, LogDrag, LogTetherDrag, LogClimbDrag, LogDisplaced,
		LogClamp, LogVolts, LogVehicleV, LogSpeed, LogPull:
		return true
	}
	return false
}
