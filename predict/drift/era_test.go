package drift_test

import (
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// corroding are the reports of a simulated log after dives 15 and 20: the power loop gains
// 20 mΩ a dive from dive 8 on, until the joint is re-made before dive 16.
var corroding = sync.OnceValues(func() (bad, mended *findings.Report) {
	r := gaining(20, func(d int, p predict.Params) {
		if d >= 8 && d < 16 {
			p[predict.LoopOhm] += 0.02 * float64(d-7)
		}
	})
	return drift.Analyse(r.Upto(15)), drift.Analyse(r)
})

func gaining(n int, gains func(dive int, p predict.Params)) *fit.Result {
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText), vehicle.FileName)
	if err != nil {
		panic(err)
	}
	log := simulate.Log(v, simulate.Season{Dives: n, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 9, Service: map[int][]string{16: {"joint"}}, Drift: gains})
	r, err := fit.Fit(v, log)
	if err != nil {
		panic(err)
	}
	return r
}

// A service ends an era, which stays as it was seen then.
func TestAServiceEndsAnEra(t *testing.T) {
	bad, mended := corroding()
	before, after := trendOf(t, bad, "excess_resistance_ohm"), trendOf(t, mended, "excess_resistance_ohm")
	require.Len(t, after.Eras, 1)
	era := after.Eras[0]
	assert.Equal(t, []int{0, 15}, []int{era.From, era.To})
	assert.Equal(t, findings.Ramp, era.Pattern)
	assert.InDelta(t, before.PerDive.Value, era.PerDive.Value, 1e-6)
	assert.InDeltaSlice(t, values(before.Levels), values(era.Levels), 1e-6)
	assert.Equal(t, 15, after.From)
	assert.Empty(t, before.Eras)
	assert.Empty(t, trendOf(t, mended, "ingress_g").Eras, "what a service does not touch goes on")
}

func values(es []findings.Estimate) (out []float64) {
	for _, e := range es {
		out = append(out, e.Value)
	}
	return out
}

// When it began and where it will be are probabilities.
func TestBegunAndAheadAreProbabilities(t *testing.T) {
	bad, _ := corroding()
	trend := trendOf(t, bad, "excess_resistance_ohm")
	sum, at := 0.0, 0.0
	for d, p := range trend.Begun {
		sum, at = sum+p, at+p*float64(d+1)
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.InDelta(t, 8, at, 1.5, "mean onset")
	require.NotEmpty(t, trend.Ahead)
	assert.InDelta(t, trend.Level.Value, trend.Ahead[0].Level.Value, 0.01)
	for k := 1; k < len(trend.Ahead); k++ {
		assert.Greater(t, trend.Ahead[k].Past, trend.Ahead[k-1].Past)
		assert.InDelta(t, trend.PerDive.Value, trend.Ahead[k].Level.Value-trend.Ahead[k-1].Level.Value, 1e-9)
	}
	left := trend.DivesToLimit
	for k, a := range trend.Ahead { // the median is where half of it is past
		assert.Equal(t, float64(k) >= left.Value, a.Past >= 0.5, "%d dives ahead", k)
	}
	assert.Nil(t, trendOf(t, bad, "ingress_g").Begun)
}

// Another battery's estimates are beside its level: what it differs by.
func TestAnotherBatteryDiffersByItsEstimates(t *testing.T) {
	rep := drift.Analyse(gaining(14, func(d int, p predict.Params) {
		if d >= 8 {
			p[predict.BatteryOhm] += 0.04
			p[predict.OpenCircuitV] -= 0.4
		}
	}))
	trend := trendOf(t, rep, "not_logged:battery")
	assert.InDelta(t, 0.04, trend.Level.Value, 0.01)
	assert.InDelta(t, trend.Level.Value, rep.Dives[13].Estimates["not_logged:battery"].Value, 0.01)
	assert.InDelta(t, 0, rep.Dives[2].Estimates["not_logged:battery"].Value, 0.01)
}

// What was not rebuilt goes on: a fault of the power loop is as sure after other propellers as before.
func TestAFaultOutlastsARebuild(t *testing.T) {
	const changed = 17
	v, err := vehicle.Read(strings.NewReader(simulate.VehicleText+"\n[[change]]\ndive = \"17\"\n\"thruster.port.prop_pitch_mm\" = 39\n\"thruster.starboard.prop_pitch_mm\" = 39\n"), vehicle.FileName)
	require.NoError(t, err)
	log := simulate.Log(v, simulate.Season{Dives: changed + 3, Start: time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), Seed: 7919,
		Without: []quantity.Quantity{quantity.VehicleV, quantity.LoopOhm},
		Drift: func(d int, p predict.Params) {
			if d >= 14 {
				p[predict.LoopOhm] += 0.3
			}
		}})
	r := wholly(t, v, log, nil)
	for _, n := range []int{changed, changed + 1, changed + 3} {
		loopOpen(t, r.until(t, n))
	}
}

// Of two batteries that are used by turns, the first dives' among them, each is held to its own first dives: what both have worse
// is said of either, and of one alone while that is used.
func TestBatteriesByTurns(t *testing.T) {
	worn := func(which ...string) *findings.Report {
		r := scenario{season: func(s *simulate.Season) {
			s.Battery = map[int]string{}
			label := func(d int) string { return []string{"A", "B"}[d%2] }
			for d := range s.Dives + 1 {
				s.Battery[d] = label(d)
			}
			s.Drift = func(d int, p predict.Params) {
				if label(d) == "B" { // another of the same make
					p[predict.BatteryOhm] += 0.01
					p[predict.OpenCircuitV] -= 0.1
				}
				if d >= 14 && slices.Contains(which, label(d)) {
					p[predict.BatteryOhm] += 0.08
				}
			}
		}}.try(t, 3)
		return r.Report
	}
	assert.Empty(t, worn().Alarms)
	both := worn("A", "B")
	require.Len(t, both.Alarms, 1)
	assert.Equal(t, "battery_resistance_ohm", both.Alarms[0].Quantity)
	assert.Nil(t, both.Alarms[0].ClearedDive)
	one := worn("A")
	require.Len(t, one.Alarms, 1, "it goes on when it is used again")
	assert.Equal(t, "battery_resistance_ohm", one.Alarms[0].Quantity)
	assert.Equal(t, "14", one.Alarms[0].RaisedDive)
	assert.Nil(t, one.Alarms[0].ClearedDive)
	assert.False(t, one.Alarms[0].OtherBattery)
	const aside = "battery B had an open alarm when it was last used, at dive 17: battery resistance, step since dive 15; look at it before it is used again"
	assert.NotContains(t, one.Remarks, aside)
	other := worn("B")
	assert.Contains(t, other.Remarks, aside)
	assert.Empty(t, other.Findings, "of the one in use")
	require.Len(t, other.Alarms, 1)
	assert.True(t, other.Alarms[0].OtherBattery)
	assert.Equal(t, "18", *other.Alarms[0].ClearedDive)
}
