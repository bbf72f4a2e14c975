package drift

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
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
	e := component{hypothesis: step("power_loop"), stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
	other := step("friction")
	e.stays[e.cause], e.stays[other.cause], e.best[other.cause] = 0.9, 0.1, other
	test := a.test(&e, &explanation{components: []component{e}})
	require.NotNil(t, test)
	assert.Equal(t, "friction", test.From)
	require.NotNil(t, test.Read)
	assert.Equal(t, "vehicle voltage with port + starboard: about 8.0 V if it is excess loop resistance, 8.7 if friction", test.Words)
}

// What is read is a quantity that the log has, where one of those tells.
func TestTheReadingThatTellsIsRead(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05, 0, 0, 0.2, 0.2, 0.2)
	a.also(predict.FrictionA, 0.05, 0, 0, 0.3, 0.3, 0.3)
	r := *a.r
	r.Dives = slices.Clone(r.Dives)
	for d := range r.Dives {
		r.Dives[d].Cells = slices.DeleteFunc(slices.Clone(r.Dives[d].Cells), func(c fit.Cell) bool { return c.Quantity == quantity.VehicleV })
	}
	a.r = &r
	e, other := part(a, "power_loop"), part(a, "friction")
	e.stays[other.cause], e.best[other.cause] = 0.1, other.hypothesis
	test := a.test(&e, &explanation{components: []component{e}})
	require.NotNil(t, test)
	assert.Equal(t, "current_a", test.Read.Quantity)
}

// What a component may be instead is the likeliest cause of another family that has a parameter, be it the first, and is likely enough to
// be listed.
func TestRunnerUp(t *testing.T) {
	a := &analysis{causes: append(slices.Clone(propellers), causes.Cause{Name: "charge", Quantity: "v", Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: predict.OpenCircuitV, Per: 1}}}}})}
	a.causes[drag].Amplitudes = []causes.Amplitude{{Terms: []causes.Term{{Param: predict.LogDrag, Per: 1}}}}
	const charge = 5
	best := make([]hypothesis, len(a.causes))
	for c := range best {
		best[c] = hypothesis{cause: c, pattern: findings.Step, onset: 10 + c}
	}
	for name, c := range map[string]struct {
		stays []float64
		want  int // -1: none
	}{
		"drag":                     {[]float64{0.1, 0.5, 0.1, 0.2, 0, 0.1}, drag},
		"the charge":               {[]float64{0.1, 0.5, 0.1, 0.1, 0, 0.2}, charge},
		"its own family alone":     {[]float64{0.3, 0.5, 0.19, 0.005, 0, 0.005}, -1},
		"of which no reading says": {[]float64{0, 0.5, 0, 0.009, 0.4, 0.009}, -1},
	} {
		h, ok := a.runnerUp(&component{hypothesis: hypothesis{cause: ofPort}, stays: c.stays, best: best})
		assert.Equal(t, c.want >= 0, ok, name)
		if c.want >= 0 {
			assert.Equal(t, best[c.want], h, name)
		}
	}
}

// part is a step of a cause two dives after the baseline, nothing else as likely.
func part(a *analysis, cause string) component {
	e := component{hypothesis: hypothesis{cause: a.index(cause), pattern: findings.Step, onset: a.r.Baseline + 2}, stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
	e.stays[e.cause], e.best[e.cause] = 0.9, e.hypothesis
	return e
}

// Where no reading tells an instrument from what else it may be, the instrument is looked at first, that of the finding before
// another; two of the vehicle's parts are left to their checks.
func TestWhatToLookAtWhereNoReadingTells(t *testing.T) {
	const speed, pull = "instrument:speed", "instrument:pull"
	for _, c := range []struct{ this, that, check, then string }{
		{speed, pull, speed, pull}, {pull, speed, pull, speed}, {speed, "drag", speed, "drag"}, {"drag", speed, speed, "drag"}, {"drag", "friction", "", ""},
	} {
		a := plain(predict.LoopOhm, 0.05, 0, 0, 0, 0, 0) // which says nothing of these
		e, other := part(a, c.this), part(a, c.that)
		e.stays[other.cause], e.best[other.cause] = 0.1, other.hypothesis
		test := a.test(&e, &explanation{components: []component{e}})
		if c.check == "" {
			assert.Nil(t, test, "%s, %s", c.this, c.that)
			continue
		}
		if assert.NotNil(t, test, "%s, %s", c.this, c.that) {
			assert.Equal(t, c.that, test.From)
			assert.Equal(t, a.causes[a.index(c.check)].Check+"; if that is in order, it is "+a.causes[a.index(c.then)].Words, test.Words)
		}
	}
}

// A vehicle with a thruster that does nothing has by how much the newest dive shows that.
func TestParamsOfAFailure(t *testing.T) {
	a := learnt(3, 0, nil, nil)
	open := a.index("open:port")
	ohm := predict.OfThruster(0, predict.BranchOhm)
	a.r.Dives[a.n].Summary.Failed = map[causes.Failure]fit.Failed{a.causes[open].Fails: {Quadratic: &a.r.Dives[a.n].Summary.Firm, By: []fit.Departure{{Param: ohm, X: 53, SD: 18}}}}
	e := component{hypothesis: hypothesis{cause: open, pattern: findings.Step, onset: a.n}}
	now := &explanation{components: []component{e}}
	with, ok := a.params(now, &e, e.hypothesis)
	require.True(t, ok)
	without, ok := a.params(now, &e, hypothesis{cause: a.index("drag"), pattern: findings.Step, onset: a.n})
	require.True(t, ok)
	assert.InDelta(t, 53, with[ohm]-without[ohm], 1)
}
