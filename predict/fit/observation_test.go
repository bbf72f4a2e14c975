package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Of ten currents of 2.4 A written down as 2 the mean is no better than one; of ten that scatter by more than a step it
// is √10 times better. Other thrusters' currents have their own, and so have those after a change.
func TestShareRounding(t *testing.T) {
	column := &session.Column{Name: "current_a"}
	n := &instrument.Noise{}
	of := func(amps []float64, signs [][]int8) dive {
		var d dive
		for i, a := range amps {
			l := &session.Line{}
			l.Readings[quantity.CurrentA].Column = column
			d.obs = append(d.obs, observation{circumstances.Circumstance{Cond: predict.Condition{Sign: signs[i%len(signs)]}}, l})
			d.cells = append(d.cells, Cell{Line: l, Quantity: quantity.CurrentA, obs: i, Value: a, rounded: 1 / math.Sqrt(12), SD: 1 / math.Sqrt(12)})
		}
		return d
	}
	alone, both := [][]int8{{1, 0}}, [][]int8{{1, 0}, {0, 1}}
	for _, c := range []struct {
		name  string
		amps  []float64
		signs [][]int8
		want  float64 // of the variance of a step
	}{
		{"all the same", []float64{2, 2, 2, 2, 2, 2, 2, 2, 2, 2}, alone, 10},
		{"one real change", []float64{2, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 3}, alone, 6},
		{"scattered", []float64{2, 5, 1, 4, 3, 2, 1, 5, 4, 3}, alone, 1},
		{"two thrusters, each the same", []float64{2, 7, 2, 7, 2, 7, 2, 7, 2, 7}, both, 5},
		{"one", []float64{2}, alone, 1},
	} {
		dives := []dive{of(c.amps, c.signs)}
		shareRounding(dives, n)
		for _, cell := range dives[0].cells {
			assert.InEpsilon(t, c.want, cell.rounded*cell.rounded*12, 0.01, c.name)
			assert.InDelta(t, cell.rounded, cell.SD, 1e-12, c.name)
		}
	}
	var signs [][]int8
	for k := range int8(20) {
		signs = append(signs, []int8{k})
	}
	dives := []dive{of(make([]float64, 21), append(signs, signs[19]))}
	shareRounding(dives, n)
	for k, cell := range dives[0].cells {
		assert.InEpsilon(t, map[bool]float64{true: 1, false: 2}[k < 19], cell.rounded*cell.rounded*12, 0.01, "the two alike among twenty: %d", k)
	}
}

// What was read out of the water is no observation; the dive's other lines are.
func TestLinesReadAshore(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	column := &session.Column{Name: "battery_v"}
	lines := make([]session.Line, 3)
	for i, note := range []string{"", "bench test", "clear water"} {
		lines[i].Electrical, lines[i].Note = true, note
		lines[i].Readings[quantity.BatteryV] = session.Value{X: 12.5, Column: column}
	}
	dives, _, err := match([]*predict.Model{m}, &session.Log{Dives: []session.Dive{{Lines: lines}}}, &instrument.Noise{})
	require.NoError(t, err)
	require.Len(t, dives[0].obs, 2)
	assert.Same(t, &lines[0], dives[0].obs[0].line)
	assert.Same(t, &lines[2], dives[0].obs[1].line)
}
