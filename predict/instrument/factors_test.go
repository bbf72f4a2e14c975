package instrument

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session/quantity"
)

// of is a noise of one instrument, worth so many readings beforehand and so many with the baseline's.
func of(doubt, worth float64) *Noise {
	n := &Noise{}
	for q := range quantity.Count {
		n.Factor[q], n.Doubt[q], n.Worth[q] = 1, doubt, worth
	}
	return n
}

// What nothing was read of stays as it was; many readings show what the instrument scatters by, below what is stated or above,
// sooner where that is merely usual; what else their lines have wrong is not the instrument's.
func TestFactorsWithin(t *testing.T) {
	after := func(n *Noise, dives int, variance, line float64) *Noise {
		f := NewFactors(n)
		for range dives {
			f.AddWithin(quantity.Trim, 3*variance, 3, Mean{Stated: 4, Line: line})
		}
		return f.Noise()
	}
	for _, c := range []struct {
		doubt, variance, line float64
		dives                 int
		low, high             float64 // the factor
	}{
		{priorWorth, 4, 0, 100, 0.97, 1.03}, {priorWorth, 1, 0, 100, 0.47, 0.53}, {priorWorth, 16, 0, 100, 1.9, 2.1},
		{priorWorth, 1, 0, 3, 0.5, 0.7}, {givenWorth, 1, 0, 3, 0.9, 0.98}, {givenWorth, 16, 0, 3, 1.03, 1.3},
		{priorWorth, 5, 4, 100, 0.42, 0.58}, {priorWorth, 4000, 0, 100, 3.9, 4.1}, {priorWorth, 0, 0, 100, 0.24, 0.26},
	} {
		n := after(of(c.doubt, c.doubt), c.dives, c.variance, c.line)
		assert.Greater(t, n.Factor[quantity.Trim], c.low, "%+v", c)
		assert.Less(t, n.Factor[quantity.Trim], c.high, "%+v", c)
		assert.Equal(t, 1.0, n.Factor[quantity.Pull])
		assert.Equal(t, c.doubt, n.Worth[quantity.Pull])
		assert.GreaterOrEqual(t, n.Worth[quantity.Trim], c.doubt)
	}
	assert.InDelta(t, 300, after(of(priorWorth, priorWorth), 100, 4, 0).Worth[quantity.Trim], 60, "of 300 degrees of freedom")
	assert.InDelta(t, 1, after(of(givenWorth, givenWorth), 0, 0, 0).Factor[quantity.Trim], 1e-12)
}

// Successive dives show it by their differences, less what dives differ by; one far off is a fault that has come between.
func TestFactorsBetween(t *testing.T) {
	unit, line := 1.0, 0.0
	after := func(apart, dive float64, jump int) float64 {
		f := NewFactors(of(priorWorth, priorWorth))
		for i := range 40 {
			a, b := Mean{0, 4 * sq(unit), line, dive}, Mean{unit * apart, 4 * sq(unit), line, dive}
			if i == jump {
				b.Apart = unit * 1000
			}
			f.AddBetween(quantity.Trim, a, b)
		}
		return f.Noise().Factor[quantity.Trim]
	}
	assert.InDelta(t, 0.5, after(1.414, 0, -1), 0.07)
	assert.InDelta(t, 2, after(5.66, 0, -1), 0.2)
	assert.InDelta(t, after(1.414, 0, -1), after(1.414, 0, 7), 0.02)
	assert.InDelta(t, after(5.66, 0, -1), after(5.66, 0, 7), 0.05)
	assert.InDelta(t, 0.5, after(3.162, 4, -1), 0.15)
	want := after(3.162, 4, -1)
	line = 4
	assert.InDelta(t, want, after(3.162, 0, -1), 1e-12, "what lines have wrong counts as what dives differ by")
	line = 0
	near := after(7, 0, 3)
	unit = 100
	assert.InDelta(t, near, after(7, 0, 3), 1e-9, "whatever the unit")
}
