package units

// A reading is a unit of an instrument's readings: the base unit of its quantity, and the
// conversion to it.
type reading struct {
	base           string
	factor, offset float64 // base = (x − offset)·factor
}

// readings are the units in which readings are typed, by spelling.
// Pressure: NIST SP 811 (2008), appendix B.8.
var readings = map[string]reading{
	"mV": {"mV", 1, 0}, "V": {"mV", 1000, 0}, "A": {"A", 1, 0}, "mA": {"A", 0.001, 0},
	"mΩ": {"Ω", 0.001, 0}, "mohm": {"Ω", 0.001, 0}, "Ω": {"Ω", 1, 0}, "ohm": {"Ω", 1, 0}, "ohms": {"Ω", 1, 0}, "kΩ": {"Ω", 1e3, 0}, "kohm": {"Ω", 1e3, 0},
	"MΩ": {"Ω", 1e6, 0}, "Mohm": {"Ω", 1e6, 0}, "megohm": {"Ω", 1e6, 0}, "GΩ": {"Ω", 1e9, 0}, "Gohm": {"Ω", 1e9, 0},
	"°C": {"°C", 1, 0}, "C": {"°C", 1, 0}, "°F": {"°C", factors["°F"], 32}, "F": {"°C", factors["°F"], 32}, "min": {"min", 1, 0}, "h": {"min", 60, 0},
	"kPa": {"kPa", 1, 0}, "mbar": {"kPa", 0.1, 0}, "bar": {"kPa", 100, 0}, "psi": {"kPa", 6.894757, 0}, "inHg": {"kPa", 3.386389, 0},
	"": {"", 1, 0}, "%": {"", 0.01, 0},
}

// OfReading returns the unit of a reading by its spelling, and the base unit of its
// quantity; ok is false for an unknown spelling.
func OfReading(spelling string) (base string, u Unit, ok bool) {
	r, ok := readings[spelling]
	return r.base, Unit{spelling, r.factor, r.offset}, ok
}
