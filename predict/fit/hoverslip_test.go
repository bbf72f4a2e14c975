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
	sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster), Place: make([]int, predict.FirstThruster)}
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

	sp.Of[predict.TrimZeroG].Fault = 60
	assert.Equal(t, -1, f.hoverSlip(of(5, 101, -30)), "the scale's zero rather than -3 g")
	assert.Equal(t, 1, f.hoverSlip(of(5, 101, 10)), "100 g rather than the scale's zero")
	assert.Equal(t, 0, f.hoverSlip(of(5, 1010, 100)))
	climb := of(5, 101, -30)
	climb[0].cell.Quantity, climb[1].cell.Quantity = quantity.Climb, quantity.Climb
	assert.NotEqual(t, -1, f.hoverSlip(climb), "a scale does not read climbs")
	sp.Of[predict.TrimZeroG].Fault = 0

	after := of(5, 101, -60)
	after[1].later = 1
	assert.NotEqual(t, -1, f.hoverSlip(after), "nothing changes within a dive")
	sp.Of[predict.WithinDiveG] = priors.Parameter{Scatter: 3, Fault: 80}
	assert.Equal(t, -1, f.hoverSlip(after), "water came in")
	sp.Place[predict.WithinDiveG] = -1
	assert.NotEqual(t, -1, f.hoverSlip(after), "the log never weighs again")
}

// Slips of the baseline are few: where many of a column are a decimal point away, as the hover weights of a vehicle in salt water are from a
// file that knows of none, they count.
func TestManySlipsAreNone(t *testing.T) {
	for name, c := range map[string]struct{ slips, all, kept int }{
		"one of four":     {1, 4, 1},
		"two of two":      {2, 2, 2},
		"two of four":     {2, 4, 2},
		"three of twelve": {3, 12, 3},
		"three of eleven": {3, 11, 0},
		"all of seven":    {7, 7, 0},
	} {
		base := []*dive{{}, {}}
		for k := range c.all {
			d := base[k%2]
			d.cells = append(d.cells, Cell{Quantity: quantity.Trim, slip: k < c.slips, Outlier: k < c.slips})
		}
		base[0].cells = append(base[0].cells, Cell{Quantity: quantity.BatteryV, slip: true, Outlier: true})
		keepMany(base)
		kept := 0
		for _, d := range base {
			for _, cell := range d.cells {
				assert.Equal(t, cell.slip, cell.Outlier, name)
				if cell.slip && cell.Quantity == quantity.Trim {
					kept++
				}
			}
		}
		assert.Equal(t, c.kept, kept, name)
		assert.True(t, base[0].cells[len(base[0].cells)-1].slip, "of another column")
	}
}
