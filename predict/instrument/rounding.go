package instrument

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sagline/session"
	"sagline/session/quantity"
)

// Steps are those in which each column's numbers were written down: a tenth for 12.3, 12.8 and
// 11.9, though the instrument may show hundredths.
type Steps struct {
	of     map[string]float64
	coarse map[string][]coarser // the coarsest first
}

// A coarser step is that of a second meter, or of somebody who reads or writes down less: more
// numbers are multiples of it than by chance.
type coarser struct {
	step     float64
	share    float64 // of the numbers that were written in this step
	byChance float64 // share of the others that are multiples as well
}

// fewestWritten is how many numbers of a column a dive needs to show its step; with fewer it has
// the log's.
const fewestWritten = 3

// fewestDiffer is how many different numbers it takes to show a step beside that of the log: one
// number that is read over and over, or copied, shows none.
const fewestDiffer = 2

// chance is the probability from which on so many multiples of a coarse step are taken for chance;
// common practice, no source.
const chance = 0.01

// written returns the numbers of each column but noughts, which are multiples of any step.
func written(dives []session.Dive) map[string][]float64 {
	out := map[string][]float64{}
	for i := range dives {
		for j := range dives[i].Lines {
			for q := range quantity.Count {
				if v := &dives[i].Lines[j].Readings[q]; v.Measured() && !q.Log() && v.Entered != 0 {
					out[v.Column.Name] = append(out[v.Column.Name], v.Entered)
				}
			}
		}
	}
	return out
}

// stepsOf returns the steps of dives together, for columns with enough numbers, of which so many
// differ.
func stepsOf(dives []session.Dive, differ int) Steps {
	out := Steps{map[string]float64{}, map[string][]coarser{}}
	for column, numbers := range written(dives) {
		if len(numbers) >= fewestWritten && different(numbers) >= differ {
			out.of[column] = stepOf(numbers)
		}
	}
	return out
}

// OfLog returns the steps of a whole log, with the coarser ones of dives that do not show their
// own.
func OfLog(dives []session.Dive) Steps {
	out := stepsOf(dives, 1)
	mixed := map[string][]float64{}
	for i := range dives {
		ofDive := stepsOf(dives[i:i+1], fewestDiffer)
		for column, numbers := range written(dives[i : i+1]) {
			if ofDive.of[column] <= out.of[column] {
				mixed[column] = append(mixed[column], numbers...)
			}
		}
	}
	for column, step := range out.of {
		if step > 0 {
			out.coarse[column] = coarserThan(step, mixed[column])
		}
	}
	return out
}

// coarserThan returns steps in which some of the numbers were written, coarsest first, each judged
// on the numbers that are no multiples of a coarser one. By chance as many numbers are multiples of
// a step as lie one fine step beside its multiples on either side.
func coarserThan(step float64, numbers []float64) (out []coarser) {
	for _, times := range []float64{100, 50, 10, 5} {
		coarse := times * step
		on := multiplesOf(numbers, coarse)
		beside := 0
		for _, x := range numbers {
			if isMultiple(x-step, coarse) || isMultiple(x+step, coarse) {
				beside++
			}
		}
		if different(slices.DeleteFunc(slices.Clone(numbers), func(x float64) bool { return !isMultiple(x, coarse) })) < fewestDiffer || (distuv.Binomial{N: float64(on + beside), P: 1.0 / 3}).Survival(float64(on)-1) >= chance {
			continue
		}
		all, byChance := float64(len(numbers)), float64(beside)/2
		written := float64(on) - byChance
		out = append(out, coarser{coarse, written / all, byChance / (all - written)})
		numbers = slices.DeleteFunc(slices.Clone(numbers), func(x float64) bool { return isMultiple(x, coarse) })
	}
	return out
}

// OfDive returns a dive's steps: those that it shows itself, else the log's.
func (s Steps) OfDive(d *session.Dive) Steps {
	out := stepsOf([]session.Dive{*d}, fewestDiffer)
	numbersOf := written([]session.Dive{*d})
	for column, step := range s.of {
		numbers := numbersOf[column]
		out.of[column] = max(out.of[column], step)
		for _, c := range s.coarse[column] {
			byChance, n := max(c.byChance, out.of[column]/c.step), 1.0
			if multiplesOf(numbers, c.step) == len(numbers) {
				n = float64(len(numbers))
			}
			if c.step > out.of[column] && c.share > (1-c.share)*math.Pow(byChance, n) {
				out.coarse[column] = append(out.coarse[column], c)
			}
		}
	}
	return out
}

// at returns the step in which a number of a column was most likely written down.
func (s Steps) at(column string, x float64) float64 {
	for _, c := range s.coarse[column] {
		if isMultiple(x, c.step) {
			return c.step
		}
	}
	return s.of[column]
}

// stepOf returns the largest of … 0.1, 0.2, 0.25, 0.5, 1 … of which all numbers are multiples, 0 if
// none. Dial divisions (0.2, 0.25) count only if that would hardly be chance for multiples of the
// next finer step.
func stepOf(numbers []float64) float64 {
	const finest, coarsest = -3, 4 // powers of ten
	for power := coarsest; power > finest; power-- {
		for _, s := range []struct{ by, byChance float64 }{{0.5, 0}, {0.25, 1.0 / 5}, {0.2, 1.0 / 2}, {0.1, 0}} {
			step := s.by * math.Pow10(power)
			if multiplesOf(numbers, step) == len(numbers) && math.Pow(s.byChance, float64(len(numbers))) < chance {
				return step
			}
		}
	}
	return 0
}

// different counts the different numbers.
func different(numbers []float64) int {
	return len(slices.Compact(slices.Sorted(slices.Values(numbers))))
}

// multiplesOf counts the numbers that are multiples of a step.
func multiplesOf(numbers []float64, step float64) (n int) {
	for _, x := range numbers {
		if isMultiple(x, step) {
			n++
		}
	}
	return n
}

func isMultiple(x, step float64) bool {
	by := x / step
	return math.Abs(by-math.Round(by)) <= 1e-6
}

// Rounded is one standard deviation of a reading's rounding error, uniform over its step, on the
// scale of comparison.
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
	return s.at(v.Column.Name, v.Entered) / math.Sqrt(12) * math.Abs(unit*Slope(q, v.X))
}

// SharedRounding is the share of the rounding error's variance that readings have in common, if
// their values are normal with standard deviation sd, in steps, about a value anywhere between two
// steps: the sum of the harmonics of rounding's sawtooth, each times the normal's characteristic
// function (Widrow and Kollár, Quantization Noise, 2008, chapter 4; from memory).
func SharedRounding(sd float64) float64 {
	sum := 0.0
	for k := 1.0; k <= 100; k++ {
		sum += math.Exp(-math.Pow(2*math.Pi*k*sd, 2)) / (k * k)
	}
	return sum * 6 / (math.Pi * math.Pi)
}
