package outlook

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/vehicle"
	"sagline/session/units"
)

// What changed most since the dive before is told where it is more than both dives' ranges, and not how one good
// level became another.
func TestSinceTheDiveBefore(t *testing.T) {
	table := causes.Table(vehicle.Example())
	loop, thrust := &table[0], &table[2]
	require.Equal(t, "thrust", thrust.Name)
	of := func(x, half float64) findings.Estimate {
		return findings.Estimate{Value: x, Low: x - half, High: x + half}
	}
	for _, c := range []struct {
		ohm, push [2]findings.Estimate
		want      string
	}{
		{[2]findings.Estimate{of(0, 0.03), of(0.1, 0.04)}, [2]findings.Estimate{of(1, 0.05), of(0.98, 0.05)}, "excess loop resistance is up by 0.100 ± 0.050 Ω"},
		{[2]findings.Estimate{of(0.1, 0.03), of(0.14, 0.04)}, [2]findings.Estimate{of(1, 0.05), of(0.98, 0.05)}, ""},
		{[2]findings.Estimate{of(0.2, 0.03), of(0.1, 0.04)}, [2]findings.Estimate{of(1, 0.05), of(0.98, 0.05)}, "excess loop resistance is down by 0.100 ± 0.050 Ω"},
		{[2]findings.Estimate{of(0, 0.03), of(0.1, 0.04)}, [2]findings.Estimate{of(1, 0.03), of(0.8, 0.04)}, "thrust is down by 0.200 ± 0.050"},
		{[2]findings.Estimate{of(0, 0.03), of(0.1, 0.04)}, [2]findings.Estimate{of(1, 0.03), of(0.93, 0.04)}, "excess loop resistance is up by 0.100 ± 0.050 Ω"}, // the most
		{[2]findings.Estimate{of(-0.3, 0.03), of(-0.1, 0.04)}, [2]findings.Estimate{of(1, 0.03), of(1, 0.04)}, ""},
		{[2]findings.Estimate{of(-0.3, 0.03), of(0.1, 0.04)}, [2]findings.Estimate{of(1, 0.03), of(1, 0.04)}, "excess loop resistance is up by 0.400 ± 0.050 Ω"},
	} {
		rep := &findings.Report{Units: units.Metric, Trends: []findings.Trend{{Quantity: loop.Quantity, Cause: loop}, {Quantity: thrust.Quantity, Cause: thrust, Baseline: 1}}}
		for i := range 2 {
			rep.Dives = append(rep.Dives, findings.Dive{Estimates: map[string]findings.Estimate{loop.Quantity: c.ohm[i], thrust.Quantity: c.push[i]}})
		}
		assert.Equal(t, c.want, since(rep, 1), "%+v", c)
		assert.NotContains(t, explained(rep, 1), "jammed")
		drifts := strings.TrimPrefix(explained(rep, 1), "explained by ")
		rep.Dives[1].Jammed = []string{"port", "lift"}
		want := "its readings look as if port or lift were jammed (unplugged, turn it by hand)"
		if !strings.HasPrefix(drifts, "a sound vehicle") {
			want += ", besides " + drifts
		}
		assert.Equal(t, want, explained(rep, 1))
		assert.Empty(t, since(rep, 0))
	}
}

// Less water, less resistance and more thrust than when sound are better: no fault.
func TestBetter(t *testing.T) {
	table := causes.Table(vehicle.Example())
	for name, c := range map[string]struct{ sound, better, worse float64 }{
		"power_loop": {0, -0.1, 0.1}, "thrust": {1, 1.1, 0.9}, "drag": {1, 0.9, 1.1}, "ingress": {0, -10, 10}, "motor:" + vehicle.Example().Thrusters[0].Name: {1, 1.1, 0.9},
	} {
		i := slices.IndexFunc(table, func(c causes.Cause) bool { return c.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		trend := findings.Trend{Cause: &table[i], Baseline: c.sound}
		for x, want := range map[float64]bool{c.better: true, c.worse: false, c.sound: false} {
			of := map[string]findings.Estimate{trend.Quantity: {Value: x}}
			assert.Equal(t, want, better(&trend, &findings.Dive{Estimates: of}), name)
			assert.False(t, better(&trend, &findings.Dive{Estimates: of, Sound: map[string]findings.Estimate{trend.Quantity: {Value: c.better}}}), "%s, set anew", name)
		}
	}
}
