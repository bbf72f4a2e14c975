package forecast_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/forecast"
	"sagline/session"
	"sagline/session/quantity"
)

// Guesses of what was meant.
func TestGuess(t *testing.T) {
	volts, _ := session.Find("battery_v")
	speed, _ := session.Find("speed_m_s")
	amps := forecast.Expected{Quantity: quantity.CurrentA, Value: 7.4, SD: 0.1, Low: 7.2, High: 7.6}
	bat := forecast.Expected{Quantity: quantity.BatteryV, Value: 12.3, SD: 0.05, Low: 12.2, High: 12.4}
	run := forecast.Expected{Quantity: quantity.Speed, Value: 0.5, SD: 0.02, Low: 0.46, High: 0.54}
	climb := forecast.Expected{Quantity: quantity.Trim, Value: -40, SD: 4, Low: -48, High: -32}
	trim, _ := session.Find("trim_g")
	value := func(c *session.Column, x float64) session.Value {
		return session.Value{X: c.ToBase(x), Entered: x, Column: c}
	}
	for _, c := range []struct {
		of   forecast.Expected
		v    session.Value
		slip forecast.Slip
		want float64
	}{
		{bat, value(volts, 123), forecast.DecimalPoint, 12.3}, {bat, value(volts, 1.23), forecast.DecimalPoint, 12.3}, {bat, value(volts, 1230), forecast.DecimalPoint, 12.3},
		{bat, value(volts, 0.123), forecast.DecimalPoint, 12.3}, {bat, value(volts, 7.4), forecast.WrongColumn, 7.4}, {bat, value(volts, 13.2), forecast.SwappedDigits, 12.3},
		{bat, value(volts, 21.3), forecast.SwappedDigits, 12.3}, {climb, value(trim, 40), forecast.WrongSign, -40}, {run, value(speed, 1.6404), forecast.WrongUnit, 0.5},
	} {
		g, ok := c.of.Guess(c.v, []forecast.Expected{bat, amps})
		require.True(t, ok, "%v", c.v.Entered)
		assert.Equal(t, c.slip, g.Slip, "%v", c.v.Entered)
		assert.InDelta(t, c.want, g.Meant, 1e-4)
		if c.slip == forecast.WrongColumn {
			assert.Equal(t, quantity.CurrentA, g.Quantity)
		}
		if c.slip == forecast.WrongUnit {
			assert.Equal(t, "ft/s", g.Unit)
		}
	}
	_, ok := bat.Guess(value(volts, 5.5), []forecast.Expected{bat, amps})
	assert.False(t, ok)
	for sd, told := range map[float64]bool{1.4: true, 1.6: false} { // a fifth of 7.4: any number might be that
		vague := amps
		vague.SD, vague.Low, vague.High = sd, 7.4-2*sd, 7.4+2*sd
		_, ok := bat.Guess(value(volts, 7.4), []forecast.Expected{vague})
		assert.Equal(t, told, ok, "± %g", sd)
	}
	timed := value(speed, 0)
	timed.Run, timed.Entered, timed.X = 10, 200, 0.05
	timed.Column, _ = session.Find("run_s")
	g, ok := run.Guess(timed, nil)
	require.True(t, ok)
	assert.InDelta(t, 20, g.Meant, 1e-9, "a tenth of the seconds is ten times the speed")
	assert.False(t, bat.Surprising(12.47))
	assert.False(t, bat.Surprising(12.13))
	assert.True(t, bat.Surprising(12.55))
	assert.True(t, bat.Surprising(12.05))
	bat.High = 12.5 // a range need not be even about its value
	assert.InDelta(t, 1.96, bat.Off(12.5), 0.01)
	assert.InDelta(t, -1.96, bat.Off(12.2), 0.01)
}
