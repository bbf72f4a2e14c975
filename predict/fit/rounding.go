package fit

import (
	"math"

	"sagline/session"
	"sagline/session/quantity"
)

// steps are those in which each column's numbers were written down: of 12.3, 12.8 and
// 11.9 a tenth, though the instrument may show hundredths.
type steps map[string]float64

// fewestWritten is how many numbers of a column tell a dive's step. Of fewer that of
// the log is taken.
const fewestWritten = 3

// stepsOf are those of whole dives, of columns with enough numbers.
func stepsOf(dives []session.Dive) steps {
	written := map[string][]float64{}
	for i := range dives {
		for j := range dives[i].Lines {
			for q := range quantity.Count {
				if v := &dives[i].Lines[j].Readings[q]; v.Measured() && !q.Log() {
					written[v.Column.Name] = append(written[v.Column.Name], v.Entered)
				}
			}
		}
	}
	out := steps{}
	for column, numbers := range written {
		if len(numbers) >= fewestWritten {
			out[column] = stepOf(numbers)
		}
	}
	return out
}

// ofDive are the log's steps, in a dive those that it shows itself.
func (s steps) ofDive(d *session.Dive) steps {
	out := stepsOf([]session.Dive{*d})
	for column, step := range s {
		if _, ok := out[column]; !ok {
			out[column] = step
		}
	}
	return out
}

// stepOf is the largest of … 0.1, 0.5, 1, 5 … that all numbers are multiples of.
func stepOf(numbers []float64) float64 {
	const finest, coarsest = -3, 4 // powers of ten
	for power := coarsest; power > finest; power-- {
		for _, by := range []float64{0.5, 0.1} {
			step := by * math.Pow10(power)
			if allMultiples(numbers, step) {
				return step
			}
		}
	}
	return 0
}

func allMultiples(numbers []float64, step float64) bool {
	for _, x := range numbers {
		if n := x / step; math.Abs(n-math.Round(n)) > 1e-6 {
			return false
		}
	}
	return true
}

// rounded is one standard deviation of what was rounded off a reading, as it is
// compared: even over its step.
func (s steps) rounded(q quantity.Quantity, v *session.Value) float64 {
	if q.Log() {
		return 0
	}
	unit := 0.0 // in the base unit
	switch {
	case v.Run == 0:
		unit = 1 / (v.Column.FromBase(1) - v.Column.FromBase(0))
	case v.Entered != 0: // seconds
		unit = v.X / v.Entered
	}
	return s[v.Column.Name] / math.Sqrt(12) * math.Abs(unit*slope(q, v.X))
}
