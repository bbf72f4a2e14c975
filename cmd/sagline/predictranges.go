package main

import (
	"fmt"
	"io"
	"math"

	"sagline/predict"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// span is a 95 % range.
type span struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// A pointNumber describes one number of a point for the ranges and the table.
type pointNumber struct {
	name       string            // in JSON
	of         quantity.Quantity // whose reading it is; quantity.Count if it is no reading
	positive   bool              // a range does not reach below 0, even if a meter's zero may
	head, unit string
	decimals   int
	value      func(p *point) *float64 // nil where nothing is known
}

var pointNumbers = []pointNumber{
	{"battery_v", quantity.BatteryV, false, "battery", "V", 2, func(p *point) *float64 { return &p.BatteryV }},
	{"current_a", quantity.CurrentA, true, "current", "A", 1, func(p *point) *float64 { return &p.CurrentA }},
	{"vehicle_v", quantity.VehicleV, false, "vehicle", "V", 2, func(p *point) *float64 { return &p.VehicleV }},
	{"speed_m_s", quantity.Speed, false, "speed", "m/s", 2, func(p *point) *float64 { return p.SpeedMS }},
	{"climb_m_s", quantity.Climb, false, "climb", "m/s", 2, func(p *point) *float64 { return p.ClimbMS }},
	{"pull_n", quantity.Pull, true, "pull", "N", 1, func(p *point) *float64 { return p.PullN }},
	{"trim_g", quantity.Trim, false, "trim", "g", 0, func(p *point) *float64 { return &p.TrimG }},
	{"tether_lost_w", quantity.Count, true, "tether", "W lost", 0, func(p *point) *float64 { return new(p.PowerW.Tether + p.PowerW.Joints) }},
}

// known returns the numbers of a point that are known, what they are readings of, and their values.
func (p *point) known() (numbers []*pointNumber, of []quantity.Quantity, values []float64) {
	for i := range pointNumbers {
		if n := &pointNumbers[i]; n.value(p) != nil {
			numbers, of, values = append(numbers, n), append(of, n.of), append(values, *n.value(p))
		}
	}
	return numbers, of, values
}

// rangeOf fills in the 95 % ranges of a point's numbers.
func (p *point) rangeOf(f *forecast.Forecast, m *predict.Model, c *predict.Condition, fixed map[int]float64) {
	numbers, of, values := p.known()
	ranges := f.Readings(values, of, fixed, func(params predict.Params) []float64 {
		drawn := solvePoint(m, c, params)
		_, _, values := drawn.known()
		return values
	})
	p.Range = map[string]span{}
	for i, n := range numbers {
		low := ranges[i].Low
		if n.positive {
			low = max(low, 0)
		}
		p.Range[n.name] = span{low, ranges[i].High}
	}
}

// printNarrowing prints which measurement would narrow most the predictions for a vehicle without
// dives, and the next best, since not everyone has the instrument.
func printNarrowing(w io.Writer, v *vehicle.Vehicle, c predict.Condition) {
	var conditions []predict.Condition
	for _, c.Sign = range predict.NewModel(v).Combinations() {
		for _, c.Held = range []bool{true, false} {
			conditions = append(conditions, c)
		}
	}
	narrow := forecast.Narrowings(v, conditions)
	for i, head := range []string{"What would narrow this most", "Without that, next"} {
		if i >= len(narrow) || narrow[i].Share < worthMeasuring {
			return
		}
		row := v.Describe(narrow[i].Path)
		fmt.Fprintf(w, "\n%s, by about %.0f %%: %s, %s.\nTo find out: %s.\n", head, 100*(1-math.Sqrt(1-narrow[i].Share)), narrow[i].Path, row.Is, row.FindOut)
	}
}

// worthMeasuring is the share of the first readings' variance below which a single measurement is
// not named; common practice, no source.
const worthMeasuring = 0.05
