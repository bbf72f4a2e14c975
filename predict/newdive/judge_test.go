package newdive

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A reading beyond 3.5 standard deviations is in doubt, one beyond 2.5 where a slip of its own explains it better by e^2.5.
func TestJudge(t *testing.T) {
	volts, _ := session.Find("battery_v")
	of := func(q quantity.Quantity, x, sd float64) forecast.Expected {
		return forecast.Expected{Quantity: q, Value: x, SD: sd, Low: x - vehicle.Z95*sd, High: x + vehicle.Z95*sd}
	}
	for _, c := range []struct {
		typed, value, sd float64
		doubted          bool
		why              string
		meant            string
	}{
		{12.24, 12, 0.1, false, "", ""}, {12.34, 12, 0.1, false, "", ""}, {12.36, 12, 0.1, true, "", ""}, {11.64, 12, 0.1, true, "", ""}, {11.66, 12, 0.1, false, "", ""},
		{12.21, 12.12, 0.03, true, "digits changed places?", "12.12"},  // 3 off, or none
		{12.21, 12.157, 0.02, false, "", ""},                           // 2.65 off, or 1.85: 3.6 in twice the logarithm
		{12.21, 12.147, 0.02, true, "digits changed places?", "12.12"}, // 3.15 off, or 1.35: 8.1
		{12.21, 12.142, 0.03, false, "", ""},                           // 2.27 off
		{1.21, 12.1, 0.1, true, "decimal point?", "12.1"}, {-12.1, 12.1, 0.1, true, "sign?", "12.1"},
		{8.1, 12.1, 0.1, true, wrongColumn + "current_a", ""}, {8.1, 8.4, 0.1, false, "", ""},
	} {
		want, b := of(quantity.BatteryV, c.value, c.sd), Doubt{Column: volts}
		all := []forecast.Expected{want, of(quantity.CurrentA, 8.1, 0.2)}
		assert.Equal(t, c.doubted, b.judge(session.Value{X: c.typed, Entered: c.typed, Column: volts}, want, all), "%+v", c)
		assert.Equal(t, c.why, b.Why, "%+v", c)
		assert.Equal(t, c.meant, b.Instead["battery_v"], "%+v", c)
	}
}
