package session

import (
	"slices"

	"sagline/session/quantity"
	"sagline/session/units"
)

// A Column is one column of dives.csv. Columns with the same Quantity stand
// for each other in another unit.
type Column struct {
	Name, Quantity, Unit, Help string  // Unit is "" where the cells are text
	Lowest, Highest            float64 // of what a cell may hold, in Unit
	Once                       bool    // asked for before a dive's first line only

	place   int // in the table
	reads   bool
	reading quantity.Quantity // where it is what an instrument reads
	in      units.Unit
}

// columnTable is the table of columns: reading, writing and help are all driven by its
// rows. The first column of a quantity says in which range a number must lie, in
// its unit, which is the base unit; the other columns of the quantity have the same
// range in theirs. What an instrument reads has a ceiling far above what is
// plausible, since a slipped decimal point is for the fit to recognise. The order
// is that in which they are asked for and stand in a file; Once says which are
// asked for once, before a dive's first line.
var columnTable = []*Column{
	{Name: "dive", Quantity: "dive", Help: "label of the dive; lines of one dive stand together"},
	{Name: "date", Quantity: "date", Help: "ISO 8601 day, on the first line of a dive"},
	{Name: "battery", Quantity: "battery", Once: true, Help: "label of the battery used, on the first line of a dive; empty: the one before"},
	{Name: "serviced", Quantity: "serviced", Once: true, Help: "parts worked on just before this line, joined by +"},
	{Name: "ballast_g", Quantity: "ballast", Unit: "g", Lowest: -1000000, Highest: 1000000, Once: true, Help: "dry mass added or taken off just before this line"},
	{Name: "ballast_oz", Quantity: "ballast", Unit: "oz", Once: true, Help: "dry mass added or taken off just before this line"},
	{Name: "water_c", Quantity: "water", Unit: "°C", Lowest: -3, Highest: 45, Once: true, Help: "water temperature, carried forward"},
	{Name: "water_f", Quantity: "water", Unit: "°F", Once: true, Help: "water temperature, carried forward"},
	{Name: "salinity_psu", Quantity: "salinity", Unit: "psu", Lowest: 0, Highest: 45, Once: true, Help: "salinity, carried forward; 0 where never given"},
	{Name: "minute", Quantity: "minute", Unit: "min", Lowest: 0, Highest: 100000, Help: "minutes since the dive began"},
	{Name: "time", Quantity: "clock", Help: "clock as hh:mm, instead of minute"},
	{Name: "thrusters", Quantity: "thrusters", Help: "off, or names joined by +, each with astern or down where reversed"},
	{Name: "lights", Quantity: "lights", Help: "on or off"},
	{Name: "held", Quantity: "held", Help: "yes when the vehicle was held still"},
	{Name: "depth_m", Quantity: "depth", Unit: "m", Lowest: 0, Highest: 1000, Help: "depth"},
	{Name: "depth_ft", Quantity: "depth", Unit: "ft", Help: "depth"},
	{Name: "tether_out_m", Quantity: "tether", Unit: "m", Lowest: 0, Highest: 10000, Help: "tether paid out"},
	{Name: "tether_out_ft", Quantity: "tether", Unit: "ft", Help: "tether paid out"},
	{Name: "battery_v", Quantity: "battery_v", Unit: "V", Lowest: 0, Highest: 1000, Help: "voltage at the battery terminals"},
	{Name: "current_a", Quantity: "current_a", Unit: "A", Lowest: 0, Highest: 5000, Help: "battery current"},
	{Name: "vehicle_v", Quantity: "vehicle_v", Unit: "V", Lowest: 0, Highest: 1000, Help: "voltage of the power pair at the vehicle"},
	{Name: "run_m", Quantity: "run", Unit: "m", Lowest: 0.01, Highest: 10000, Help: "length of a timed run"},
	{Name: "run_ft", Quantity: "run", Unit: "ft", Help: "length of a timed run"},
	{Name: "run_s", Quantity: "run time", Unit: "s", Lowest: 0.01, Highest: 100000, Help: "time of the run"},
	{Name: "run_back_s", Quantity: "run back", Unit: "s", Lowest: 0.01, Highest: 100000, Help: "time of the same run the other way"},
	{Name: "speed_m_s", Quantity: "speed_m_s", Unit: "m/s", Lowest: 0, Highest: 100, Help: "steady speed through the water"},
	{Name: "speed_ft_s", Quantity: "speed_m_s", Unit: "ft/s", Help: "steady speed through the water"},
	{Name: "speed_kn", Quantity: "speed_m_s", Unit: "kn", Help: "steady speed through the water"},
	{Name: "climb_m", Quantity: "climbed", Unit: "m", Lowest: -1000, Highest: 1000, Help: "height climbed, + up"},
	{Name: "climb_ft", Quantity: "climbed", Unit: "ft", Help: "height climbed, + up"},
	{Name: "climb_s", Quantity: "climb time", Unit: "s", Lowest: 0.01, Highest: 100000, Help: "time of the climb"},
	{Name: "climb_m_s", Quantity: "climb_m_s", Unit: "m/s", Lowest: -100, Highest: 100, Help: "steady vertical speed, + up"},
	{Name: "climb_ft_s", Quantity: "climb_m_s", Unit: "ft/s", Help: "steady vertical speed, + up"},
	{Name: "trim_g", Quantity: "trim_g", Unit: "g", Lowest: -1000000, Highest: 1000000, Help: "weight in water that brings the vehicle to hover, + when it floats"},
	{Name: "trim_oz", Quantity: "trim_g", Unit: "oz", Help: "weight in water that brings the vehicle to hover, + when it floats"},
	{Name: "pull_n", Quantity: "pull_n", Unit: "N", Lowest: 0, Highest: 100000, Help: "static pull of a held vehicle"},
	{Name: "pull_kgf", Quantity: "pull_n", Unit: "kgf", Help: "static pull of a held vehicle"},
	{Name: "pull_lbf", Quantity: "pull_n", Unit: "lbf", Help: "static pull of a held vehicle"},
	{Name: "loop_ohm", Quantity: "loop_ohm", Unit: "Ω", Lowest: 0, Highest: 1000000, Help: "ohmmeter across the power pair, vehicle end shorted"},
	{Name: "insulation_megohm", Quantity: "insulation_megohm", Unit: "MΩ", Lowest: 0, Highest: 1000000, Help: "power pair to water"},
	{Name: "note", Quantity: "note", Help: "free text"},
}

