package importer

import (
	"math"
	"strconv"
	"strings"
	"sync"

	"sagline/session"
	known "sagline/session/units"
)

// A unit is how numbers under a heading are written: SI = (x + plus)·times.
type unit struct {
	spelt       string
	dimension   dimension
	times, plus float64
}

type dimension string

const (
	volts       dimension = "voltage"
	amps        dimension = "current"
	metres      dimension = "length"
	seconds     dimension = "time"
	speeds      dimension = "speed"
	grams       dimension = "mass"
	newtons     dimension = "force"
	ohms        dimension = "resistance"
	celsius     dimension = "temperature"
	psu         dimension = "salinity"
	wordsOnly   dimension = "" // no numbers
	clockOfDay  dimension = "clock"
	elapsedText dimension = "elapsed"
)

// units are the spellings understood, with their factors to V, A, m, s, m/s, g,
// N, Ω, °C and psu: those of the units that are written and read here, and
// what prefixes, the minute, the hour, the inch, the yard, the fathom and the
// mile make of them, exact by definition (NIST SP 811, 2008; SI brochure, 9th
// edition).
var units = sync.OnceValue(func() map[string]unit {
	all := map[string]unit{}
	add := func(d dimension, times, plus float64, spellings string) {
		for s := range strings.FieldsSeq(spellings) {
			all[s] = unit{s, d, times, plus}
		}
	}
	is := func(name string) float64 { return known.Find(name).Factor }
	foot, ounce := is("ft"), is("oz")
	add(volts, 1, 0, "V volt volts VDC Vdc")
	add(volts, 1e-3, 0, "mV millivolt millivolts")
	add(amps, 1, 0, "A amp amps ampere amperes")
	add(amps, 1e-3, 0, "mA milliamp milliamps")
	add(metres, 1, 0, "m metre metres meter meters mètre mètres")
	add(metres, 1e-2, 0, "cm centimetre centimetres centimeter centimeters")
	add(metres, 1e-3, 0, "mm millimetre millimetres millimeter millimeters")
	add(metres, foot, 0, "ft feet foot fuß fuss ' ′")
	add(metres, foot/12, 0, `in inch inches " ″`)
	add(metres, 3*foot, 0, "yd yard yards")
	add(metres, 6*foot, 0, "fathom fathoms ftm")
	add(seconds, 1, 0, "s sec secs second seconds sek sekunden")
	add(seconds, 1e-3, 0, "ms msec millisecond milliseconds")
	add(seconds, 1e-6, 0, "µs μs us microseconds")
	add(seconds, 60, 0, "min mins minute minutes minuten")
	add(seconds, 3600, 0, "h hr hrs hour hours stunden")
	add(speeds, 1, 0, "m/s mps")
	add(speeds, 1e-2, 0, "cm/s")
	add(speeds, 1.0/60, 0, "m/min")
	add(speeds, 1/3.6, 0, "km/h kph kmh")
	add(speeds, foot, 0, "ft/s fps")
	add(speeds, foot/60, 0, "ft/min fpm")
	add(speeds, 5280*foot/3600, 0, "mph")
	add(speeds, is("kn"), 0, "kn kt kts knot knots knoten")
	add(grams, 1, 0, "g gram grams gramm")
	add(grams, 1e3, 0, "kg kilo kilos kilogram kilograms")
	add(grams, 1e3*is("lb"), 0, "lb lbs pound pounds")
	add(grams, ounce, 0, "oz ounce ounces")
	add(newtons, 1, 0, "N newton newtons")
	add(newtons, is("kgf"), 0, "kgf kp")
	add(newtons, is("kgf")/1e3, 0, "gf")
	add(newtons, is("lbf"), 0, "lbf")
	add(newtons, is("lbf")/16, 0, "ozf")
	add(ohms, 1, 0, "Ω Ω ohm ohms")
	add(ohms, 1e-3, 0, "mΩ mΩ mohm mohms milliohm milliohms")
	add(ohms, 1e3, 0, "kΩ kΩ kohm kohms")
	add(ohms, 1e6, 0, "MΩ MΩ Mohm Mohms megohm megohms")
	add(celsius, 1, 0, "°C ℃ C degC celsius")
	add(celsius, is("°F"), -known.Find("°F").Offset, "°F ℉ F degF fahrenheit")
	add(celsius, 1, -273.15, "K kelvin")
	add(psu, 1, 0, "psu PSU ppt ‰ g/kg PSS")
	add(clockOfDay, 1, 0, "hh:mm hh:mm:ss h:mm clock")
	add(elapsedText, 1, 0, "mm:ss m:ss min:sec min:s")
	return all
})

// lowered are the spellings that mean one thing whatever their case.
var lowered = sync.OnceValue(func() map[string]unit {
	out, twice := map[string]unit{}, map[string]bool{}
	for s, u := range units() {
		l := strings.ToLower(s)
		if o, ok := out[l]; ok && o.times != u.times {
			twice[l] = true
		}
		out[l] = u
	}
	for l := range twice {
		delete(out, l)
	}
	return out
})

// findUnit is the unit of a spelling; case counts where it must, as between
// mΩ and MΩ.
func findUnit(s string) (unit, bool) {
	s = strings.Join(strings.Fields(strings.TrimSuffix(strings.TrimSpace(s), ".")), "")
	if u, ok := units()[s]; ok {
		return u, true
	}
	u, ok := lowered()[strings.ToLower(s)]
	return u, ok
}

// base is the factor from SI as units has it to the base unit of a column.
func base(c *session.Column) float64 {
	switch c.Quantity {
	case "minute":
		return 1.0 / 60
	case "insulation_megohm":
		return 1e-6
	}
	return 1
}

// fits is the unit as it must be understood under a column: a mass that is
// pulled with is a force. ok is false where they do not go together.
func (u unit) fits(c *session.Column) (unit, bool) {
	want := dimensionOf(c)
	if u.dimension == grams && want == newtons {
		u.times *= known.Find("kgf").Factor / 1e3
		return u, true
	}
	if c.Quantity == "minute" && u.dimension == elapsedText {
		return u, true
	}
	return u, u.dimension == want
}

// dimensionOf is what a column's numbers measure.
func dimensionOf(c *session.Column) dimension {
	if c.Quantity == "clock" {
		return clockOfDay
	}
	if c.Unit == "" {
		return wordsOnly
	}
	if u, ok := findUnit(c.Unit); ok {
		return u.dimension
	}
	return wordsOnly
}

// to is what turns a number in unit u into column c's: times and then plus.
func (u unit) to(c *session.Column) (times, plus float64) {
	at := func(x float64) float64 { return c.FromBase(base(c) * (x + u.plus) * u.times) }
	plus = at(0)
	times = at(1) - plus
	return tidy(times), tidy(plus)
}

// tidy takes the last digits off, which are rounding.
func tidy(x float64) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil || math.Abs(y) < 1e-12 {
		return 0
	}
	return y
}

// digits are as many as are kept of a converted number.
const digits = 12
