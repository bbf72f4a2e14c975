package drift_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
)

// A battery that was used the day before lies some tenths of a volt lower for two dives: that is no other
// battery. One that lies there for good is.
func TestAPartlyChargedBattery(t *testing.T) {
	low := func(until int) *result {
		return scenario{world: "measured", season: between(onset, until, at(predict.OpenCircuitV, -0.6))}.try(t, 91)
	}
	r := low(onset + 2)
	for n := onset; n < onset+4; n++ {
		rep := r.until(t, n)
		assert.Empty(t, rep.Alarms, "dive %d", n)
		assert.NotContains(t, named(rep), "not_logged:battery", "dive %d", n)
	}
	r = low(someDives + 1)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, "not_logged:battery", r.Findings[0].Fault)
}
