package forecast

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

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

// One reading takes off what it tells of a number: of variance s, read with a variance n, s·n/(s + n) is left, and the
// number is drawn towards the reading by s/(s + n) of what is between.
func TestLearnsAsMuchAsAReadingTells(t *testing.T) {
	f := AsBuilt(vehicle.Example())
	column, _ := session.Find("battery_v")
	l := session.Line{Electrical: true, Drives: []session.Drive{{Name: "port"}}}
	var h *mat.VecDense
	var n, at float64
	require.NoError(t, f.each(&l, func(q quantity.Quantity, unknown float64) {
		if q == quantity.BatteryV {
			h, at = mat.NewVecDense(len(f.p), slices.Clone(f.grad[q])), f.pt.Out[q]
			n = sq(f.noise.SD(q, at)) + sq(unknown)
		}
	}))
	s, was := mat.Inner(h, f.cov, h), slices.Clone(f.p)
	l.Put(session.Value{X: at + 0.1, Entered: at + 0.1, Column: column})
	require.NoError(t, f.Learn(&l))
	assert.InEpsilon(t, s*n/(s+n), mat.Inner(h, f.cov, h), 1e-9)
	moved := 0.0
	for k := range was {
		moved += h.AtVec(k) * (f.p[k] - was[k])
	}
	assert.InEpsilon(t, 0.1*s/(s+n), moved, 1e-9)
}
