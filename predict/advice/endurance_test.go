package advice

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/vehicle"
)

// The rested voltages are those of the published table, and a battery may be
// drawn to the charge at which minimum_v is reached.
func TestUsableChargeAgainstBCITable(t *testing.T) {
	for i, volts := range []float64{11.89, 12.06, 12.24, 12.45, 12.65} { // BCI, at 26.7 °C
		b := &vehicle.Battery{NominalV: 12.65, MinimumV: volts, Chemistry: "lead-acid"}
		assert.InDelta(t, 1-float64(i)/4, usable(b, 0, 0.05), 1e-9)
	}
	b := &vehicle.Battery{NominalV: 12.65, MinimumV: 11.74, Chemistry: "lead-acid"}
	assert.InDelta(t, 0.5, usable(b, 10, 0.05), 1e-9, "12.24 V rested less 0.5 V of sag")
	assert.Equal(t, 0.0, usable(&vehicle.Battery{NominalV: 12.65, MinimumV: 13, Chemistry: "AGM"}, 1, 0.05))
	assert.Equal(t, 1.0, usable(&vehicle.Battery{NominalV: 12.8, MinimumV: 12, Chemistry: "LiFePO4"}, 1, 0.05))
}
