package main

import (
	"fmt"
	"math"

	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A reading is impossible for the vehicle of the file if it is surprising and off by more than
// farShare of the expected value; a depth or length paid out, if it exceeds pastCable lengths of the
// tether. Common practice, no source: units of the same quantity differ by more.
const (
	farShare  = 0.25
	pastCable = 1.2
)

// judge returns a function that reports, by column, which readings of a row are impossible in size.
func judge(v *vehicle.Vehicle) func(session.Row) (far map[string]bool) {
	f := forecast.AsBuilt(v)
	expected := map[string][]forecast.Expected{} // by circumstances
	return func(row session.Row) map[string]bool {
		lines, _ := session.ParseRows(row)
		if len(lines) == 0 {
			return nil
		}
		l, far := &lines[0], map[string]bool{}
		for _, x := range []session.Value{l.Depth, l.TetherOut} {
			if x.Measured() {
				far[x.Column.Name] = x.X > pastCable*v.Tether.LengthM
			}
		}
		key := fmt.Sprint(l.Electrical, l.Lights, l.Held, l.Drives)
		if _, ok := expected[key]; !ok && l.Electrical {
			expected[key], _ = f.Line(l)
		}
		for _, e := range expected[key] {
			if x := l.Readings[e.Quantity]; x.Measured() {
				far[x.Column.Name] = e.Surprising(x.X) && math.Abs(x.X-e.Value) > farShare*math.Abs(e.Value)
			}
		}
		return far
	}
}
