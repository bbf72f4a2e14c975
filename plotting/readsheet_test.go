package plotting

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Between 0.02 and 50 MΩ lies 1 MΩ, not 25.
func TestHalfway(t *testing.T) {
	assert.InDelta(t, 1.0, halfway(quantity.Insulation, 0.02, 50), 1e-12)
	assert.InDelta(t, 10.0, halfway(quantity.VehicleV, 9, 11), 1e-12)
}

// A reading is to be taken again where a fault's value lies near a sound one's.
func TestHowOften(t *testing.T) {
	assert.Equal(t, "one reading is enough", howOften(4))
	assert.Equal(t, "take it three times, as yes and no lie near each other", howOften(3.9))
}

// Insulation has no most, and is written without an exponent.
func TestSheetOfInsulation(t *testing.T) {
	v := vehicle.Example()
	r := &fit.Result{Model: predict.NewModel(v), Calibrated: mixture.Calibrated{Space: priors.New(predict.NewModel(v))}}
	column := session.ColumnIn(quantity.Insulation.String(), v.Units)
	for low, want := range map[float64]string{193: "190 MΩ or more", 2.34: "2.3 MΩ or more", 0.2: "1 MΩ or more"} {
		x := &forecast.Reading{Quantity: quantity.Insulation, Expected: 400, Low: low, High: 900, SD: 1}
		assert.Equal(t, want, sheetReading(r, x, column, 0).Expect)
	}
}
