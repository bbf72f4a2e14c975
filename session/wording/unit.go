package wording

import (
	"cmp"
	"maps"
	"strings"
	"sync"

	"sagline/session"
	known "sagline/session/units"
)

// A Unit is how numbers are written: SI = (x + Plus)·Times.
type Unit struct {
	Dimension   string // its SI unit
	Times, Plus float64
	Name        string // its first spelling
}

// Dimensions that are asked for, as their SI units or as clocks are written.
const (
	Seconds    = "s"
	grams      = "g"
	newtons    = "N"
	ClockOfDay = "hh:mm"
	Elapsed    = "mm:ss"
)

// A spelling is how a unit is written, in words set apart by blanks.
type spelling struct {
	dimension   string
	times, plus float64
	words       string
}

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
		{Seconds, 1, 0, "s sec secs second seconds sek sekunden seg segundos secondes"}, {Seconds, 1e-3, 0, "ms msec millisecond milliseconds"},
		{Seconds, 60, 0, "min mins minute minutes minuten"}, {Seconds, 3600, 0, "h hr hrs hour hours stunden"},
		{"m/s", 1, 0, "m/s mps"}, {"m/s", 1e-2, 0, "cm/s"}, {"m/s", 1.0 / 60, 0, "m/min"}, {"m/s", 1 / 3.6, 0, "km/h kph kmh"},
		{"m/s", foot, 0, "ft/s fps"}, {"m/s", foot / 60, 0, "ft/min fpm"}, {"m/s", 5280 * foot / 3600, 0, "mph"}, {"m/s", is("kn"), 0, "kn kt kts knot knots knoten nudos nudo nœuds noeuds"},
		{grams, 1, 0, "g gram grams gramm"}, {grams, 1e3, 0, "kg kilo kilos kilogram kilograms"}, {grams, 1e3 * is("lb"), 0, "lb lbs pound pounds"}, {grams, ounce, 0, "oz ounce ounces"},
		{newtons, 1, 0, "N newton newtons"}, {newtons, is("kgf"), 0, "kgf kp"}, {newtons, is("kgf") / 1e3, 0, "gf"}, {newtons, is("lbf"), 0, "lbf"}, {newtons, is("lbf") / 16, 0, "ozf"},
		{"Ω", 1, 0, "Ω Ω ohm ohms"}, {"Ω", 1e-3, 0, "mΩ mΩ mohm mohms milliohm milliohms"}, {"Ω", 1e3, 0, "kΩ kΩ kohm kohms"}, {"Ω", 1e6, 0, "MΩ MΩ Mohm Mohms megohm megohms"},
		{"°C", 1, 0, "°C ℃ C degC celsius"}, {"°C", is("°F"), -known.Find("°F").Offset, "°F ℉ F degF fahrenheit"}, {"°C", 1, -273.15, "K kelvin"},
		{"psu", 1, 0, "psu PSU ppt ‰ g/kg PSS"}, {ClockOfDay, 1, 0, "hh:mm hh:mm:ss h:mm clock"}, {Elapsed, 1, 0, "mm:ss m:ss min:sec min:s"},
	}
}

// units are the units by their spellings, and by those in lower case where
// that means one thing.
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

// FindUnit is the unit of a spelling; case counts where it must, as between
// mΩ and MΩ.
func FindUnit(s string) (Unit, bool) {
	s = strings.Join(strings.Fields(strings.TrimSuffix(strings.TrimSpace(s), ".")), "")
	exact, folded := units()
	u, ok := exact[s]
	if !ok {
		u, ok = folded[strings.ToLower(s)]
	}
	return u, ok
}

// Into is what turns a number in the unit into a column's: times and then plus.
// A mass that is pulled with is a force. ok is false where they do not go
// together.
func (u Unit) Into(c *session.Column) (times, plus float64, ok bool) {
	column, _ := FindUnit(c.Unit)
	times = u.Times / cmp.Or(column.Times, 1)
	switch want := DimensionOf(c); {
	case u.Dimension == grams && want == newtons:
		times *= known.Find("kgf").Factor / 1e3
	case u.Dimension != want && (c.Quantity != "minute" || u.Dimension != Elapsed):
		return 0, 0, false
	}
	return rounded(times, 12), rounded(u.Plus*times-column.Plus, 12), true
}

// DimensionOf is what a column's numbers measure.
func DimensionOf(c *session.Column) string {
	u, _ := FindUnit(c.Unit)
	if c.Quantity == "clock" {
		return ClockOfDay
	}
	return u.Dimension
}

// InUnit is a number in a unit, by any of its spellings, as a cell of a column;
// ok is false where the two do not go together. same says that the column is in
// that unit.
func InUnit(number, spelling string, c *session.Column) (cell string, same, ok bool) {
	u, known := FindUnit(spelling)
	times, plus, fits := u.Into(c)
	if !known || !fits || c.Unit == "" {
		return "", false, false
	}
	return Converted(number, times, plus), times == 1 && plus == 0, true
}

// IsUnit says whether a word is the spelling of a unit.
func IsUnit(word string) bool { _, ok := FindUnit(word); return ok }
