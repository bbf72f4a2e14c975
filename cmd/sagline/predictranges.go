package main

import (
	"fmt"
	"io"
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// span is a 95 % range.
type span struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// numbers are a point's, by their name in JSON, each with what it is a reading
// of; quantity.Count: of nothing.
func (p *point) numbers() (names []string, of []quantity.Quantity, values []float64) {
	add := func(name string, q quantity.Quantity, x *float64) {
		if x != nil {
			names, of, values = append(names, name), append(of, q), append(values, *x)
		}
	}
	lost := p.PowerW.Tether + p.PowerW.Joints
	add("battery_v", quantity.BatteryV, &p.BatteryV)
	add("current_a", quantity.CurrentA, &p.CurrentA)
	add("vehicle_v", quantity.VehicleV, &p.VehicleV)
	add("speed_m_s", quantity.Speed, p.SpeedMS)
	add("climb_m_s", quantity.Climb, p.ClimbMS)
	add("pull_n", quantity.Pull, p.PullN)
	add("trim_g", quantity.Trim, &p.TrimG)
	add(lostName, quantity.Count, &lost)
	return names, of, values
}

// lostName is what the tether and its joints lose, W.
const lostName = "tether_lost_w"

// rangeOf fills in the 95 % ranges of a point's numbers.
func (p *point) rangeOf(f *fit.Forecast, m *predict.Model, c *predict.Condition, fixed map[int]float64) {
	names, of, values := p.numbers()
	ranges := f.Readings(values, of, fixed, func(params predict.Params) []float64 {
		drawn := solvePoint(m, c, params)
		_, _, values := drawn.numbers()
		return values
	})
	p.Range = map[string]span{}
	for i, name := range names {
		if p.Range[name] = (span{ranges[i].Low, ranges[i].High}); slices.Contains([]string{"current_a", "pull_n", lostName}, name) {
			p.Range[name] = span{max(ranges[i].Low, 0), ranges[i].High} // no meter's zero reads as less than nothing
		}
	}
}

// fixedBy are the parameters that a question fixes: no minutes gone, and the
// battery's voltage at rest where it is asked for.
func fixedBy(openV float64) map[int]float64 {
	out := map[int]float64{predict.SagVPerMinute: 0}
	if openV > 0 {
		out[predict.OpenCircuitV] = openV
	}
	return out
}

// printNarrowing says which one measurement would narrow the predictions of a
// vehicle before its first dive most.
func printNarrowing(w io.Writer, v *vehicle.Vehicle, c predict.Condition) {
	var conditions []predict.Condition
	for _, d := range predict.NewModel(v).Combinations() {
		c.Sign = d
		c.Held = true
		conditions = append(conditions, c)
		c.Held = false
		conditions = append(conditions, c)
	}
	narrow := fit.Narrowings(v, conditions)
	if len(narrow) == 0 || narrow[0].Share < worthMeasuring {
		return
	}
	row := v.Describe(narrow[0].Path)
	fmt.Fprintf(w, "\nWhat would narrow this most, by about %.0f %%: %s, %s.\nTo find out: %s.\n", 100*(1-math.Sqrt(1-narrow[0].Share)), narrow[0].Path, row.Is, row.FindOut)
}

// worthMeasuring is the share of the doubt in the first readings below which no
// single measurement is named; common practice, no source.
const worthMeasuring = 0.05
