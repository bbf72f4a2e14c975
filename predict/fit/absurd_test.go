package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// No vehicle has a factor of half a billion, nor a number that is none; what is no factor's logarithm may be large.
func TestCredible(t *testing.T) {
	m := predict.NewModel(vehicle.Example())
	for _, c := range []struct {
		param int
		x     float64
		want  bool
	}{
		{predict.LogThrust, 19.9, true}, {predict.LogThrust, 20.1, false}, {predict.LogDrag, -20.1, false}, {predict.LogDrag, -19.9, true},
		{predict.TrimG, 4000, true}, {predict.TrimG, math.NaN(), false},
	} {
		p := m.NewParams()
		p[c.param] = c.x
		assert.Equal(t, c.want, (&Result{}).credible(&DiveFit{Summary: &Summary{Params: p}}), "%+v", c)
	}
}

// A cell that was set aside is told with what was expected, and the thruster that would explain it jammed.
func TestSetAsideSaid(t *testing.T) {
	o := Outlier{Column: "current_a", Entered: 12.345678, Expected: 8.1266}
	assert.Equal(t, "current_a 12.345678 set aside, expected 8.13: a slip?", o.Words())
	o.Jammed = "port"
	assert.Equal(t, "current_a 12.345678 set aside, expected 8.13: a slip, or is port jammed (unplugged, turn it by hand)?", o.Words())
}

// The two ways of a run differ by a stream: that is as sure as the speed that was timed, whatever the difference should be.
func TestNoiseOfAStream(t *testing.T) {
	n := instrument.NewNoise(vehicle.Example())
	column, _ := session.Find("speed_m_s")
	line := &session.Line{}
	line.Put(session.Value{X: 0.5, Entered: 0.5, Column: column})
	c := Cell{Line: line, Quantity: quantity.Speed, stream: true}
	assert.Equal(t, n.SD(quantity.Speed, 0.5), c.noiseAt(n, 0.02))
	assert.Greater(t, c.noiseAt(n, 0.02), 0.0)
}
