// Package quantity lists the quantities that instruments read, for the log, the model's predictions
// and texts. Each has one base unit, in which all its values are held.
package quantity

// A Quantity is a quantity that an instrument reads.
type Quantity int

// The quantities.
const (
	BatteryV   Quantity = iota // V at the battery terminals
	CurrentA                   // A from the battery
	VehicleV                   // V across the power pair at the vehicle
	Speed                      // m/s through the water
	Climb                      // m/s, + up
	Trim                       // g in water that make the vehicle hover, + when it floats
	Pull                       // N, held
	LoopOhm                    // Ω across the power pair, far end shorted
	Insulation                 // MΩ, power pair to water
	Count                      // number of quantities
)

// table holds each quantity's name in files, base unit, name in texts and instrument.
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

// Log reports whether the logarithm of the quantity is predicted and compared, because its errors
// are relative and it spans decades.
func (q Quantity) Log() bool { return q == Insulation }

// Still reports whether the quantity is read with everything off: hover weight, loop and insulation.
func (q Quantity) Still() bool { return q == Trim || q == LoopOhm || q == Insulation }

// String returns the name of the column of dives.csv for the quantity in its base unit.
func (q Quantity) String() string { return table[q].name }

// Unit returns the quantity's base unit.
func (q Quantity) Unit() string { return table[q].unit }

// Words returns the quantity's name in texts.
func (q Quantity) Words() string { return table[q].words }

// Instrument returns the instrument that reads the quantity.
func (q Quantity) Instrument() string { return table[q].instrument }
