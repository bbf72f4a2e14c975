package instrument

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sagline/session"
	"sagline/session/quantity"
)

// Steps are those in which each column's numbers were written down: of 12.3, 12.8 and
// 11.9 a tenth, though the instrument may show hundredths.
type Steps struct {
	of map[string]float64
	// coarse are steps of a second meter, or of somebody who reads less off it: more numbers are multiples
	// of these than would be by chance.
	coarse map[string]float64
}

// fewestWritten is how many numbers of a column tell a dive's step. Of fewer that of
// the log is taken.
const fewestWritten = 3

// chance is the probability from which on so many multiples of a coarse step are taken for chance; common
// practice, no source.
const chance = 0.01

func written(dives []session.Dive) map[string][]float64 {
	out := map[string][]float64{}
	for i := range dives {
		for j := range dives[i].Lines {
			for q := range quantity.Count {
				if v := &dives[i].Lines[j].Readings[q]; v.Measured() && !q.Log() {
					out[v.Column.Name] = append(out[v.Column.Name], v.Entered)
				}
			}
		}
	}
	return out
}

// StepsOf are those of whole dives, of columns with enough numbers.
func StepsOf(dives []session.Dive) Steps {
	out := Steps{map[string]float64{}, map[string]float64{}}
	for column, numbers := range written(dives) {
		if len(numbers) < fewestWritten {
			continue
		}
		step := stepOf(numbers)
		out.of[column] = step
		for _, times := range []float64{5, 10} {
			all := distuv.Binomial{N: float64(len(numbers)), P: 1 / times}
			if step > 0 && all.Survival(float64(multiplesOf(numbers, times*step))-1) < chance {
				out.coarse[column] = times * step
			}
		}
	}
	return out
}

// OfDive are the log's steps, in a dive those that it shows itself.
func (s Steps) OfDive(d *session.Dive) Steps {
	dives := []session.Dive{*d}
	out := StepsOf(dives)
	for column, numbers := range written(dives) {
		if _, ok := out.of[column]; ok {
			continue
		}
		out.of[column] = s.of[column]
		if step := s.coarse[column]; step > 0 && multiplesOf(numbers, step) == len(numbers) {
			out.of[column] = step
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
			if multiplesOf(numbers, step) == len(numbers) {
				return step
			}
		}
	}
	return 0
}

// multiplesOf is how many numbers are multiples of a step.
func multiplesOf(numbers []float64, step float64) (n int) {
	for _, x := range numbers {
		if by := x / step; math.Abs(by-math.Round(by)) <= 1e-6 {
			n++
		}
	}
	return n
}

// Rounded is one standard deviation of what was rounded off a reading, as it is
// compared: even over its step.
func (s Steps) Rounded(q quantity.Quantity, v *session.Value) float64 {
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
	return s.of[v.Column.Name] / math.Sqrt(12) * math.Abs(unit*Slope(q, v.X))
}
