package fit

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// of are the parameters of a vehicle that its file says little of, with some lines more
// of its battery and of its thruster.
func of(t *testing.T, battery, thruster string) []parameter {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader("name = \"little\"\n[battery]\nnominal_v = 12\n"+battery+
		"\n[tether]\nlength_m = 30\n[tether.power]\narea_mm2 = 2.5\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"+thruster), vehicle.FileName)
	require.NoError(t, err)
	return parameters(predict.NewModel(v))
}

// What keys leave exactly known has no prior of rounding's width, which would be held for sure.
func TestRoundingIsNoPrior(t *testing.T) {
	for _, thruster := range []string{"armature_ohm = 1.3", "no_load_a = 0.17", "test_a = 3.1\ntest_n = 7.3", "armature_ohm = 0.7\n[[thruster]]\nname = \"lift\"\naxis = \"heave\"\nno_load_a = 0.17"} {
		for k, p := range of(t, "", thruster) {
			assert.True(t, p.prior == 0 || p.prior > leastSlope, "%s: %d", thruster, k)
		}
	}
}

// Thrusters whose current nobody measured differ more than those of one whose was.
func TestThrustersDiffer(t *testing.T) {
	k := predict.OfThruster(0, predict.LogOneTorque)
	measured, guessed := of(t, "", "test_a = 6")[k].beside, of(t, "", "")[k].beside
	assert.Greater(t, guessed, 1.5*measured)
}

// The resistance of lithium cells rises more in the cold than that of lead, and
// either rises: what is not known of it leaves that little doubt.
func TestBatteriesInTheCold(t *testing.T) {
	lead := of(t, "chemistry = \"agm\"", "")[predict.BatteryPerK]
	for _, chemistry := range []string{"lithium-ion", "lithium-iron"} {
		lithium := of(t, "chemistry = \""+chemistry+"\"", "")[predict.BatteryPerK]
		assert.Greater(t, lithium.mean, 1.5*lead.mean, chemistry)
		assert.Greater(t, lithium.mean, lithium.beside, chemistry)
	}
	assert.Greater(t, lead.mean, lead.beside)
}

// A voltage, at the battery or at the vehicle, is far from rest above the battery's other ones, with whatever on; below
// only at the battery at rest, since under load the wiring may take as much. Other columns never are.
func TestFarFromRest(t *testing.T) {
	rest, loaded := &session.Line{}, &session.Line{Drives: []session.Drive{{Name: "port"}}}
	for _, c := range []struct {
		line  *session.Line
		q     quantity.Quantity
		about float64
		value float64
		want  bool
	}{
		{rest, quantity.BatteryV, 12.3, 12.9, false}, {loaded, quantity.BatteryV, 12.3, 12.9, false},
		{rest, quantity.BatteryV, 12.3, 21.3, true}, {loaded, quantity.BatteryV, 12.3, 21.3, true},
		{rest, quantity.BatteryV, 12.3, 8, true}, {loaded, quantity.BatteryV, 12.3, 8, false},
		{loaded, quantity.VehicleV, 12.3, 12.9, false}, {loaded, quantity.VehicleV, 12.3, 21.3, true}, {rest, quantity.VehicleV, 12.3, 8, false},
		{loaded, quantity.CurrentA, 12.3, 21.3, false},
		{rest, quantity.BatteryV, 0, 12.6, false}, // not known about what
	} {
		d := &dive{about: c.about}
		assert.Equal(t, c.want, d.farFromRest(&Cell{Line: c.line, Quantity: c.q, Value: c.value}), "%+v", c)
	}
}
