package wording

import (
	"cmp"
	"maps"
	"strings"
	"sync"

	"sagline/session"
	known "sagline/session/units"
)

// A Unit converts numbers as written to its dimension's unit: (x + Plus)·Times.
type Unit struct {
	Dimension   string // named by its unit: "V", "m/s", "g"
	Times, Plus float64
	Name        string // its first spelling
}

// Dimensions that code refers to: named by their units or by how clocks are written.
const (
	Seconds    = "s"
	grams      = "g"
	newtons    = "N"
	ClockOfDay = "hh:mm"
	Elapsed    = "mm:ss"
)

// A spelling is a row of unitTable; words are the spellings, separated by blanks.
type spelling struct {
	dimension   string
	times, plus float64
	words       string
}

// unitTable lists the spellings that are understood, with factors to V, A, Ah, m, s, m/s, g,
// N, Ω, °C and psu. The factors are those of package units, times what prefixes, minute,
// hour, inch, yard, fathom and mile add, exact by definition (NIST SP 811, 2008; SI
// brochure, 9th edition).
func unitTable() []spelling {
	is := func(name string) float64 { return known.Find(name).Factor }
	foot, ounce := is("ft"), is("oz")
	return []spelling{
		{"V", 1, 0, "V volt volts VDC Vdc voltios"}, {"V", 1e-3, 0, "mV millivolt millivolts"},
		{"A", 1, 0, "A amp amps ampere amperes ampère ampères amperios"}, {"A", 1e-3, 0, "mA milliamp milliamps"},
		{"Ah", 1, 0, "Ah"}, {"Ah", 1e-3, 0, "mAh"},
		{"m", 1, 0, "m metre metres meter meters mètre mètres metro metros Meter"}, {"m", 1e-2, 0, "cm centimetre centimetres centimeter centimeters"},
		{"m", 1e-3, 0, "mm millimetre millimetres millimeter millimeters"}, {"m", foot, 0, "ft feet foot fuß fuss ' ′"},
		{"m", foot / 12, 0, `in inch inches " ″`}, {"m", 3 * foot, 0, "yd yard yards"}, {"m", 6 * foot, 0, "fathom fathoms ftm"},
		{Seconds, 1, 0, "s sec secs second seconds sek sekunden seg segundos secondes"}, {Seconds, 1e-3, 0, "ms msec millisecond milliseconds"},
		{Seconds, 60, 0, "min mins minute minutes minuten minuto minutos"}, {Seconds, 3600, 0, "h hr hrs hour hours stunden heures horas"},
		{"m/s", 1, 0, "m/s mps"}, {"m/s", 1e-2, 0, "cm/s"}, {"m/s", 1.0 / 60, 0, "m/min"}, {"m/s", 1 / 3.6, 0, "km/h kph kmh"},
		{"m/s", foot, 0, "ft/s fps"}, {"m/s", foot / 60, 0, "ft/min fpm"}, {"m/s", 5280 * foot / 3600, 0, "mph"}, {"m/s", is("kn"), 0, "kn kt kts knot knots knoten nudos nudo nœuds noeuds"},
		{grams, 1, 0, "g gram grams gramm"}, {grams, 1e3, 0, "kg kilo kilos kilogram kilograms"}, {grams, 1e3 * is("lb"), 0, "lb lbs pound pounds"}, {grams, ounce, 0, "oz ounce ounces"},
		{newtons, 1, 0, "N newton newtons"}, {newtons, is("kgf"), 0, "kgf kp"}, {newtons, is("kgf") / 1e3, 0, "gf"}, {newtons, is("lbf"), 0, "lbf"}, {newtons, is("lbf") / 16, 0, "ozf"},
		{"Ω", 1, 0, "Ω Ω ohm ohms"}, {"Ω", 1e-3, 0, "mΩ mΩ mohm mohms milliohm milliohms"}, {"Ω", 1e3, 0, "kΩ kΩ kohm kohms"}, {"Ω", 1e6, 0, "MΩ MΩ Mohm Mohms megohm megohms"},
		{"°C", 1, 0, "°C ℃ C degC celsius"}, {"°C", is("°F"), -known.Find("°F").Offset, "°F ℉ F degF fahrenheit"}, {"°C", 1, -273.15, "K kelvin"},
		{"psu", 1, 0, "psu PSU ppt ‰ g/kg PSS"}, {ClockOfDay, 1, 0, "hh:mm hh:mm:ss h:mm clock"}, {Elapsed, 1, 0, "mm:ss m:ss min:sec min:s"},
	}
}

