// Package units converts between the units that people write and read and the base units,
// of the SI, in which values are held. A person reads in one of two systems. No other
// package has conversion factors.
package units

import (
	"cmp"
	"math"
	"strconv"
	"strings"
)

// A Unit is a unit in which numbers are shown: base = (x − Offset)·Factor.
type Unit struct {
	Name           string
	Factor, Offset float64
}

// factors convert a unit into the base unit of its quantity (m, mm, m/s, N, g,
// kg, °C, g/m, kg/m³, m²). All are exact by definition: the international foot
// and inch, the nautical mile and hour, standard gravity and the avoirdupois
// pound, NIST SP 811 (2008) appendix B, and the SI brochure (9th edition) for
// those it accepts.
var factors = map[string]float64{
	"ft": foot, "in": 25.4, "ft/s": foot, "kn": 1852.0 / 3600, "oz": ounce, "lb": 0.45359237, "kgf": 9.80665,
	"lbf": 4.4482216152605, "°F": 5.0 / 9, "oz/ft": ounce / foot, "lb/ft³": 0.45359237 / (foot * foot * foot), "ft²": foot * foot,
}

const (
	foot  = 0.3048       // m
	ounce = 28.349523125 // g
)

// Find returns the unit of a name; one without a factor is a base unit.
func Find(name string) Unit {
	u := Unit{Name: name, Factor: cmp.Or(factors[name], 1)}
	if name == "°F" {
		u.Offset = 32
	}
	return u
}

// ToBase converts a number in the unit into the base unit.
func (u Unit) ToBase(x float64) float64 { return (x - u.Offset) * u.Factor }

// FromBase converts a number in the base unit into the unit.
func (u Unit) FromBase(x float64) float64 { return x/u.Factor + u.Offset }

// Show writes a number, given in the base unit, with the unit. decimals are those of the
// base unit; a coarser unit gets more of them so that no precision is lost, a finer one
// fewer.
func (u Unit) Show(x float64, decimals int) string { return u.with(u.Number(x, decimals)) }

// Number is Show without the unit, for tables with units in their headings.
func (u Unit) Number(x float64, decimals int) string {
	return Zeroless(strconv.FormatFloat(u.FromBase(x), 'f', max(0, decimals+u.more()), 64))
}

// Down is Show rounded down, for limits that are not to be passed.
func (u Unit) Down(x float64, decimals int) string {
	digit := math.Pow(10, float64(max(0, decimals+u.more())))
	return u.Show(u.ToBase(math.Floor(u.FromBase(x)*digit+1e-9)/digit), decimals)
}

// Signed is Show with a sign always written, for changes.
func (u Unit) Signed(x float64, decimals int) string {
	if s := u.Show(x, decimals); !strings.HasPrefix(s, "-") {
		return "+" + s
	}
	return u.Show(x, decimals)
}

// Plain writes a number that a person gave in the base unit, or the middle of a range: to
// five digits in the base unit, which people write at most, and to three in any other.
func (u Unit) Plain(x float64) string {
	digits := 5
	if u.Factor != 1 {
		digits = 3
	}
	return u.with(Digits(u.FromBase(x), digits))
}

func (u Unit) with(number string) string { return strings.TrimSpace(number + " " + u.Name) }

// more is the number of decimals to add to those of the base unit; at most half a decimal
// of precision is lost.
func (u Unit) more() int {
	tens := math.Log10(u.Factor)
	if tens < 0 {
		return int(tens)
	}
	return int(math.Round(tens))
}

// Digits writes a number to significant digits, without an exponent.
func Digits(x float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64) // it was just written
	return Zeroless(strconv.FormatFloat(rounded, 'f', -1, 64))
}

// Zeroless removes the sign of a number that is 0 as written.
func Zeroless(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// A System is a system of units in which a person reads. The zero System is Metric.
type System string

// The two systems, as named in vehicle.toml and by --units.
const (
	Metric   System = "metric"
	Imperial System = "imperial"
)

// Names are the names of all systems.
var Names = []string{string(Metric), string(Imperial)}

// imperial maps base units to imperial units. Speeds are in feet per second, since they
// are measured with a tape and a stopwatch; a log may have knots.
var imperial = map[string]string{"m": "ft", "mm": "in", "m/s": "ft/s", "N": "lbf", "g": "oz", "kg": "lb", "°C": "°F",
	"g/m": "oz/ft", "kg/m³": "lb/ft³", "m²": "ft²"}

// In returns the system's unit for a base unit; that itself if both systems use it, as
// volts.
func (s System) In(base string) Unit {
	if base == "K" && s == Imperial { // a difference of temperatures
		return Unit{Name: "°F", Factor: factors["°F"]}
	}
	if to, ok := imperial[base]; ok && s == Imperial {
		return Find(to)
	}
	return Find(base)
}

// Show writes x, given in base, in the system's unit; decimals are those of base.
func (s System) Show(x float64, base string, decimals int) string {
	return s.In(base).Show(x, decimals)
}

// Plain writes x, given in base, to five digits in base and to three in another unit.
func (s System) Plain(x float64, base string) string { return s.In(base).Plain(x) }

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
