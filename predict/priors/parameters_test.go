package priors

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/vehicle"
)

// of are the parameters of a vehicle that its file says little of, with some lines more
// of its battery and of its thruster.
func of(t *testing.T, battery, thruster string) []Parameter {
	t.Helper()
	v, err := vehicle.Read(strings.NewReader("name = \"little\"\n[battery]\nnominal_v = 12\n"+battery+
		"\n[tether]\nlength_m = 30\n[tether.power]\narea_mm2 = 2.5\n[[thruster]]\nname = \"port\"\naxis = \"surge\"\n"+thruster), vehicle.FileName)
	require.NoError(t, err)
	return Parameters(predict.NewModel(v))
}

// What keys leave exactly known has no prior of rounding's width, which would be held for sure.
func TestRoundingIsNoPrior(t *testing.T) {
	for _, thruster := range []string{"armature_ohm = 1.3", "no_load_a = 0.17", "test_a = 3.1\ntest_n = 7.3", "armature_ohm = 0.7\n[[thruster]]\nname = \"lift\"\naxis = \"heave\"\nno_load_a = 0.17"} {
		for k, p := range of(t, "", thruster) {
			assert.True(t, p.Prior == 0 || p.Prior > leastSlope, "%s: %d", thruster, k)
		}
	}
}

// Thrusters whose current nobody measured differ more than those of one whose was.
func TestThrustersDiffer(t *testing.T) {
	k := predict.OfThruster(0, predict.LogOneTorque)
	measured, guessed := of(t, "", "test_a = 6")[k].Beside, of(t, "", "")[k].Beside
	assert.Greater(t, guessed, 1.5*measured)
}

// The resistance of lithium cells rises more in the cold than that of lead, and
// either rises: what is not known of it leaves that little doubt.
func TestBatteriesInTheCold(t *testing.T) {
	lead := of(t, "chemistry = \"agm\"", "")[predict.BatteryPerK]
	for _, chemistry := range []string{"lithium-ion", "lithium-iron"} {
		lithium := of(t, "chemistry = \""+chemistry+"\"", "")[predict.BatteryPerK]
		assert.Greater(t, lithium.Mean, 1.5*lead.Mean, chemistry)
		assert.Greater(t, lithium.Mean, lithium.Beside, chemistry)
	}
	assert.Greater(t, lead.Mean, lead.Beside)
}

// What lights draw is learnt only where the file says neither current nor resistor.
func TestLightsOfTheFile(t *testing.T) {
	v := vehicle.Example()
	v.Lights.CurrentA, v.Lights.ResistorOhm = 0, nil
	assert.Positive(t, lightsA(v).Beside)
	v.Lights.CurrentA = 0.5
	assert.Zero(t, lightsA(v).Beside)
	v.Lights.CurrentA, v.Lights.ResistorOhm = 0, []float64{20}
	assert.Zero(t, lightsA(v).Beside)
}
