package lsq

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// After a good step the next may be twice as long, after a middling one as long as this one might, after a poor one half as long; after
// one that raised the cost it ends where a parabola through what is known has its minimum, and is at least a tenth.
func TestBoundOnTheNextStep(t *testing.T) {
	const delta, length, lambda = 3.0, 2.0, 0.8
	for name, c := range map[string]struct {
		cost          float64 // after the step; before it 100
		full          bool
		delta         float64
		slope         float64
		bound, damped float64
	}{
		"as promised":                {60, false, delta, 30, 2 * length, lambda / 2},
		"three quarters of it":       {70, false, delta, 30, 2 * length, lambda / 2},
		"less":                       {71, false, delta, 30, delta, lambda},
		"less, of a step in full":    {71, true, delta, 30, 2 * length, lambda / 2},
		"a quarter of it":            {90, false, delta, 30, delta / 2, lambda * 2},
		"a quarter, in full":         {90, true, delta, 30, delta / 2, lambda * 2},
		"a bound that did not bind":  {95, true, 50, 30, 10 * length / 2, lambda * 2},
		"no better":                  {100, false, delta, 30, delta / 2, lambda * 2},
		"worse":                      {160, false, delta, 30, delta / 4, lambda * 4},
		"far worse":                  {1e3, false, delta, 30, delta / 10, lambda * 10},
		"a hundred times as bad":     {1e4, false, delta, 1e6, delta * 5e5 / (1e6 + 9900.0/2), lambda / 5e5 * (1e6 + 9900.0/2)},
		"beyond what slopes foresee": {1e4 + 1, false, delta, 1e6, delta / 10, lambda * 10},
		"not finite":                 {math.NaN(), false, delta, 1e6, delta / 10, lambda * 10},
	} {
		s := Solver{cost: 100, delta: c.delta}
		s.resize(step{lambda: lambda, length: length, predicted: 40, slope: c.slope, full: c.full}, c.cost)
		assert.InEpsilon(t, c.bound, s.delta, 1e-12, name)
		assert.InEpsilon(t, c.damped, s.lambda, 1e-12, name)
	}
}

// A bound is too short once no residual can change by its rounding, whatever their unit.
func TestTooShort(t *testing.T) {
	for _, unit := range []float64{0x1p-40, 1, 0x1p40} {
		for delta, want := range map[float64]bool{0.4: false, 0.3: true} {
			s := Solver{cost: unit * unit, gain: 3, delta: unit * epsilon * delta}
			assert.Equal(t, want, s.tooShort(), "%g of unit %g", delta, unit)
		}
	}
}

// The length of a vector holds where the squares of its entries do not.
func TestNorm(t *testing.T) {
	for _, of := range []float64{0, 1e-160, 1, 1e160, 1e300} {
		assert.InDelta(t, 5*of, norm(vector([]float64{3 * of, -4 * of})), 1e-14*of, "%g", of)
	}
}
