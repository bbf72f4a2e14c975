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

// Hover weights scatter by 5 g, of vehicles beyond 8 kg by as much more as the root of their weight: air hides in a larger frame.
func TestScatterOfHoverWeights(t *testing.T) {
	for kg, want := range map[float64]float64{2: 5, 8: 5, 32: 10, 128: 20} {
		v := vehicle.Example()
		v.Hull.DisplacedKG = kg
		assert.InDelta(t, want, Parameters(predict.NewModel(v))[predict.TrimG].Scatter, 1e-9, "%g kg", kg)
	}
}

// What lights draw is hardly known where the file says neither current nor resistor, else to a twentieth.
func TestLightsOfTheFile(t *testing.T) {
	v := vehicle.Example()
	v.Lights.CurrentA, v.Lights.ResistorOhm = 0, nil
	assert.Equal(t, Parameter{Mean: 1, Beside: 0.8}, lightsA(v))
	v.Lights.CurrentA = 0.5
	assert.Equal(t, Parameter{Beside: 0.025}, lightsA(v))
	v.Lights.CurrentA, v.Lights.ResistorOhm, v.Lights.LEDV = 0, []float64{20, 20}, 2
	assert.InDelta(t, 0.05*(v.MostV()-2)/10, lightsA(v).Beside, 1e-9)
	v.Lights.LEDV = v.Battery.NominalV
	assert.Positive(t, lightsA(v).Beside, "a full battery has more than its label")
	v.Lights.LEDV = v.MostV() + 1
	assert.Zero(t, lightsA(v).Beside)
}

// The table of what is assumed of a lead-acid vehicle of which little is known: mean, one standard deviation beside the
// keys, and scatter.
func TestTableOfParameters(t *testing.T) {
	got := of(t, "", "test_a = 6")
	for k, want := range map[int]Parameter{
		predict.SagVPerMinute: {Mean: 0.004}, predict.RestedShare: {Mean: 0.5, Beside: 0.4}, predict.BatteryOhm: {Beside: 1e-5, Scatter: 0.0015}, predict.BatteryPerK: {Mean: 0.006, Beside: 0.004},
		predict.BatteryPerSpent: {Mean: 0.3, Beside: 0.3}, predict.LoopOhm: {Scatter: 0.008}, predict.LogInsulation: {Beside: 3, Scatter: 0.5},
		predict.ReelK: {Mean: 2, Beside: 3, Scatter: 5}, predict.LogTorque: {Beside: 0.08}, predict.LogThrust: {Scatter: 0.015}, predict.FrictionA: {Scatter: 0.015},
		predict.WarmK: {Mean: 10, Beside: 10, Scatter: 6}, predict.MagnetPerK: {Beside: 0.0006}, predict.LogDrag: {Scatter: 0.01},
		predict.StreamMS: {Scatter: 0.03}, predict.LogVehicleV: {Beside: 0.007}, predict.LogClamp: {Beside: 0.01},
		predict.ClampZeroA: {Beside: 0.05, Scatter: 0.02}, predict.LogSpeed: {Scatter: 0.01}, predict.LogPull: {Scatter: 0.01}, predict.LightsA: {Mean: 1, Beside: 0.8},
		predict.OfThruster(0, predict.BranchOhm): {Scatter: 0.005}, predict.OfThruster(0, predict.LogOneThrust): {Beside: 0.05, Scatter: 0.006},
		predict.OfThruster(0, predict.LogOneTorque): {Beside: 0.08}, predict.OfThruster(0, predict.OneFrictionA): {Beside: 0.06, Scatter: 0.006},
		predict.OfThruster(0, predict.LogWeakness): {Beside: 0.04},
	} {
		p := got[k]
		if k == predict.SagVPerMinute {
			p.Beside = 0 // by the battery's label
		}
		assert.Equal(t, want, Parameter{Mean: p.Mean, Beside: p.Beside, Scatter: p.Scatter}, k)
	}
	assert.Equal(t, 0.15, of(t, "", "")[predict.OfThruster(0, predict.LogOneTorque)].Beside)
	assert.Equal(t, Parameter{Mean: 0.1, Beside: 0.15}, perSpent(&vehicle.Vehicle{Battery: vehicle.Battery{Chemistry: "lithium-ion"}}))
}
