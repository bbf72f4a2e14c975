// Package units knows the units that people write and read, and turns them
// into the base units that everything is held in and back. It assumes that a
// person reads in one of two systems, that results are shown in theirs and
// held in SI, and that this is the one place that knows a factor.
package units

import (
	"math"
	"strconv"
	"strings"
)

// A Unit is what a number is shown in: base = (x − Offset)·Factor.
type Unit struct {
	Name           string
	Factor, Offset float64
}

// factors turn a unit into the base unit of its quantity (m, mm, m/s, N, g,
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

// Find is the unit of a name; one without a factor is a base unit.
func Find(name string) Unit {
	u := Unit{Name: name, Factor: 1}
	if f, ok := factors[name]; ok {
		u.Factor = f
	}
	if name == "°F" {
		u.Offset = 32
	}
	return u
}

// ToBase turns a number in the unit into the base unit.
func (u Unit) ToBase(x float64) float64 { return (x - u.Offset) * u.Factor }

// FromBase turns a number in the base unit into the unit.
func (u Unit) FromBase(x float64) float64 { return x/u.Factor + u.Offset }

// Show is a number in the base unit as a person reads it, unit and all.
// decimals are those of the base unit; a coarser unit gets as many more as
// keep what they say, a finer one fewer.
func (u Unit) Show(x float64, decimals int) string { return u.with(u.Number(x, decimals)) }

// Number is Show without the unit, for a table whose head names it.
func (u Unit) Number(x float64, decimals int) string {
	return zeroless(strconv.FormatFloat(u.FromBase(x), 'f', max(0, decimals+u.more()), 64))
}

// Signed is Show with the sign always there, for changes.
func (u Unit) Signed(x float64, decimals int) string {
	if s := u.Show(x, decimals); !strings.HasPrefix(s, "-") {
		return "+" + s
	}
	return u.Show(x, decimals)
}

// Plain is a number that a person gave in the base unit, or the middle of a range that they gave: to the five digits
// there that people write, to three in any other.
func (u Unit) Plain(x float64) string {
	y, digits := u.FromBase(x), 5
	if u.Factor != 1 {
		digits = 3
	}
	y, _ = strconv.ParseFloat(strconv.FormatFloat(y, 'g', digits, 64), 64)
	return u.with(zeroless(strconv.FormatFloat(y, 'f', -1, 64)))
}

func (u Unit) with(number string) string { return strings.TrimSpace(number + " " + u.Name) }

// more is how many decimals beyond those of the base unit are worth showing:
// half a decimal too few is borne, any that would be lost is not.
func (u Unit) more() int {
	tens := math.Log10(u.Factor)
	if tens < 0 {
		return int(tens)
	}
	return int(math.Round(tens))
}

// Digits is a number to some significant digits, without an exponent.
func Digits(x float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64) // which takes what it wrote
	return zeroless(strconv.FormatFloat(rounded, 'f', -1, 64))
}

// zeroless takes the sign off a number that is 0 as shown.
func zeroless(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// A System is the units that a person reads in. The zero System is Metric.
type System string

// The two systems, as vehicle.toml and --units name them.
const (
	Metric   System = "metric"
	Imperial System = "imperial"
)

// Names are the systems' names.
var Names = []string{string(Metric), string(Imperial)}

// imperial pairs base units with what is read instead. Speeds are in feet a
// second, since they come from a tape and a stopwatch; a log may hold knots.
var imperial = map[string]string{"m": "ft", "mm": "in", "m/s": "ft/s", "N": "lbf", "g": "oz", "kg": "lb", "°C": "°F",
	"g/m": "oz/ft", "kg/m³": "lb/ft³", "m²": "ft²"}

// In is the unit in which the system's people read what is held in base; base
// itself where both read the same, as volts.
func (s System) In(base string) Unit {
	if to, ok := imperial[base]; ok && s == Imperial {
		return Find(to)
	}
	return Find(base)
}

// Show is x, held in base, as the system's people read it; decimals are those
// of base.
func (s System) Show(x float64, base string, decimals int) string {
	return s.In(base).Show(x, decimals)
}

// Plain is x in base to five digits, to three in any other unit.
func (s System) Plain(x float64, base string) string { return s.In(base).Plain(x) }
