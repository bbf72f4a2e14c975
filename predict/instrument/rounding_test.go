package instrument

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

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
		{[]float64{12.25, 12.5, 11.75}, 0.25},
		{[]float64{12.25, 12.5}, 0.05}, // too few
		{[]float64{12.2, 12.4, 11.8, 12, 12.6, 12.2}, 0.1},
		{[]float64{12.2, 12.4, 11.8, 12, 12.6, 12.2, 11.6}, 0.2},
		{[]float64{25, 50, 125}, 25},
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
	log := []session.Dive{dive(5.5, 6, 7.5), dive(5.43, 6.21, 7.12), dive(6.1, 7)}
	steps := OfLog(log)
	for i, want := range []float64{0.5, 0.01, 0.01} {
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
		steps := OfLog(log)
		for i, want := range map[int]float64{0: want, 15: 0.01} {
			v := log[i].Lines[0].Readings[quantity.Trim]
			assert.InDelta(t, want*gramsPerOunce/math.Sqrt(12), steps.OfDive(&log[i]).Rounded(quantity.Trim, &v), 1e-9, "%d tenths, dive %d", tenths, i)
		}
	}
	// Every fourth number is whole, of all dives but one in halves: its own step tells that one more.
	log = nil
	for i := range 8 {
		oz := 5.1 + 0.13*float64(i%7) + float64(i%2)
		log = append(log, dive(oz, oz+0.02, oz+0.53, math.Round(oz+0.61)))
	}
	log = append(log, dive(5.5, 6, 7.5))
	steps = OfLog(log)
	for _, c := range []struct {
		dive, line int
		want       float64
	}{{0, 0, 0.01}, {0, 3, 1}, {7, 3, 1}, {8, 0, 0.5}, {8, 1, 0.5}} {
		v := log[c.dive].Lines[c.line].Readings[quantity.Trim]
		assert.InDelta(t, c.want*gramsPerOunce/math.Sqrt(12), steps.OfDive(&log[c.dive]).Rounded(quantity.Trim, &v), 1e-9, "whole numbers, dive %d line %d", c.dive, c.line)
	}
	run := session.Value{X: 0.5, Entered: 20, Run: 10, Column: column}
	assert.InDelta(t, 0.5*0.5/20/math.Sqrt(12), steps.OfDive(&log[8]).Rounded(quantity.Speed, &run), 1e-9)
}

const gramsPerOunce = 28.349523125 // NIST Handbook 44, appendix C

// Of pairs of readings about a mean that lies anywhere between two steps, the covariance of what was rounded off both
// over its variance.
func TestSharedRounding(t *testing.T) {
	draw := rand.New(rand.NewPCG(1, 2))
	for _, sd := range []float64{0, 0.1, 0.2, 0.3, 1} {
		var one, other []float64
		for range 20000 {
			at := draw.Float64()
			off := func() float64 { x := at + sd*draw.NormFloat64(); return math.Round(x) - x }
			one, other = append(one, off()), append(other, off())
		}
		assert.InDelta(t, stat.Covariance(one, other, nil)*12, SharedRounding(sd), 0.03, "sd %v", sd)
	}
}

// Of tenths some of which are whole: how many were written so is what is more than lies a tenth beside whole numbers, and as
// many as that are whole by chance.
func TestCoarserThan(t *testing.T) {
	tenths := []float64{1.1, 2.1, 2.9, 4.1, 5.3, 6.4, 7.6, 8.2} // four lie beside a whole number: two are whole by chance
	whole := []float64{3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14, 16}
	got := coarserThan(0.1, append(slices.Clone(tenths), whole...))
	require.Len(t, got, 1)
	assert.InDelta(t, 1, got[0].step, 1e-12)
	assert.InDelta(t, 10.0/20, got[0].share, 1e-12)
	assert.InDelta(t, 2.0/10, got[0].byChance, 1e-12)
	assert.Empty(t, coarserThan(0.1, append(slices.Clone(tenths), 3, 4)), "as many as by chance")
	assert.Empty(t, coarserThan(0.1, tenths), "none")
	assert.Empty(t, coarserThan(0.1, append(slices.Clone(tenths), 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3)), "one number over and over")
	assert.NotEmpty(t, coarserThan(0.1, append(slices.Clone(tenths), 3, 3, 3, 3, 3, 3, 4, 4, 4, 4, 4, 4)))
}

// Noughts are multiples of any step and say nothing of it, and neither does one number that a dive has three times.
func TestNoughtsTellNoStep(t *testing.T) {
	all := session.Columns()
	column := all[slices.IndexFunc(all, func(c *session.Column) bool { return c.Name == "current_a" })]
	of := func(amps ...float64) (d session.Dive) {
		for _, a := range amps {
			var l session.Line
			l.Readings[quantity.CurrentA] = session.Value{X: a, Entered: a, Column: column}
			d.Lines = append(d.Lines, l)
		}
		return d
	}
	log := []session.Dive{of(2.4, 3.1, 0, 0, 0), of(2.5, 3.2, 0, 0), of(0, 0, 0, 0), of(5, 5, 5), of(2, 4, 3, 5)}
	steps := OfLog(log)
	for i, want := range []float64{0.1, 0.1, 0.1, 0.1, 1} {
		dive := steps.OfDive(&log[i])
		for k := range log[i].Lines {
			assert.InDelta(t, want/math.Sqrt(12), dive.Rounded(quantity.CurrentA, &log[i].Lines[k].Readings[quantity.CurrentA]), 1e-9, "dive %d, line %d", i, k)
		}
	}
}

// A dive with one number that is a multiple of a coarser step of the log was read in that, where so many were that it is less likely by
// chance: a tenth of numbers written in hundredths are tenths, more where those of the log are. With two numbers chance has it twice.
func TestCoarserStepsOfADive(t *testing.T) {
	all := session.Columns()
	column := all[slices.IndexFunc(all, func(c *session.Column) bool { return c.Name == "current_a" })]
	for _, c := range []struct {
		share, byChance float64
		amps            []float64
		coarse          bool
	}{
		{0.08, 0.01, []float64{2.4}, false}, {0.1, 0.01, []float64{2.4}, true}, {0.1, 0.2, []float64{2.4}, false}, {0.2, 0.2, []float64{2.4}, true},
		{0.02, 0.01, []float64{2.4, 3.1}, true}, {0.005, 0.01, []float64{2.4, 3.1}, false}, {0.08, 0.01, []float64{2.4, 3.11}, false}, {0.2, 0.01, []float64{2.4, 3.11}, true},
	} {
		log := Steps{map[string]float64{"current_a": 0.01}, map[string][]coarser{"current_a": {{0.1, c.share, c.byChance}}}}
		var dive session.Dive
		for _, a := range c.amps {
			var l session.Line
			l.Readings[quantity.CurrentA] = session.Value{X: a, Entered: a, Column: column}
			dive.Lines = append(dive.Lines, l)
		}
		want := 0.01
		if c.coarse {
			want = 0.1
		}
		assert.Equal(t, want, log.OfDive(&dive).at("current_a", c.amps[0]), "%+v", c)
	}
}

// Of what is compared by its logarithm nothing is rounded off.
func TestRoundedLogarithms(t *testing.T) {
	all := session.Columns()
	column := all[slices.IndexFunc(all, func(c *session.Column) bool { return c.Name == "insulation_megohm" })]
	v := session.Value{X: 5, Entered: 5, Column: column}
	assert.Zero(t, Steps{of: map[string]float64{"insulation_megohm": 1}}.Rounded(quantity.Insulation, &v))
}
