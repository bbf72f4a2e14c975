package predict

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/invented"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// Friction adds to a motor's no-load current. What a fit tries below a quarter of the
// motor's own falls ever more slowly, and never to nothing.
func TestNoLoad(t *testing.T) {
	for _, c := range []struct{ idle, friction, want float64 }{
		{0.4, 0, 0.4},
		{0.4, 0.3, 0.7},
		{0.4, -0.3, 0.1},
		{0.4, -0.4, 0.1 / math.E},
		{0.4, -0.5, 0.1 / math.E / math.E},
		{0, 0.2, 0.2},
		{0, -0.2, 0},
	} {
		var r running
		r.noLoad(c.idle, c.friction)
		assert.InDelta(t, c.want, r.i0, 1e-12, "%+v", c)
	}
	var less, more running
	less.noLoad(0.4, -2)
	more.noLoad(0.4, -1.9)
	assert.Positive(t, less.i0)
	assert.Less(t, less.i0, more.i0)
}

// A winding's resistance goes with the inverse of the motor's size, the volts per ampere of a held thruster with its whole current.
func TestOhmAsCalibrated(t *testing.T) {
	v := invented.Vehicle()
	v.Thrusters[0].BranchOhm = 0
	m := NewModel(v)
	p := m.NewParams()
	assert.InDelta(t, 12.0/7, m.TestOhm(p, 0), 1e-9)
	assert.InDelta(t, 0.5, m.ArmatureOhm(p, 0), 1e-12)
	p[LogSize], p[LogArmature] = math.Log(0.25), math.Log(1.2)
	assert.InDelta(t, 4*12.0/7, m.TestOhm(p, 0), 1e-9)
	assert.InDelta(t, 4*1.2*0.5, m.ArmatureOhm(p, 0), 1e-12)
	p[OfThruster(0, BranchOhm)] = 1
	assert.Greater(t, m.TestOhm(p, 0), 4*12.0/7, "with more in its branch it draws less")
	assert.InDelta(t, 4*1.2*0.5, m.ArmatureOhm(p, 0), 1e-12)
}

// A current that no line mentions is drawn with lights on and off, that of lights left on where a line says they are off.
func TestUnloggedCurrent(t *testing.T) {
	v := invented.Vehicle()
	m := NewModel(v)
	p := m.NewParams()
	amps := func(lights bool, param int, more float64) float64 {
		p[UnloggedA], p[UnlitA] = 0, 0
		p[param] = more
		var pt Point
		m.Solve(&Condition{Sign: []int8{0, 0, 0}, Electrical: true, Lights: lights, WaterC: 15}, p, &pt, nil)
		return pt.Out[quantity.CurrentA]
	}
	for _, lights := range []bool{false, true} {
		assert.InDelta(t, 0.8, amps(lights, UnloggedA, 0.8)-amps(lights, UnloggedA, 0), 0.02, lights)
	}
	assert.InDelta(t, 0.8, amps(false, UnlitA, 0.8)-amps(false, UnlitA, 0), 1e-9)
	assert.InDelta(t, amps(true, UnlitA, 0), amps(true, UnlitA, 0.8), 1e-9)
}

// By Ohm's law: 2 A through the loop, or through the battery alone. Before a camera on the power pair had a word of its own, a sound
// vehicle with one was "one voltmeter against the other" and a battery past its limit.
func TestCameraByItsSupply(t *testing.T) {
	const amps, water = 2, 20
	v := invented.Vehicle()
	loop := v.Tether.CableOhm(water) + v.Tether.Power.JointsOhm
	at := func(supply string) (battery, vehicleV, drawn float64) {
		v.Camera = vehicle.Camera{CurrentA: amps, Supply: supply}
		m := NewModel(v)
		var pt Point
		m.Solve(&Condition{Sign: []int8{0, 0, 0}, Electrical: true, WaterC: water}, m.NewParams(), &pt, nil)
		return pt.Out[quantity.BatteryV], pt.Volts, pt.Out[quantity.CurrentA]
	}
	rest, _, none := at("own")
	assert.Zero(t, none)
	for supply, through := range map[string]float64{"shared": 0, "pair": loop} {
		battery, volts, drawn := at(supply)
		assert.InDelta(t, rest-amps*v.Battery.ResistanceOhm, battery, 1e-9, supply)
		assert.InDelta(t, amps*through, battery-volts, 1e-9, supply)
		assert.InDelta(t, amps, drawn, 1e-9, supply)
	}
	v.Camera.CurrentA = 500 // no circuit keeps it up
	m := NewModel(v)
	var pt Point
	m.Solve(&Condition{Sign: []int8{1, 1, 0}, Electrical: true, WaterC: water}, m.NewParams(), &pt, nil)
	assert.InDelta(t, 0, pt.Volts, fadingV)
}
