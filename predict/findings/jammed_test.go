package findings

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// What is predicted of a vehicle with a jammed thruster, or one of two, holds once that turns freely, and so it is said; of
// what is wrong besides, that a sound vehicle's numbers do without it.
func TestWithoutAJam(t *testing.T) {
	v := &vehicle.Vehicle{Thrusters: []vehicle.Thruster{{Name: "port"}, {Name: "starboard"}, {Name: "lift"}}}
	port, lift := &causes.Cause{Name: "stall:port", Fails: causes.Failure{Thruster: 1}, Words: "jam of port"}, &causes.Cause{Name: "stall:lift", Fails: causes.Failure{Thruster: 3}, Words: "jam of lift"}
	loop := &causes.Cause{Name: "power_loop", Words: "excess loop resistance", Scale: causes.Scale{Unit: "Ω"}, Amplitudes: []causes.Amplitude{{Terms: []causes.Term{{Param: predict.LoopOhm}}}}}
	r := &Report{}
	assert.Empty(t, r.UntilFreed())
	assert.Empty(t, r.Without())
	assert.Empty(t, r.OnceFreed(v, []int8{1, 1, 1}))

	since := "9"
	r.Alarms = []Alarm{{Cause: port, ClearedDive: &since}, {Cause: lift}}
	r.Findings = []Finding{{Fault: "power_loop", Probability: 0.9, SinceDive: "7", Cause: loop}, {Fault: "stall:port", Probability: 0.3, Cause: port}}
	assert.Equal(t, []string{"by the log lift may be jammed: see that it turns freely, battery unplugged, before it runs again; what is said of it running holds once it does"}, r.UntilFreed())
	assert.Equal(t, append([]string{"excess loop resistance since dive 7 (90 % sure) is not in these numbers, which are those of the sound vehicle"}, r.UntilFreed()...), r.Without())
	assert.Equal(t, r.UntilFreed(), r.Without(predict.BatteryOhm, predict.LoopOhm))
	r.Findings[0].Cause.Kind = causes.NotLogged
	assert.Equal(t, r.UntilFreed(), r.Without(), "lights that nobody wrote down are off in these numbers")
	r.Findings[0].Cause.Mends = "power_loop"
	assert.Len(t, r.Without(), 1+len(r.UntilFreed()))
	r.Findings[0].Cause.Kind, r.Findings[0].Cause.Mends = causes.Vehicle, ""

	stiff := &causes.Cause{Name: "friction:starboard", Quantity: "friction_a:starboard", Most: 10, Words: "friction of starboard"}
	r.Trends = []Trend{{Quantity: stiff.Quantity, Cause: stiff, Level: Estimate{Value: 2.9}}}
	r.Findings = append(r.Findings, Finding{Fault: stiff.Name, Probability: 0.9, SinceDive: "7", Cause: stiff})
	assert.False(t, r.MayBeJammed("starboard"))
	r.Trends[0].Level.Value = 3.1
	assert.True(t, r.MayBeJammed("starboard"), "it hardly turns")
	stiff.Kind = causes.NotLogged
	assert.False(t, r.MayBeJammed("starboard"), "no friction")

	limit := 0.3
	r.Findings, r.Units = nil, units.Metric
	r.Trends = []Trend{{Quantity: "excess_resistance_ohm", Cause: loop, State: NotAsBuilt, Limit: &limit, Level: Estimate{-0.2, -0.21, -0.19}}}
	assert.Equal(t, append([]string{"excess loop resistance of -0.200 ± 0.010 Ω, not as built, is not in these numbers, which are those of the first dives"}, r.UntilFreed()...), r.Without())
	assert.Equal(t, r.UntilFreed(), r.Without(predict.LoopOhm))
	r.Trends[0].State = Sound
	assert.Equal(t, r.UntilFreed(), r.Without())
	assert.Equal(t, " (once lift turns freely)", r.OnceFreed(v, []int8{1, 0, -1}))
	assert.Empty(t, r.OnceFreed(v, []int8{1, 1, 0}))

	r.Alarms = []Alarm{{Cause: port}}
	r.Findings = []Finding{{Fault: "stall:port", Probability: 0.45, Cause: port, Either: []Alternative{{"stall:port", 0.45, ""}, {"stall:starboard", 0.4, ""}}}}
	assert.Equal(t, " (once port or starboard turns freely)", r.OnceFreed(v, []int8{0, 1, 0}))
	assert.False(t, r.MayBeJammed("lift"))
	r.Alarms = append(r.Alarms, Alarm{Cause: lift})
	assert.Equal(t, " (once port or starboard and lift turns freely)", r.OnceFreed(v, []int8{0, 0, 1}))

	r.Findings, r.Alarms = nil, []Alarm{{Cause: loop}}
	assert.Empty(t, r.UntilFreed(), "an open alarm of no jam")
}
