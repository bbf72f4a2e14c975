package simulate

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
)

// Of a rehearsed season counts when the fault's own alarm comes after its first dive, what was alarmed for until then, and
// alarms for anything while nothing was wrong.
func TestRehearsedSeasons(t *testing.T) {
	h := Rehearsal{Cause: causes.Cause{Quantity: "drag_factor"}}
	of := func(dive, quantity string) findings.Alarm {
		return findings.Alarm{RaisedDive: dive, Quantity: quantity}
	}
	for name, c := range map[string]struct {
		alarms          []findings.Alarm
		delays          []float64
		mistaken, early int
	}{
		"none":             {nil, nil, 0, 0},
		"noticed at once":  {[]findings.Alarm{of("13", "drag_factor")}, []float64{1}, 0, 0},
		"taken for thrust": {[]findings.Alarm{of("14", "thrust_factor"), of("14", "friction_a"), of("16", "drag_factor")}, []float64{4}, 1, 0},
		"too early":        {[]findings.Alarm{of("12", "drag_factor")}, nil, 0, 1},
		"early, and later": {[]findings.Alarm{of("5", "thrust_factor"), of("7", "friction_a"), of("20", "drag_factor")}, []float64{8}, 0, 1},
	} {
		var out Rehearsed
		var delays []float64
		h.count(c.alarms, &out, &delays)
		assert.Equal(t, c.delays, delays, name)
		assert.Equal(t, []int{c.mistaken, c.early}, []int{out.Mistaken, out.False}, name)
	}
}

// A joint that grows fast is noticed within the dives that are tried first, a slow one after them, next to none never.
func TestRehearse(t *testing.T) {
	v := vehicle.Example()
	rows := causes.Table(v)
	loop := slices.IndexFunc(rows, func(c causes.Cause) bool { return c.Name == "power_loop" })
	for size, within := range map[float64][2]float64{0.05: {1, 4}, 0.002: {rehearsedSoon - rehearsedSound + 1, 24}, 0.0001: {}} {
		var calls []int
		out, err := Rehearsal{Cause: rows[loop], Size: size, Seasons: 3, Seed: 4}.Run(v, func(done, all int) {
			assert.Equal(t, 3, all)
			calls = append(calls, done)
		})
		require.NoError(t, err)
		assert.Equal(t, []int{1, 2, 3}, calls)
		if within[1] == 0 {
			assert.Zero(t, out.Noticed, size)
			continue
		}
		assert.Equal(t, 3, out.Noticed, size)
		assert.GreaterOrEqual(t, out.Ninety, within[0], size)
		assert.LessOrEqual(t, out.Ninety, within[1], size)
	}
}
