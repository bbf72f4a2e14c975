package predict

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/vehicle"
)

// The rested voltages are those of the published table, and a battery may be
// drawn to the charge at which minimum_v is reached.
func TestUsableChargeAgainstBCITable(t *testing.T) {
	for i, row := range published(t, "battery_soc.csv") {
		assert.Equal(t, row["ocv_V"], leadRestV[len(leadRestV)-1-i])
		b := vehicle.Battery{NominalV: 12.65, MinimumV: row["ocv_V"], Chemistry: "lead-acid"}
		assert.InDelta(t, 1-row["soc_percent"]/100, usable(&b, 0, 0.05), 1e-9)
	}
	b := vehicle.Battery{NominalV: 12.65, MinimumV: 11.74, Chemistry: "lead-acid"}
	assert.InDelta(t, 0.5, usable(&b, 10, 0.05), 1e-9, "12.24 V rested less 0.5 V of sag")
	assert.Equal(t, 0.0, usable(&vehicle.Battery{NominalV: 12.65, MinimumV: 13, Chemistry: "AGM"}, 1, 0.05))
	assert.Equal(t, 1.0, usable(&vehicle.Battery{NominalV: 12.8, MinimumV: 12, Chemistry: "LiFePO4"}, 1, 0.05))
}
