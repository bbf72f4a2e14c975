package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/simulate"
)

// Each dive's own estimates rest on its own lines, and those of a change hold it whether or not the dive alone would show it.
func TestEstimatesOfDives(t *testing.T) {
	r := scenario{change: at(predict.LoopOhm, 0.15)}.try(t, 3)
	for d, dive := range r.Dives {
		e := dive.Estimates["excess_resistance_ohm"]
		assert.Less(t, e.Low, e.Value)
		assert.Less(t, e.Value, e.High)
		if d+1 >= onset {
			assert.InDelta(t, 0.15, e.Value, 0.05, "dive %d", d+1)
		} else {
			assert.InDelta(t, 0, e.Value, 0.04, "dive %d", d+1)
		}
	}
	assert.NotContains(t, r.Dives[3].Estimates, "insulation_megohm", "never read")
	hardly := scenario{change: at(predict.LoopOhm, 0.15), season: func(s *simulate.Season) { s.Without = simulate.VoltsOnly }}.try(t, 3)
	require.NotEmpty(t, hardly.Findings)
	told, alone := 0, 0
	for d := onset - 1; d < len(hardly.Dives); d++ {
		holds := func(low, high float64) int {
			if low <= 0.15 && 0.15 <= high {
				return 1
			}
			return 0
		}
		e, x := hardly.Dives[d].Estimates["excess_resistance_ohm"], hardly.fit.Departure(d, predict.LoopOhm)
		told, alone = told+holds(e.Low, e.High), alone+holds(x.Low, x.High)
	}
	assert.GreaterOrEqual(t, told, 6, "of eight")
	assert.LessOrEqual(t, alone, 4, "by how common causes are alone")
}

// All dives tell more of the vehicle when sound than its baseline does, and what
// changed is not taken for it.
func TestStatics(t *testing.T) {
	r := scenario{change: at(predict.LoopOhm, 0.2)}.try(t, 3)
	base := r.fit.OfBaseline()
	i := 0
	for j, at := range r.fit.Space.Static {
		if r.fit.Space.All[at] == predict.LoopOhm {
			i = j
		}
	}
	assert.Less(t, r.Statics.Cov.At(i, i), base.Cov.At(i, i))
	assert.InDelta(t, base.Mean[i], r.Statics.Mean[i], 0.03)
	early := fitOf(t, r, 4)
	assert.Equal(t, early.OfBaseline(), drift.Analyse(early).Statics)
}

// What readings cannot separate is said, with the one that would.
func TestRemarks(t *testing.T) {
	r := scenario{season: func(s *simulate.Season) { s.Without = simulate.VoltsOnly }}.try(t, 3)
	const open = `one dive's readings leave (excess loop resistance|thrust) open: .* would take ±[\d.]+( Ω)? to ±`
	early := r.until(t, 5)
	require.NotEmpty(t, early.Remarks)
	assert.Regexp(t, open, early.Remarks[0])
	require.Equal(t, findings.Sound, trendOf(t, r.Report, "excess_resistance_ohm").State)
	assert.Regexp(t, `^only all dives together tell excess loop resistance: in one, resistance and thrust hardly separate; .* would take its ±[\d.]+ Ω to ±`, r.Remarks[0])
	assert.Empty(t, scenario{}.try(t, 3).Remarks)
}
