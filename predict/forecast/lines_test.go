package forecast

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A line of a thruster that the vehicle does not have has no forecast, and teaches none.
func TestForecastOfAnotherVehiclesLine(t *testing.T) {
	f := AsBuilt(vehicle.Example())
	l := session.Line{Drives: []session.Drive{{Name: "sideways"}}}
	_, err := f.Line(&l)
	require.ErrorContains(t, err, "sideways")
	require.ErrorContains(t, f.Learn(&l), "sideways")
}

// A line's readings are expected where it is read, and its climb where a vehicle is that has begun to climb.
func TestAClimbIsForecastApart(t *testing.T) {
	f := AsBuilt(vehicle.Example())
	column, _ := session.Find("depth_m")
	l := session.Line{Depth: session.Value{X: 8, Entered: 8, Column: column}}
	all, err := f.Line(&l)
	require.NoError(t, err)
	o, err := f.observe(&l)
	require.NoError(t, err)
	var still, climbing predict.Point
	f.m.Solve(&o.Cond, f.p, &still, nil)
	o.Cond.Climbing = true
	f.m.Solve(&o.Cond, f.p, &climbing, nil)
	seen := 0
	for _, e := range all {
		switch e.Quantity {
		case quantity.Climb:
			assert.InDelta(t, climbing.Out[e.Quantity], e.Value, 1e-9)
			seen++
		case quantity.Trim:
			assert.InDelta(t, still.Out[e.Quantity], e.Value, 1e-9)
			seen++
		}
	}
	assert.Equal(t, 2, seen)
}
