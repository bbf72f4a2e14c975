package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/findings"
	"sagline/predict/forecast"
	"sagline/session/quantity"
)

// What to read is said with what has to run for it.
func TestReadingsInWords(t *testing.T) {
	for want, c := range map[string]struct {
		forecast.Reading
		thrusters string
	}{
		"a timed climb with everything off":                           {forecast.Reading{Climbing: true, Quantity: quantity.Climb}, "off"},
		"an ohmmeter on the loop, battery unplugged":                  {forecast.Reading{Quantity: quantity.LoopOhm}, "off"},
		"a meter from the power pair to the water, battery unplugged": {forecast.Reading{Quantity: quantity.Insulation}, "off"},
		"battery voltage with everything off":                         {forecast.Reading{Quantity: quantity.BatteryV}, "off"},
		"current with port + starboard":                               {forecast.Reading{Quantity: quantity.CurrentA}, "port + starboard"},
		"current with port + starboard, held still":                   {forecast.Reading{Quantity: quantity.CurrentA, Held: true}, "port + starboard"},
	} {
		assert.Equal(t, want, reading(c.Reading, c.thrusters))
	}
}

// The reading that tells a part from its likeliest alternative, rounded to what tells.
func TestTheReadingThatTells(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05, 0, 0, 0.2, 0.2, 0.2)
	a.also(predict.FrictionA, 0.05, 0, 0, 0.3, 0.3, 0.3)
	step := func(cause string) hypothesis {
		return hypothesis{cause: a.index(cause), pattern: findings.Step, onset: a.r.Baseline + 2}
	}
	e := explained{hypothesis: step("power_loop"), stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
	other := step("friction")
	e.stays[e.cause], e.stays[other.cause], e.best[other.cause] = 0.9, 0.1, other
	test := a.test(&e, &explanation{parts: []explained{e}})
	require.NotNil(t, test)
	assert.Equal(t, "friction", test.From)
	require.NotNil(t, test.Read)
	assert.Equal(t, "vehicle voltage with port + starboard, held still: about 7.8 V if it is excess loop resistance, 8.5 if friction", test.Words)
}