var (
	columns = completed(columnTable)
	byName  = make(map[string]*Column, len(columns))
	names   = make([]string, len(columns))
)

func init() {
	for i, c := range columns {
		byName[c.Name], names[i] = c, c.Name
	}
}

// completed are rows of the table with what follows from others.
func completed(rows []*Column) []*Column {
	base := map[string]*Column{} // the first column of each quantity
	for i, c := range rows {
		c.place, c.in = i, units.Find(c.Unit)
		c.reading, c.reads = readingOf(c.Quantity)
		if first, ok := base[c.Quantity]; ok {
			c.Lowest, c.Highest = c.FromBase(first.Lowest), c.FromBase(first.Highest)
		} else {
			base[c.Quantity] = c
		}
	}
	return rows
}

// Columns is the table of all columns, in the order they are written.
func Columns() []*Column { return slices.Clone(columns) }

// ColumnNames are the names of all columns, in that order.
func ColumnNames() []string { return slices.Clone(names) }

// Find is the column of a name.
func Find(name string) (*Column, bool) {
	c, ok := byName[name]
	return c, ok
}

// ColumnIn is a quantity's column in a system of units, its first where none is;
// nil for no quantity.
func ColumnIn(quantity string, s units.System) (first *Column) {
	for _, c := range columns {
		switch {
		case c.Quantity != quantity:
		case first == nil:
			first = c
		case c.Unit == s.In(first.Unit).Name:
			return c
		}
	}
	return first
}

// QuantityOf is the reading that a column's name stands for; false for a
// column that is not a reading of its own.
func QuantityOf(column string) (quantity.Quantity, bool) {
	c, ok := Find(column)
	if !ok {
		return 0, false
	}
	return c.reading, c.reads
}

// readingOf is the reading that a quantity of the table of columns is: those
// are named after their first column.
func readingOf(name string) (quantity.Quantity, bool) {
	for q := range quantity.Count {
		if q.String() == name {
			return q, true
		}
	}
	return 0, false
}

// ToBase turns a number in the column's unit into the base unit.
func (c *Column) ToBase(x float64) float64 { return c.in.ToBase(x) }

// FromBase turns a number in the base unit into the column's.
func (c *Column) FromBase(x float64) float64 { return c.in.FromBase(x) }

// timed says whether the column holds the seconds of a timed run or climb.
func (c *Column) timed() bool { return c.Quantity == "run time" || c.Quantity == "climb time" }
