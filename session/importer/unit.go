package importer

import (
	"maps"
	"strings"
	"sync"

	"sagline/session"
	known "sagline/session/units"
)

// A unit is how numbers under a heading are written: SI = (x + plus)·times.
type unit struct {
	dimension   dimension
	times, plus float64
	name        string // its first spelling
}

// A spelling is how a unit is written, in words set apart by blanks.
type spelling struct {
	dimension   dimension
	times, plus float64
	words       string
}

// A dimension is what a unit measures, as its SI unit.
type dimension string

// Dimensions that are asked for; words have none.
const (
	seconds     dimension = "s"
	grams       dimension = "g"
	newtons     dimension = "N"
	clockOfDay  dimension = "hh:mm"
	elapsedText dimension = "mm:ss"
)

// unitTable has the spellings understood, with their factors to V, A, m, s,
// m/s, g, N, Ω, °C and psu: those of the units that are written and read here,
// and what prefixes, the minute, the hour, the inch, the yard, the fathom and
// the mile make of them, exact by definition (NIST SP 811, 2008; SI brochure,
// 9th edition).
func unitTable() []spelling {
	is := func(name string) float64 { return known.Find(name).Factor }
	foot, ounce := is("ft"), is("oz")
	return []spelling{
		{"V", 1, 0, "V volt volts VDC Vdc voltios"}, {"V", 1e-3, 0, "mV millivolt millivolts"},
		{"A", 1, 0, "A amp amps ampere amperes ampère ampères amperios"}, {"A", 1e-3, 0, "mA milliamp milliamps"},
		{"m", 1, 0, "m metre metres meter meters mètre mètres metro metros Meter"}, {"m", 1e-2, 0, "cm centimetre centimetres centimeter centimeters"},
		{"m", 1e-3, 0, "mm millimetre millimetres millimeter millimeters"}, {"m", foot, 0, "ft feet foot fuß fuss ' ′"},
		{"m", foot / 12, 0, `in inch inches " ″`}, {"m", 3 * foot, 0, "yd yard yards"}, {"m", 6 * foot, 0, "fathom fathoms ftm"},
		{seconds, 1, 0, "s sec secs second seconds sek sekunden seg segundos secondes"}, {seconds, 1e-3, 0, "ms msec millisecond milliseconds"},
		{seconds, 60, 0, "min mins minute minutes minuten"}, {seconds, 3600, 0, "h hr hrs hour hours stunden"},
		{"m/s", 1, 0, "m/s mps"}, {"m/s", 1e-2, 0, "cm/s"}, {"m/s", 1.0 / 60, 0, "m/min"}, {"m/s", 1 / 3.6, 0, "km/h kph kmh"},
		{"m/s", foot, 0, "ft/s fps"}, {"m/s", foot / 60, 0, "ft/min fpm"}, {"m/s", 5280 * foot / 3600, 0, "mph"}, {"m/s", is("kn"), 0, "kn kt kts knot knots knoten nudos nudo nœuds noeuds"},
		{grams, 1, 0, "g gram grams gramm"}, {grams, 1e3, 0, "kg kilo kilos kilogram kilograms"}, {grams, 1e3 * is("lb"), 0, "lb lbs pound pounds"}, {grams, ounce, 0, "oz ounce ounces"},
		{newtons, 1, 0, "N newton newtons"}, {newtons, is("kgf"), 0, "kgf kp"}, {newtons, is("kgf") / 1e3, 0, "gf"}, {newtons, is("lbf"), 0, "lbf"}, {newtons, is("lbf") / 16, 0, "ozf"},
		{"Ω", 1, 0, "Ω Ω ohm ohms"}, {"Ω", 1e-3, 0, "mΩ mΩ mohm mohms milliohm milliohms"}, {"Ω", 1e3, 0, "kΩ kΩ kohm kohms"}, {"Ω", 1e6, 0, "MΩ MΩ Mohm Mohms megohm megohms"},
		{"°C", 1, 0, "°C ℃ C degC celsius"}, {"°C", is("°F"), -known.Find("°F").Offset, "°F ℉ F degF fahrenheit"}, {"°C", 1, -273.15, "K kelvin"},
		{"psu", 1, 0, "psu PSU ppt ‰ g/kg PSS"}, {clockOfDay, 1, 0, "hh:mm hh:mm:ss h:mm clock"}, {elapsedText, 1, 0, "mm:ss m:ss min:sec min:s"},
	}
}

// units are the units by their spellings, and by those in lower case where
// that means one thing.
var units = sync.OnceValues(func() (exact, folded map[string]unit) {
	exact, folded = map[string]unit{}, map[string]unit{}
	several := map[string]bool{}
	for _, row := range unitTable() {
		for s := range strings.FieldsSeq(row.words) {
			u := unit{row.dimension, row.times, row.plus, strings.Fields(row.words)[0]}
			o, again := folded[strings.ToLower(s)]
			exact[s], folded[strings.ToLower(s)] = u, u
			several[strings.ToLower(s)] = several[strings.ToLower(s)] || again && o != u
		}
	}
	maps.DeleteFunc(folded, func(s string, _ unit) bool { return several[s] })
	return exact, folded
})

// findUnit is the unit of a spelling; case counts where it must, as between
// mΩ and MΩ.
func findUnit(s string) (unit, bool) {
	s = strings.Join(strings.Fields(strings.TrimSuffix(strings.TrimSpace(s), ".")), "")
	exact, folded := units()
	u, ok := exact[s]
	if !ok {
		u, ok = folded[strings.ToLower(s)]
	}
	return u, ok
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
	u, _ := findUnit(c.Unit)
	if c.Quantity == "clock" {
		return clockOfDay
	}
	return u.dimension
}

// to is what turns a number in unit u into column c's: times and then plus.
func (u unit) to(c *session.Column) (times, plus float64) {
	column, _ := findUnit(c.Unit)
	times = u.times / column.times
	return rounded(times, 12), rounded(u.plus*times-column.plus, 12)
}

// InUnit is a number in a unit, by any of its spellings, as a cell of a column;
// ok is false where the two do not go together. same says that the column is in
// that unit.
func InUnit(number, spelling string, c *session.Column) (cell string, same, ok bool) {
	u, known := findUnit(spelling)
	u, fits := u.fits(c)
	if !known || !fits || c.Unit == "" {
		return "", false, false
	}
	times, plus := u.to(c)
	return converted(number, times, plus), times == 1 && plus == 0, true
}

// IsUnit says whether a word is the spelling of a unit.
func IsUnit(word string) bool { _, ok := findUnit(word); return ok }
