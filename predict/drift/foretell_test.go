package drift_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// ramped is a season in which the loop gains 30 mΩ a dive from dive 8 on.
func ramped(t *testing.T) (*fit.Result, *drift.Report) {
	t.Helper()
	v := simulate.Fleet(3)
	log := simulate.Log(v, simulate.Season{Dives: 18, Seed: 11, Drift: func(d int, p predict.Params) {
		p[predict.LoopOhm] += 0.03 * float64(max(0, d-7))
	}})
	r, err := fit.Fit(v, log, nil)
	require.NoError(t, err)
	return r, drift.Analyse(r)
}

// What is foretold of a ramp agrees with the vehicle solved at the resistance
// that it will then have.
func TestForetoldSpeedIsTheModels(t *testing.T) {
	r, rep := ramped(t)
	told, ok := drift.Foretell(r, rep, 0)
	require.True(t, ok)
	require.Equal(t, drift.Ramp, rep.Trends[0].Pattern)
	assert.Less(t, told.Now, told.Sound)
	p := drift.Believed(r, rep)
	c := predict.Condition{WaterC: 15, TetherOutM: r.Model.Vehicle.Tether.LengthM}
	assert.InDelta(t, advice.AllAhead(r.Model, c, p).SpeedMS, told.Now, 1e-12)
	p[predict.LoopOhm] += told.DivesToHalf * rep.Trends[0].PerDive.Value
	assert.InDelta(t, told.Sound/2, advice.AllAhead(r.Model, c, p).SpeedMS, 1e-3*told.Sound)
	p = drift.Believed(r, rep)
	p[predict.LoopOhm] += rep.Trends[0].Limit - rep.Trends[0].Level.Value
	assert.InDelta(t, advice.AllAhead(r.Model, c, p).SpeedMS, told.AtLimit, 1e-9)
}

func TestForetellsNothingOfASteadyOrWeightlessDrift(t *testing.T) {
	r, rep := ramped(t)
	told, ok := drift.Foretell(r, rep, 1)
	assert.True(t, ok)
	assert.True(t, math.IsNaN(told.DivesToHalf), "thrust is steady")
	_, ok = drift.Foretell(r, rep, 3)
	assert.False(t, ok, "water taken in does not slow the vehicle ahead")
}

// A resistance that was there as built is never believed to have gone below
// nothing.
func TestBelievedResistancesAreNotNegative(t *testing.T) {
	r, rep := ramped(t)
	for i, k := range drift.Kinds(r.Model.Vehicle) {
		if k.Param == predict.LoopOhm || k.Param >= predict.FirstBranch {
			rep.Trends[i].Level.Value = -5
		}
	}
	p := drift.Believed(r, rep)
	assert.Equal(t, -r.Model.Vehicle.Tether.Power.JointsOhm, p[predict.LoopOhm])
	for i, th := range r.Model.Vehicle.Thrusters {
		assert.Equal(t, -th.BranchOhm, p[predict.FirstBranch+i])
	}
}

func TestEstimatesInWords(t *testing.T) {
	for want, e := range map[string]drift.Estimate{
		"0.246 ± 0.012": {0.24612, 0.2341, 0.2581}, "54 ± 12": {53.9, 41.6, 66.1}, "0.5": {0.5, 0.5, 0.5}, "0.00 ± 0.20": {-0.001, -0.2, 0.2},
	} {
		assert.Equal(t, want, e.String())
	}
	assert.Equal(t, "over 99 %", drift.Sure(0.999))
	assert.Equal(t, "87 %", drift.Sure(0.873))
}
