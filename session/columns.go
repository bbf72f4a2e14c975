package session

import (
	"reflect"
	"strings"
)

// cell is one cell's text, kept as written until its column judges it.
type cell struct{ text string }

// UnmarshalCSV keeps the text; it never fails and never guesses.
func (c *cell) UnmarshalCSV(s string) error { c.text = s; return nil }

// record is the table of columns: reading, writing and help are all driven
// by its fields and their tags. span names the range that a number must lie
// in; ceilings are far above what is plausible since a slipped decimal point
// is for the fit to recognise.
type record struct {
	Dive             cell `csv:"dive" is:"dive" help:"label of the dive; lines of one dive stand together"`
	Date             cell `csv:"date" is:"date" help:"ISO 8601 day, on the first line of a dive"`
	Minute           cell `csv:"minute" is:"minute" unit:"min" span:"0..100000" help:"minutes since the dive began"`
	Time             cell `csv:"time" is:"minute" help:"clock as hh:mm, instead of minute"`
	Thrusters        cell `csv:"thrusters" is:"thrusters" help:"off, or names joined by +, each with astern or down where reversed"`
	Lights           cell `csv:"lights" is:"lights" help:"on or off"`
	Held             cell `csv:"held" is:"held" help:"yes when the vehicle was held still"`
	BatteryV         cell `csv:"battery_v" is:"battery" unit:"V" span:"0..1000" help:"voltage at the battery terminals"`
	CurrentA         cell `csv:"current_a" is:"current" unit:"A" span:"0..5000" help:"battery current"`
	VehicleV         cell `csv:"vehicle_v" is:"vehicle" unit:"V" span:"0..1000" help:"voltage of the power pair at the vehicle"`
	DepthM           cell `csv:"depth_m" is:"depth" unit:"m" span:"0..1000" help:"depth"`
	DepthFt          cell `csv:"depth_ft" is:"depth" unit:"ft" span:"0..3000" help:"depth"`
	TetherOutM       cell `csv:"tether_out_m" is:"tether" unit:"m" span:"0..10000" help:"tether paid out"`
	TetherOutFt      cell `csv:"tether_out_ft" is:"tether" unit:"ft" span:"0..30000" help:"tether paid out"`
	SpeedMS          cell `csv:"speed_m_s" is:"speed" unit:"m/s" span:"0..100" help:"steady speed through the water"`
	SpeedFtS         cell `csv:"speed_ft_s" is:"speed" unit:"ft/s" span:"0..300" help:"steady speed through the water"`
	SpeedKn          cell `csv:"speed_kn" is:"speed" unit:"kn" span:"0..200" help:"steady speed through the water"`
	RunM             cell `csv:"run_m" is:"run" unit:"m" span:"0.01..10000" help:"length of a timed run"`
	RunFt            cell `csv:"run_ft" is:"run" unit:"ft" span:"0.01..30000" help:"length of a timed run"`
	RunS             cell `csv:"run_s" is:"run time" unit:"s" span:"0.01..100000" help:"time of the run"`
	RunBackS         cell `csv:"run_back_s" is:"run back" unit:"s" span:"0.01..100000" help:"time of the same run the other way"`
	ClimbMS          cell `csv:"climb_m_s" is:"climb" unit:"m/s" span:"-100..100" help:"steady vertical speed, + up"`
	ClimbFtS         cell `csv:"climb_ft_s" is:"climb" unit:"ft/s" span:"-300..300" help:"steady vertical speed, + up"`
	ClimbM           cell `csv:"climb_m" is:"climbed" unit:"m" span:"-1000..1000" help:"height climbed, + up"`
	ClimbFt          cell `csv:"climb_ft" is:"climbed" unit:"ft" span:"-3000..3000" help:"height climbed, + up"`
	ClimbS           cell `csv:"climb_s" is:"climb time" unit:"s" span:"0.01..100000" help:"time of the climb"`
	TrimG            cell `csv:"trim_g" is:"trim" unit:"g" span:"-1000000..1000000" help:"weight in water that brings the vehicle to hover, + when it floats"`
	TrimOz           cell `csv:"trim_oz" is:"trim" unit:"oz" span:"-40000..40000" help:"weight in water that brings the vehicle to hover, + when it floats"`
	PullN            cell `csv:"pull_n" is:"pull" unit:"N" span:"0..100000" help:"static pull of a held vehicle"`
	PullKgf          cell `csv:"pull_kgf" is:"pull" unit:"kgf" span:"0..10000" help:"static pull of a held vehicle"`
	PullLbf          cell `csv:"pull_lbf" is:"pull" unit:"lbf" span:"0..20000" help:"static pull of a held vehicle"`
	LoopOhm          cell `csv:"loop_ohm" is:"loop" unit:"Ω" span:"0..1000000" help:"ohmmeter across the power pair, vehicle end shorted"`
	InsulationMegohm cell `csv:"insulation_megohm" is:"insulation" unit:"MΩ" span:"0..1000000" help:"power pair to water"`
	WaterC           cell `csv:"water_c" is:"water" unit:"°C" span:"-3..45" help:"water temperature, carried forward"`
	WaterF           cell `csv:"water_f" is:"water" unit:"°F" span:"26..113" help:"water temperature, carried forward"`
	SalinityPSU      cell `csv:"salinity_psu" is:"salinity" unit:"psu" span:"0..45" help:"salinity, carried forward; 0 where never given"`
	BallastG         cell `csv:"ballast_g" is:"ballast" unit:"g" span:"-1000000..1000000" help:"dry mass added or taken off just before this line"`
	BallastOz        cell `csv:"ballast_oz" is:"ballast" unit:"oz" span:"-40000..40000" help:"dry mass added or taken off just before this line"`
	Serviced         cell `csv:"serviced" is:"serviced" help:"parts worked on just before this line, joined by +"`
	Note             cell `csv:"note" is:"note" help:"free text"`
}

