package session

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sagline/session/quantity"
	"sagline/session/units"
)

// csvLine is both the table of columns and one line as written: reading, writing and help follow
// from its fields and their tags. Columns are asked for and written in this order. span is the
// allowed range in the unit of the quantity's first column, which is its base unit; the quantity's
// other columns have the same range, converted. Ranges reach far above plausible readings, since
// the fit recognises a slipped decimal point. Columns with asked:"once" are asked for only before
// a dive's first line.
type csvLine struct {
	Dive             string `csv:"dive" quantity:"dive" help:"label of the dive; lines of one dive stand together"`
	Date             string `csv:"date" quantity:"date" help:"ISO 8601 day, on the first line of a dive; empty: not known"`
	Battery          string `csv:"battery" quantity:"battery" asked:"once" help:"label of the battery used, on the first line of a dive; empty: the one before"`
	Serviced         string `csv:"serviced" quantity:"serviced" asked:"once" help:"parts worked on just before this line, joined by +"`
	BallastG         string `csv:"ballast_g" quantity:"ballast" unit:"g" span:"-1000000..1000000" asked:"once" help:"dry mass added or taken off just before this line"`
	BallastOz        string `csv:"ballast_oz" quantity:"ballast" unit:"oz" asked:"once" help:"dry mass added or taken off just before this line"`
	WaterC           string `csv:"water_c" quantity:"water" unit:"°C" span:"-3..45" asked:"once" help:"water temperature, carried forward"`
	WaterF           string `csv:"water_f" quantity:"water" unit:"°F" asked:"once" help:"water temperature, carried forward"`
	SalinityPSU      string `csv:"salinity_psu" quantity:"salinity" unit:"psu" span:"0..45" asked:"once" help:"salinity, carried forward; 0 where never given"`
	Minute           string `csv:"minute" quantity:"minute" unit:"min" span:"0..100000" help:"minutes since the dive began"`
	Time             string `csv:"time" quantity:"clock" help:"clock as hh:mm, instead of minute"`
	Thrusters        string `csv:"thrusters" quantity:"thrusters" help:"off, or names joined by +, each with astern or down where reversed"`
	Lights           string `csv:"lights" quantity:"lights" help:"on or off"`
	Held             string `csv:"held" quantity:"held" help:"yes when the vehicle was held still"`
	DepthM           string `csv:"depth_m" quantity:"depth" unit:"m" span:"0..1000" help:"depth"`
	DepthFt          string `csv:"depth_ft" quantity:"depth" unit:"ft" help:"depth"`
	TetherOutM       string `csv:"tether_out_m" quantity:"tether" unit:"m" span:"0..10000" help:"tether paid out"`
	TetherOutFt      string `csv:"tether_out_ft" quantity:"tether" unit:"ft" help:"tether paid out"`
	BatteryV         string `csv:"battery_v" quantity:"battery_v" unit:"V" span:"0..1000" help:"voltage at the battery terminals"`
	CurrentA         string `csv:"current_a" quantity:"current_a" unit:"A" span:"-2..5000" help:"battery current"`
	VehicleV         string `csv:"vehicle_v" quantity:"vehicle_v" unit:"V" span:"0..1000" help:"voltage of the power pair at the vehicle"`
	RunM             string `csv:"run_m" quantity:"run" unit:"m" span:"0.01..10000" help:"length of a timed run"`
	RunFt            string `csv:"run_ft" quantity:"run" unit:"ft" help:"length of a timed run"`
	RunS             string `csv:"run_s" quantity:"run time" unit:"s" span:"0.01..100000" help:"time of the run"`
	RunBackS         string `csv:"run_back_s" quantity:"run back" unit:"s" span:"0.01..100000" help:"time of the same run the other way"`
	SpeedMS          string `csv:"speed_m_s" quantity:"speed_m_s" unit:"m/s" span:"0..100" help:"steady speed through the water"`
	SpeedFtS         string `csv:"speed_ft_s" quantity:"speed_m_s" unit:"ft/s" help:"steady speed through the water"`
	SpeedKn          string `csv:"speed_kn" quantity:"speed_m_s" unit:"kn" help:"steady speed through the water"`
	ClimbM           string `csv:"climb_m" quantity:"climbed" unit:"m" span:"-1000..1000" help:"height climbed, + up"`
	ClimbFt          string `csv:"climb_ft" quantity:"climbed" unit:"ft" help:"height climbed, + up"`
	ClimbS           string `csv:"climb_s" quantity:"climb time" unit:"s" span:"0.01..100000" help:"time of the climb"`
	ClimbMS          string `csv:"climb_m_s" quantity:"climb_m_s" unit:"m/s" span:"-100..100" help:"steady vertical speed, + up"`
	ClimbFtS         string `csv:"climb_ft_s" quantity:"climb_m_s" unit:"ft/s" help:"steady vertical speed, + up"`
	TrimG            string `csv:"trim_g" quantity:"trim_g" unit:"g" span:"-1000000..1000000" help:"weight in water that brings the vehicle to hover, + when it floats"`
	TrimOz           string `csv:"trim_oz" quantity:"trim_g" unit:"oz" help:"weight in water that brings the vehicle to hover, + when it floats"`
	PullN            string `csv:"pull_n" quantity:"pull_n" unit:"N" span:"-5..100000" help:"static pull of a held vehicle"`
	PullKgf          string `csv:"pull_kgf" quantity:"pull_n" unit:"kgf" help:"static pull of a held vehicle"`
	PullLbf          string `csv:"pull_lbf" quantity:"pull_n" unit:"lbf" help:"static pull of a held vehicle"`
	LoopOhm          string `csv:"loop_ohm" quantity:"loop_ohm" unit:"Ω" span:"0..1000000" help:"ohmmeter across the power pair, vehicle end shorted"`
	InsulationMegohm string `csv:"insulation_megohm" quantity:"insulation_megohm" unit:"MΩ" span:"0..1000000" help:"power pair to water"`
	Note             string `csv:"note" quantity:"note" help:"free text"`
}

