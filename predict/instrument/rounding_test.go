package instrument

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session"
	"sagline/session/quantity"
)

func TestStepOf(t *testing.T) {
	for _, c := range []struct {
		numbers []float64
		want    float64
	}{
		{[]float64{12.3, 11.9, 12.05}, 0.05},
		{[]float64{12.3, 11.9, 12.06}, 0.01},
		{[]float64{12.3, 11.9, 12}, 0.1},
		{[]float64{6.5, 7, 11.5}, 0.5},
		{[]float64{140, 150, 210}, 10},
		{[]float64{-140, 155, 0}, 5},
		{[]float64{0.318, 0.402, 0.41}, 0.001},
		{[]float64{0.3181, 0.402}, 0},
	} {
		assert.InDelta(t, c.want, stepOf(c.numbers), 1e-12, "%v", c.numbers)
	}
}

// A dive's own numbers say in which step they were read, too few of them the log's, or tenths where many are,
// nought among them; and what was rounded off adds to the instrument's standard deviation.
func TestRounded(t *testing.T) {
	all := session.Columns()
	column := all[slices.IndexFunc(all, func(c *session.Column) bool { return c.Name == "trim_oz" })]
	reading := func(oz float64) session.Value {
		return session.Value{X: oz * gramsPerOunce, Entered: oz, Column: column}
	}
	dive := func(oz ...float64) session.Dive {
		var d session.Dive
		for _, x := range oz {
			l := session.Line{}
			l.Readings[quantity.Trim] = reading(x)
			d.Lines = append(d.Lines, l)
		}
		return d
	}
	log := []session.Dive{dive(5.5, 6, 7.5), dive(5.43, 6.21, 7.12), dive(6, 7)}
	steps := StepsOf(log)
	for i, want := range []float64{0.5, 0.01, 0.1} {
		for _, oz := range []float64{6, 0} {
			v := reading(oz)
			assert.InDelta(t, want*gramsPerOunce/math.Sqrt(12), steps.OfDive(&log[i]).Rounded(quantity.Trim, &v), 1e-9, "dive %d", i)
		}
	}
	// One reader writes hundredths, another tenths, once a dive: eight tenths of sixteen are no chance, two are.
	of := func(tenths int) (log []session.Dive) {
		for i := range 16 {
			oz := 5.1 + 0.1*float64(i%7)
			if i >= tenths {
				oz += 0.02 + 0.01*float64(i%5)
			}
			log = append(log, dive(oz))
		}
		return log
	}
	for tenths, want := range map[int]float64{8: 0.1, 2: 0.01} {
		log := of(tenths)
		steps := StepsOf(log)
		for i, want := range map[int]float64{0: want, 15: 0.01} {
			v := log[i].Lines[0].Readings[quantity.Trim]
			assert.InDelta(t, want*gramsPerOunce/math.Sqrt(12), steps.OfDive(&log[i]).Rounded(quantity.Trim, &v), 1e-9, "%d tenths, dive %d", tenths, i)
		}
	}
	run := session.Value{X: 0.5, Entered: 20, Run: 10, Column: column}
	assert.InDelta(t, 0.5*0.5/20/math.Sqrt(12), steps.OfDive(&log[0]).Rounded(quantity.Speed, &run), 1e-9)
}

const gramsPerOunce = 28.349523125 // NIST Handbook 44, appendix C
