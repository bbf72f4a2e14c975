package drift

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
)

// The corroding joint stands in what is believed, in the parameters' own
// units, and the battery's resistance is absolute in the report.
func TestBelievedTakesTheTrendsLevels(t *testing.T) {
	a := exampleAnalysis(t)
	rep := Analyse(a.r)
	p := Believed(a.r, rep)
	assert.InDelta(t, a.r.Base[predict.LoopOhm]+rep.Trends[0].Level.Value, p[predict.LoopOhm], 1e-12)
	assert.Greater(t, rep.Trends[0].Level.Value, 0.15)
	assert.InDelta(t, a.r.Base[predict.BatteryOhm], p[predict.BatteryOhm], 0.003)
	assert.Equal(t, a.r.Model.Vehicle.Battery.NominalV, p[predict.OpenCircuitV])
}

func TestDivesToHalf(t *testing.T) {
	falls := func(rate float64) func(float64) float64 { return func(d float64) float64 { return 1 - rate*d } }
	assert.InDelta(t, 50, divesToHalf(falls(0.01), 0.5), 0.05)
	assert.True(t, math.IsNaN(divesToHalf(falls(0.001), 0.5)))
	assert.Zero(t, divesToHalf(falls(0.01), 2))
}
