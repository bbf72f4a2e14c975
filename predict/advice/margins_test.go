package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// IEC 60364-5-54: k = 115 for PVC from 70 to 160 °C, 143 from 30 to 160 °C;
// 2.5 mm² at 300 A reaches it in 0.918 s.
func TestAdiabaticConstant(t *testing.T) {
	assert.InDelta(t, 115.0044814865, adiabaticK(70, 160), 1e-9)
	assert.InDelta(t, 142.8952604460, adiabaticK(30, 160), 1e-9)
}

// A relay maker's note: 320 Ω at 25 °C is 443.3 Ω at 125 °C, and a pull-in of
// 13.0 V becomes 18 V.
func TestRelayWindingGetsHot(t *testing.T) {
	assert.InDelta(t, 443.3, 320*hotter(25, 125), 0.05)
	assert.InDelta(t, 18.0, 13*hotter(25, 125), 0.05)
}

// A coil behind a shared return sees every other coil's current: three coils
// of 100 Ω on wires of 1 Ω with one return of 1 Ω get 100/(100+1+3) each.
func TestRelaysOnASharedReturn(t *testing.T) {
	v := testVehicle()
	v.Relay = vehicle.Relay{CoilOhm: 100, CoilV: 12, PullInV: 9}
	v.Tether.Signal = vehicle.Conductor{OhmKM: 1000 / v.Tether.LengthM, SharedReturn: 1}
	m := predict.NewModel(v)
	c := &predict.Condition{WaterC: 20}
	assert.InDelta(t, 12*100/104.0, relayCoilV(m, c, 12), 1e-9)
	v.Tether.Signal.SharedReturn = 0
	assert.InDelta(t, 12*100/102.0, relayCoilV(m, c, 12), 1e-9)
}

// A dead short at the far end: 12.6 V over 0.03 + 0.44 Ω is 26.8085 A, as
// ngspice 39 solves testdata/tether.cir with its load shorted.
func TestFarEndShort(t *testing.T) {
	v := testVehicle()
	v.Battery = vehicle.Battery{NominalV: 12.6, ResistanceOhm: 0.03}
	v.Tether.LengthM, v.Tether.Power = 1, vehicle.Conductor{OhmKM: 210, Parallel: 1, JointsOhm: 0.02}
	m := predict.NewModel(v)
	got := NewMargins(m, &predict.Condition{WaterC: 20}, m.NewParams(), 12, 1, 10)
	assert.InDelta(t, 26.808510638, got.FarEndShortA, 1e-8)
}

// Lights of 3 V LEDs behind two 100 Ω resistors on 2 Ω of signal wire and
// return: 12 V leaves (12 + 2·0.02·3)/(1 + 2·0.02) V across them.
func TestLightsOnASignalConductor(t *testing.T) {
	v := testVehicle()
	v.Tether.Signal = vehicle.Conductor{OhmKM: 1000 / v.Tether.LengthM, SharedReturn: 1}
	v.Lights = vehicle.Lights{LEDV: 3, ResistorOhm: []float64{100, 100}, Supply: "signal"}
	m := predict.NewModel(v)
	got, ok := signalLightsV(m, &predict.Condition{WaterC: 20}, 12)
	assert.True(t, ok)
	assert.InDelta(t, (12+2*0.02*3)/(1+2*0.02), got, 1e-12)
	v.Lights = vehicle.Lights{CurrentA: 0.5, Supply: "signal"}
	got, _ = signalLightsV(m, &predict.Condition{WaterC: 20}, 12)
	assert.InDelta(t, 11, got, 1e-12)
	v.Lights.Supply = "power"
	_, ok = signalLightsV(m, &predict.Condition{}, 12)
	assert.False(t, ok)
}
