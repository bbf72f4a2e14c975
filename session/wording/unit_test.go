package wording

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// Factors are from NIST SP 811 (2008) appendix B.8, exact ones in full.
func TestUnitsIntoColumns(t *testing.T) {
	for _, c := range []struct {
		unit, column string
		x, want      float64
	}{
		{"mV", "battery_v", 12700, 12.7},
		{"mA", "current_a", 9600, 9.6},
		{"cm", "depth_m", 250, 2.5},
		{"mm", "run_m", 4200, 4.2},
		{"ft", "depth_m", 10, 3.048},
		{"in", "depth_m", 100, 2.54},
		{"fathoms", "depth_ft", 2, 12},
		{"km/h", "speed_m_s", 3.6, 1},
		{"mph", "speed_m_s", 1, 0.44704},
		{"kn", "speed_m_s", 1, 0.514444444444},
		{"knots", "speed_kn", 1.5, 1.5},
		{"kg", "trim_g", 0.07, 70},
		{"lb", "ballast_g", 1, 453.59237},
		{"lb", "pull_n", 1, 4.4482216152605},
		{"kg", "pull_n", 1, 9.80665},
		{"g", "pull_n", 500, 4.903325},
		{"kg", "pull_kgf", 1.5, 1.5},
		{"°F", "water_c", 50, 10},
		{"K", "water_c", 283.15, 10},
		{"°C", "water_f", 10, 50},
		{"s", "minute", 90, 1.5},
		{"ms", "minute", 60000, 1},
		{"min", "run_s", 0.5, 30},
		{"h", "minute", 0.5, 30},
		{"MΩ", "insulation_megohm", 20, 20},
		{"kΩ", "insulation_megohm", 500, 0.5},
		{"mΩ", "loop_ohm", 246, 0.246},
		{"ppt", "salinity_psu", 33, 33},
	} {
		u, ok := FindUnit(c.unit)
		require.True(t, ok, c.unit)
		column, ok := session.Find(c.column)
		require.True(t, ok)
		times, plus, ok := u.Into(column)
		require.True(t, ok, "%s under %s", c.unit, c.column)
		assert.InDelta(t, c.want, c.x*times+plus, 1e-9*max(1, c.want), "%s under %s", c.unit, c.column)
	}
}

// Every column's own unit is understood, and changes nothing.
func TestEveryColumnsOwnUnit(t *testing.T) {
	for _, c := range session.Columns() {
		if c.Unit == "" {
			continue
		}
		u, ok := FindUnit(c.Unit)
		require.True(t, ok, c.Name)
		times, plus, ok := u.Into(c)
		require.True(t, ok, c.Name)
		assert.InDelta(t, 1, times, 1e-11, c.Name)
		assert.Zero(t, plus, c.Name)
	}
}

func TestInUnit(t *testing.T) {
	for _, c := range []struct {
		number, unit, column, want string
		same                       bool
	}{
		{"12.3", "V", "battery_v", "12.3", true}, {"8100", "mA", "current_a", "8.1", false}, {"14", "ft", "depth_m", "4.2672", false}, {"0.5", "min", "run_s", "30", false},
	} {
		column, _ := session.Find(c.column)
		got, same, ok := InUnit(c.number, c.unit, column)
		assert.True(t, ok, c.unit)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.same, same, c.unit)
	}
	depth, _ := session.Find("depth_m")
	_, _, ok := InUnit("12", "V", depth)
	assert.False(t, ok)
}

// Charge on a label is in Ah or mAh; current is not charge.
func TestCharge(t *testing.T) {
	for unit, want := range map[string]string{"mAh": "7", "Ah": "7000"} {
		got, ok := Convert("7000", unit, "Ah")
		assert.True(t, ok, unit)
		assert.Equal(t, want, got)
	}
	_, ok := Convert("7000", "mA", "Ah")
	assert.False(t, ok)
}
