package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// A hover weight is a slip where its decimal point one place away is likelier by more than e² against the odds of 3 in
// 1,000 that it is astray.
func TestHoverSlip(t *testing.T) {
	sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster)}
	sp.Of[predict.TrimG] = priors.Parameter{Scatter: 3, Fault: 80}
	f := &diver{sp: sp}
	of := func(sd float64, values ...float64) (all []hovering) {
		for _, x := range values {
			all = append(all, hovering{cell: &Cell{Quantity: quantity.Trim, Value: x}, want: 100, apart: x - 100, perG: 1, sd: sd})
		}
		return all
	}
	slips := []bool{}
	for sd := 10.0; sd < 25; sd += 0.25 {
		meant := f.hoverEvidence(of(sd, 101, 100)) - f.hoverEvidence(of(sd, 101, 10))
		slip := f.hoverSlip(of(sd, 101, 10))
		assert.Equal(t, meant > 7.809, slip == 1, "sd %g: %g nats", sd, meant) // 2 − ln 0.003
		slips = append(slips, slip == 1)
	}
	assert.True(t, slips[0])
	assert.False(t, slips[len(slips)-1])
	assert.Equal(t, -1, f.hoverSlip(of(5, 11, 10)), "both say that it leaks")
	assert.Equal(t, 0, f.hoverSlip(of(5, 1010, 100)))
}