// A Column is one column of dives.csv. Columns with the same Quantity hold it in different units.
type Column struct {
	Name, Quantity, Unit, Help string  // Unit is "" where the cells are text
	Lowest, Highest            float64 // allowed range of a cell, in Unit
	Once                       bool    // asked for only before a dive's first line

	field   int // index in csvLine
	reads   bool
	reading quantity.Quantity // valid if reads is true: what an instrument reads
	in      units.Unit
}

var (
	columns = readTable()
	byName  = make(map[string]*Column, len(columns))
	names   = make([]string, len(columns))
)

func init() {
	for i, c := range columns {
		byName[c.Name], names[i] = c, c.Name
	}
}

// Columns returns the table of all columns, in the order in which they are written.
func Columns() []*Column { return slices.Clone(columns) }

// ColumnNames returns the names of all columns, in the order of Columns.
func ColumnNames() []string { return slices.Clone(names) }

// Named returns the column of that name, nil if there is none.
func Named(name string) *Column { return byName[name] }

// Find returns the column of that name.
func Find(name string) (*Column, bool) {
	c, ok := byName[name]
	return c, ok
}

// OwnColumn returns a text column that is not in the table but belongs to one log, such as the
// weather. It is asked for once a dive.
func OwnColumn(name string) *Column {
	return &Column{Name: name, Quantity: name, Help: "a column of this log's own", Once: true}
}

// ColumnIn returns a quantity's column in a system of units, or its first column if the system has
// none. It returns nil for an unknown quantity.
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

// QuantityOf returns the reading that the named column holds. ok is false if the column does not
// hold a reading by itself.
func QuantityOf(column string) (quantity.Quantity, bool) {
	c, ok := Find(column)
	if !ok {
		return 0, false
	}
	return c.reading, c.reads
}

// Reads returns the quantity that the column measures. Unlike QuantityOf it counts the seconds of a
// timed run as a speed and those of a timed climb as a climb.
func (c *Column) Reads() (quantity.Quantity, bool) {
	switch c.Quantity {
	case "run time", "run back":
		return quantity.Speed, true
	case "climb time":
		return quantity.Climb, true
	}
	return c.reading, c.reads
}

// ToBase converts a number from the column's unit to the base unit.
func (c *Column) ToBase(x float64) float64 { return c.in.ToBase(x) }

// FromBase converts a number from the base unit to the column's unit.
func (c *Column) FromBase(x float64) float64 { return c.in.FromBase(x) }

// timed reports whether the column holds the seconds of a timed run (way out) or climb.
func (c *Column) timed() bool { return c.Quantity == "run time" || c.Quantity == "climb time" }

// Stem returns the column's name without its unit.
func (c *Column) Stem() string {
	i := strings.IndexByte(c.Name, '_')
	if i < 0 {
		return c.Name
	}
	if strings.HasPrefix(c.Name, "tether_out") || strings.HasPrefix(c.Name, "run_back") {
		i += 1 + strings.IndexByte(c.Name[i+1:], '_')
	}
	return c.Name[:i]
}

func readTable() []*Column {
	t := reflect.TypeFor[csvLine]()
	out := make([]*Column, t.NumField())
	base := map[string]*Column{} // the first column of each quantity
	for i := range out {
		tag := t.Field(i).Tag
		c := &Column{Name: tag.Get("csv"), Quantity: tag.Get("quantity"), Unit: tag.Get("unit"), Help: tag.Get("help"), Once: tag.Get("asked") == "once", field: i}
		c.in = units.Find(c.Unit)
		for q := range quantity.Count {
			if q.String() == c.Quantity { // readings are named after their first column
				c.reading, c.reads = q, true
			}
		}
		if first, ok := base[c.Quantity]; ok {
			c.Lowest, c.Highest = c.FromBase(first.Lowest), c.FromBase(first.Highest)
		} else if c.Unit != "" {
			c.Lowest, c.Highest = span(tag.Get("span"))
			base[c.Quantity] = c
		}
		out[i] = c
	}
	return out
}

// span parses "lowest..highest". Any other tag is a mistake in the table and panics at program
// start.
func span(tag string) (lowest, highest float64) {
	lo, hi, _ := strings.Cut(tag, "..")
	lowest, err := strconv.ParseFloat(lo, 64)
	if err == nil {
		highest, err = strconv.ParseFloat(hi, 64)
	}
	if err != nil {
		panic("session: span " + strconv.Quote(tag))
	}
	return lowest, highest
}
