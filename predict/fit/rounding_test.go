package fit

import (
	"math"
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

// A dive's own numbers say in which step they were read, too few of them the log's; and
// what was rounded off adds to the instrument's standard deviation.
func TestRounded(t *testing.T) {
	column := &session.Column{Name: "current_ma", Quantity: "current_a"}
	reading := func(mA float64) session.Value { return session.Value{X: mA / 1000, Entered: mA, Column: column} }
	dive := func(mA ...float64) session.Dive {
		var d session.Dive
		for _, x := range mA {
			l := session.Line{}
			l.Readings[quantity.CurrentA] = reading(x)
			d.Lines = append(d.Lines, l)
		}
		return d
	}
	log := []session.Dive{dive(5500, 6000, 7500), dive(5430, 6210, 7120), dive(6000, 7000)}
	all := stepsOf(log)
	for i, want := range []float64{0.5, 0.01, 0.01} { // A
		v := reading(6000)
		assert.InDelta(t, want/math.Sqrt(12), all.ofDive(&log[i]).rounded(quantity.CurrentA, &v), 1e-9, "dive %d", i)
	}
	n := &noise{}
	n.stated[quantity.CurrentA], n.factor[quantity.CurrentA] = 0.3, 1
	c := Cell{Quantity: quantity.CurrentA, rounded: 0.4}
	assert.InDelta(t, 0.5, c.noiseAt(n, 6), 1e-12)
}
