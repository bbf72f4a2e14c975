package predict

import "sagline/session/quantity"

// Params say how a vehicle differs from its file: the vector that a fit
// adjusts. Indices below, then one excess resistance [Ω] per thruster branch.
type Params []float64

// Indices of Params.
const (
	LogTorque     = iota // ln of the factor on current drawn by the propeller
	LogThrust            // ln of the factor on thrust
	LogPitch             // ln of the factor on pitch speed
	LogDrag              // ln of the factor on surge drag, tether included
	LogClimbDrag         // ln of the factor on climb drag
	TrimG                // g added to net buoyancy
	LoopOhm              // Ω added to the power loop
	FrictionA            // A added to each no-load current
	BatteryOhm           // Ω added to the battery's resistance
	OpenCircuitV         // V at minute 0, absolute
	SagVPerMinute        // V lost per minute of the dive
	FirstBranch          // Ω added to the first thruster's branch
)

// NewParams is the vehicle as built with a rested battery at its nominal
// voltage.
func (m *Model) NewParams() Params {
	p := make(Params, m.Dim())
	p[OpenCircuitV] = m.Vehicle.Battery.NominalV
	return p
}

// Dim is the length of the vehicle's Params.
func (m *Model) Dim() int { return FirstBranch + len(m.motors) }

// Condition is what one observation was made under.
type Condition struct {
	Sign       []int8 // per thruster: 0 off, 1 ahead or up, −1 astern or down
	Electrical bool   // false: nothing electrical is predicted
	Lights     bool
	Held       bool
	Climbing   bool    // solve for steady vertical speed
	Minute     float64 // since the dive began
	DepthM     float64
	TetherOutM float64
	WaterC     float64
	Salinity   float64
	BallastG   float64
}

// Point is the operating point of one line.
type Point struct {
	Out     [quantity.Predicted]float64
	Known   [quantity.Predicted]bool // which of Out mean something under the Condition
	Running bool
	BackEMF []float64 // V, per thruster
	Amps    []float64 // A, per thruster
	Newtons []float64 // N along the thruster's sign, per thruster
}
