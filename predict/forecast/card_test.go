package forecast

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A climb is timed with everything off, a thruster is held when it runs; what a reading tells of a parameter is the slope of
// what is compared.
func TestCandidates(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	r := &fit.Result{Model: m, Noise: instrument.NewNoise(m.Vehicle)}
	p := m.NewParams()
	p[predict.OpenCircuitV], p[predict.TrimG] = 12.6, 150
	c := predict.Condition{WaterC: 15, TetherOutM: 20}
	by := func(k int, x float64) []candidate {
		moved := slices.Clone(p)
		moved[k] += x
		return candidates(r, moved, c, nil)
	}
	of, climbs, held := candidates(r, p, c, nil), 0, 0
	const step = 1e-4
	up, down := by(predict.TrimG, step), by(predict.TrimG, -step)
	for i, x := range of {
		assert.Equal(t, x.Climbing, x.Quantity == quantity.Climb)
		assert.False(t, x.Climbing && !idle(x.Sign), "%v", x.Sign)
		assert.False(t, x.Held && idle(x.Sign), "%v", x.Sign)
		slope := (up[i].Expected - down[i].Expected) / (2 * step)
		assert.InDelta(t, slope, x.row.AtVec(predict.TrimG), 1e-6+1e-3*math.Abs(slope), "%s", x.Quantity)
		if x.Climbing {
			climbs++
		}
		if x.Held {
			held++
		}
	}
	assert.Equal(t, 1, climbs)
	assert.Greater(t, held, 2)
}

// The loop is read once, before the dive; a reading more of anything else is one on each line where it means something.
func TestReadingsMore(t *testing.T) {
	r := ofExample()
	before := len(readingsOf(r, 7, -1))
	assert.Len(t, readingsOf(r, 7, quantity.LoopOhm), before+1)
	assert.Greater(t, len(readingsOf(r, 7, quantity.VehicleV)), before+2)
}