// A Column is one column of dives.csv. Columns with the same Quantity stand
// for each other in another unit.
type Column struct {
	Name, Quantity, Unit, Help string
	Lowest, Highest            float64 // in Unit; both 0 for text

	field          int
	factor, offset float64
}

// factors turn a unit into the base unit of its quantity: the international
// foot, nautical mile and avoirdupois pound and standard gravity, NIST SP 811
// appendix B.
var factors = map[string]float64{
	"ft": 0.3048, "ft/s": 0.3048, "kn": 1852.0 / 3600, "oz": 28.349523125, "kgf": 9.80665,
	"lbf": 4.4482216152605, "°F": 5.0 / 9,
}

// ToBase turns a number in the column's unit into the base unit.
func (c *Column) ToBase(x float64) float64 { return (x - c.offset) * c.factor }

// FromBase turns a base unit into the column's.
func (c *Column) FromBase(x float64) float64 { return x/c.factor + c.offset }

// Express is what would have been written in v's cell had its value been x.
func (v Value) Express(x float64) float64 {
	if v.Column == nil {
		return x
	}
	if v.Run != 0 {
		return v.Run / x
	}
	return v.Column.FromBase(x)
}

var columns = readTable()

// Columns is the table of all columns, in the order they are written.
func Columns() []*Column { return columns }

// Find is the column of a name.
func Find(name string) (*Column, bool) {
	for _, c := range columns {
		if c.Name == name {
			return c, true
		}
	}
	return nil, false
}

func readTable() []*Column {
	t := reflect.TypeFor[record]()
	var out []*Column
	for i := range t.NumField() {
		tag := t.Field(i).Tag
		c := &Column{Name: tag.Get("csv"), Quantity: tag.Get("is"), Unit: tag.Get("unit"), Help: tag.Get("help"), field: i, factor: 1}
		if f, ok := factors[c.Unit]; ok {
			c.factor = f
		}
		if c.Unit == "°F" {
			c.offset = 32
		}
		if lo, hi, ok := strings.Cut(tag.Get("span"), ".."); ok {
			c.Lowest, c.Highest = mustFloat(lo), mustFloat(hi)
		}
		out = append(out, c)
	}
	return out
}
