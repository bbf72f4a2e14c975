// Package quantity is the one list of what instruments read: a dive's log, the
// model's predictions and every sentence about them speak of these. It assumes
// one base unit for each, in which all values are held.
package quantity

// A Quantity is something an instrument reads.
type Quantity int

// The quantities.
const (
	BatteryV   Quantity = iota // V at the battery terminals
	CurrentA                   // A from the battery
	VehicleV                   // V across the power pair at the vehicle
	Speed                      // m/s through the water
	Climb                      // m/s, + up
	Trim                       // g in water that brings the vehicle to hover, + when it floats
	Pull                       // N, held
	LoopOhm                    // Ω across the power pair, far end shorted
	Insulation                 // MΩ, power pair to water
	Count                      // how many there are
)

// table says how each quantity is named in files, its base unit, what it is
// called and what reads it.
var table = [Count]struct{ name, unit, words, instrument string }{
	BatteryV:   {"battery_v", "V", "battery voltage", "a voltmeter at the battery"},
	CurrentA:   {"current_a", "A", "current", "a clamp meter on the battery lead"},
	VehicleV:   {"vehicle_v", "V", "vehicle voltage", "a voltmeter across the power pair at the vehicle"},
	Speed:      {"speed_m_s", "m/s", "speed", "a timed run"},
	Climb:      {"climb_m_s", "m/s", "climb", "a timed climb"},
	Trim:       {"trim_g", "g", "hover weight", "the weight that makes it hover"},
	Pull:       {"pull_n", "N", "pull", "a pull against a scale"},
	LoopOhm:    {"loop_ohm", "Ω", "loop resistance", "an ohmmeter on the loop"},
	Insulation: {"insulation_megohm", "MΩ", "insulation", "a meter from the power pair to the water"},
}

// Log says whether errors of the quantity are a share of it, over decades, so
// that its logarithm is what is predicted and compared.
func (q Quantity) Log() bool { return q == Insulation }

// String is the column of dives.csv that holds the quantity in its base unit.
func (q Quantity) String() string { return table[q].name }

// Unit is the base unit.
func (q Quantity) Unit() string { return table[q].unit }

// Words are what the quantity is called.
func (q Quantity) Words() string { return table[q].words }

// Instrument is what reads the quantity.
func (q Quantity) Instrument() string { return table[q].instrument }