// units maps spellings to units: exact as written, folded in lower case if that leaves
// only one meaning.
var units = sync.OnceValues(func() (exact, folded map[string]Unit) {
	exact, folded = map[string]Unit{}, map[string]Unit{}
	several := map[string]bool{}
	for _, row := range unitTable() {
		for s := range strings.FieldsSeq(row.words) {
			u := Unit{row.dimension, row.times, row.plus, strings.Fields(row.words)[0]}
			o, again := folded[strings.ToLower(s)]
			exact[s], folded[strings.ToLower(s)] = u, u
			several[strings.ToLower(s)] = several[strings.ToLower(s)] || again && o != u
		}
	}
	maps.DeleteFunc(folded, func(s string, _ Unit) bool { return several[s] })
	return exact, folded
})

// FindUnit finds the unit of a spelling. Case counts only where units differ by it, as mΩ
// and MΩ do.
func FindUnit(s string) (Unit, bool) {
	s = strings.Join(strings.Fields(strings.TrimSuffix(strings.TrimSpace(s), ".")), "")
	exact, folded := units()
	u, ok := exact[s]
	if !ok {
		u, ok = folded[strings.ToLower(s)]
	}
	return u, ok
}

// Into returns the conversion of numbers in the unit into a column's: x·times + plus.
// Masses convert into forces, by standard gravity. ok is false if the column measures
// something else.
func (u Unit) Into(c *session.Column) (times, plus float64, ok bool) {
	dimension := DimensionOf(c)
	if c.Quantity == "minute" && u.Dimension == Elapsed {
		dimension = Elapsed
	}
	return u.into(c.Unit, dimension)
}

func (u Unit) into(unit, dimension string) (times, plus float64, ok bool) {
	to, _ := FindUnit(unit)
	times = u.Times / cmp.Or(to.Times, 1)
	switch {
	case u.Dimension == grams && dimension == newtons:
		times *= known.Find("kgf").Factor / 1e3
	case u.Dimension != dimension:
		return 0, 0, false
	}
	return rounded(times, 12), rounded(u.Plus*times-to.Plus, 12), true
}

// asWritten turns a unit as typed, such as mm2, into the spelling of package units.
var asWritten = strings.NewReplacer("2", "²", "3", "³", "ohm", "Ω", " ", "")

// Convert converts a number from the unit of a spelling into the unit into. If the table lacks one
// of them, it converts only from into itself or its imperial unit. ok is false if the two measure
// different things.
func Convert(number, spelling, into string) (converted string, ok bool) {
	from, isFrom := FindUnit(spelling)
	if to, isTo := FindUnit(into); isFrom && isTo {
		times, plus, ok := from.into(into, to.Dimension)
		return Converted(number, times, plus), ok
	}
	for _, u := range []known.Unit{known.Metric.In(into), known.Imperial.In(into)} {
		if strings.EqualFold(asWritten.Replace(spelling), u.Name) {
			return Converted(number, u.Factor, -u.Offset*u.Factor), true
		}
	}
	return "", false
}

// DimensionOf returns the dimension of a column's numbers, "" for none.
func DimensionOf(c *session.Column) string {
	u, _ := FindUnit(c.Unit)
	if c.Quantity == "clock" {
		return ClockOfDay
	}
	return u.Dimension
}

// InUnit converts a number in a unit, given by any spelling, into the cell of a column.
// same says that the column is in that very unit; ok is false if the column measures
// something else.
func InUnit(number, spelling string, c *session.Column) (cell string, same, ok bool) {
	u, known := FindUnit(spelling)
	times, plus, fits := u.Into(c)
	if !known || !fits || c.Unit == "" {
		return "", false, false
	}
	return Converted(number, times, plus), times == 1 && plus == 0, true
}

// IsUnit reports whether a word is the spelling of a unit.
func IsUnit(word string) bool { _, ok := FindUnit(word); return ok }
