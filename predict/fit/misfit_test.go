package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// readings are a dive whose readings lie so many standard deviations from its own fit: some of the current far above and
// far below, the rest on it.
func readings(above, below, on int) DiveFit {
	d := DiveFit{Summary: &Summary{}, compared: []Compared{}}
	add := func(n int, z float64) {
		for range n {
			d.compared = append(d.compared, Compared{Cell: Cell{Line: &session.Line{}, Quantity: quantity.CurrentA}, Z: z})
		}
	}
	add(above, 3)
	add(below, -3.5)
	add(on, 2.4)
	return d
}

// Readings that lie off the same way are a misfit where so many come by chance in fewer than one dive of a thousand:
// of 10 readings of which 1 % lie off each way three and more do in 1.1e-4 of dives, of 40 in 7.5e-3 (binomial).
func TestMisfits(t *testing.T) {
	for name, c := range map[string]struct {
		before []DiveFit
		dive   DiveFit
		off    int
		by     float64
		chance float64
	}{
		"three of ten":              {nil, readings(3, 0, 7), 3, 3, 1.138e-4},
		"three of ten too little":   {nil, readings(0, 3, 7), 3, -3.5, 1.138e-4},
		"two of ten":                {nil, readings(2, 0, 8), 0, 0, 0},
		"two each way":              {nil, readings(2, 2, 8), 0, 0, 0},
		"three of forty":            {nil, readings(3, 0, 37), 0, 0, 0},
		"five of forty":             {nil, readings(5, 0, 35), 5, 3, 4.9e-5},
		"three of ten as ever":      {[]DiveFit{readings(10, 0, 90)}, readings(3, 0, 7), 0, 0, 0}, // 5.5 % of all: in 1.5 % of dives
		"three of ten, others even": {[]DiveFit{readings(0, 10, 90)}, readings(3, 0, 7), 3, 3, 1.46e-5},
	} {
		r := &Result{Dives: append(c.before, c.dive)}
		got := r.Misfits(len(c.before))
		if c.off == 0 {
			assert.Empty(t, got, name)
			continue
		}
		if !assert.Len(t, got, 1, name) {
			continue
		}
		assert.Equal(t, quantity.CurrentA, got[0].Quantity)
		assert.Equal(t, c.off, got[0].Off, name)
		assert.InDelta(t, c.by, got[0].By, 1e-9, name)
		assert.InEpsilon(t, c.chance, got[0].Chance, 0.02, name)
	}
	slipped := readings(3, 0, 7)
	slipped.compared[0].slip = true
	assert.Empty(t, (&Result{Dives: []DiveFit{slipped}}).Misfits(0), "one of them is a slip")
	loose := readings(3, 0, 7)
	loose.Summary.Intermittent = &loose.Summary.Quadratic
	require.True(t, loose.Summary.IsIntermittent())
	assert.Empty(t, (&Result{Dives: []DiveFit{loose}}).Misfits(0), "a contact that comes and goes scatters them")
}

// Whether a dive's readings lie off is judged where its explanations are on average, or where it fits best if that lies
// closer to its readings but for those set aside.
func TestApart(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	at := func(volts float64) predict.Params {
		p := m.NewParams()
		p[predict.OpenCircuitV] = volts
		return p
	}
	for name, c := range map[string]struct {
		mean, best, want float64
	}{"the best": {12, 12.55, 12.55}, "the mean": {12.65, 12, 12.65}, "no other": {12, 0, 12}} {
		d := DiveFit{Summary: &Summary{Params: at(c.mean)}, d: dive{obs: []observation{{Circumstance: circumstances.Circumstance{Cond: predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters))}}}}},
			Cells: []Cell{{Quantity: quantity.BatteryV, Value: 12.6, SD: 0.1}, {Quantity: quantity.BatteryV, Value: 2, SD: 0.1, Outlier: true}}}
		if c.best > 0 {
			d.Summary.Fitted = at(c.best)
		}
		got := d.apart(&Result{Models: []*predict.Model{m}})
		assert.InDelta(t, c.want, got[0].Expected, 1e-9, name)
		assert.InDelta(t, (12.6-c.want)/0.1, got[0].Z, 1e-9, name)
		d.compared, d.d.obs[0].Unknown = nil, []circumstances.Unknown{{Param: predict.OpenCircuitV, Line: 0.3}}
		assert.InDelta(t, (12.6-c.want)/math.Hypot(0.1, 0.3), d.apart(&Result{Models: []*predict.Model{m}})[0].Z, 1e-9, "%s, of a battery that goes unevenly", name)
	}
}
