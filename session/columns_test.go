package session

import (
	"sagline/session/quantity"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestColumnsAreTheTable(t *testing.T) {
	want := []string{"dive", "date", "battery", "serviced", "ballast_g", "ballast_oz", "water_c", "water_f", "salinity_psu", "minute", "time", "thrusters", "lights", "held",
		"depth_m", "depth_ft", "tether_out_m", "tether_out_ft", "battery_v", "current_a", "vehicle_v", "run_m", "run_ft", "run_s", "run_back_s",
		"speed_m_s", "speed_ft_s", "speed_kn", "climb_m", "climb_ft", "climb_s", "climb_m_s", "climb_ft_s", "trim_g", "trim_oz", "pull_n", "pull_kgf",
		"pull_lbf", "loop_ohm", "insulation_megohm", "note"}
	var got []string
	for _, c := range Columns() {
		got = append(got, c.Name)
		assert.NotEmpty(t, c.Help, c.Name)
		assert.NotEmpty(t, c.Quantity, c.Name)
		found, ok := Find(c.Name)
		assert.True(t, ok)
		assert.Same(t, c, found)
		if c.Unit != "" {
			assert.Less(t, c.Lowest, c.Highest, c.Name)
		}
	}
	assert.Equal(t, want, got)
	_, ok := Find("depth_fathom")
	assert.False(t, ok)
}

// The table is not changed through what Columns returns.
func TestColumnsIsACopy(t *testing.T) {
	Columns()[0] = nil
	assert.NotNil(t, Columns()[0])
}

// One of each unit, by the definitions: 1 ft = 0.3048 m, 1 nmi = 1852 m,
// 1 lb = 0.45359237 kg = 16 oz, g = 9.80665 m/s², 212 °F = 100 °C.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		column  string
		x, base float64
	}{
		{"depth_ft", 100, 30.48},
		{"tether_out_ft", 1, 0.3048},
		{"speed_ft_s", 10, 3.048},
		{"speed_kn", 1, 1852.0 / 3600},
		{"run_ft", 50, 15.24},
		{"climb_ft_s", -1, -0.3048},
		{"trim_oz", 16, 453.59237},
		{"ballast_oz", -32, -907.18474},
		{"pull_kgf", 2, 19.6133},
		{"pull_lbf", 1, 0.45359237 * 9.80665},
		{"water_f", 212, 100},
		{"water_f", 32, 0},
		{"water_f", -40, -40},
		{"battery_v", 12.6, 12.6},
	} {
		col, ok := Find(c.column)
		require.True(t, ok)
		assert.InDelta(t, c.base, col.ToBase(c.x), 1e-12, c.column)
		assert.InDelta(t, c.x, col.FromBase(c.base), 1e-12, c.column)
	}
}

func TestFromBaseUndoesToBase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(columns).Draw(t, "column")
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		assert.InDelta(t, x, c.FromBase(c.ToBase(x)), 1e-9)
	})
}

// What would have been written: in the cell's own unit, and in seconds for a
// timed run.
func TestExpress(t *testing.T) {
	log := read(t, "dive,date,time,depth_ft,run_m,run_s,run_back_s,climb_m,climb_s,water_f\n"+
		"1,2026-05-02,10:00,10,10,20,,-3,12,50\n1,,10:30,,10,20,40,0,5,\n")
	one, two := log.Dives[0].Lines[0], log.Dives[0].Lines[1]
	assert.InDelta(t, 20, one.Depth.EnteredFor(6.096), 1e-12)
	assert.InDelta(t, 32, one.WaterC.EnteredFor(0), 1e-12)
	assert.Equal(t, 20.0, one.Readings[quantity.Speed].EnteredFor(0.5))
	assert.Equal(t, 40.0, one.Readings[quantity.Speed].EnteredFor(0.25))
	assert.Equal(t, 6.0, one.Readings[quantity.Climb].EnteredFor(-0.5))
	assert.InDelta(t, 20, two.Readings[quantity.Speed].EnteredFor(0.375), 1e-12, "what was written, for the mean that was")
	assert.InDelta(t, 40, two.Readings[quantity.Speed].EnteredFor(0.375/2), 1e-12, "half as quick both ways")
	assert.Equal(t, 5.0, two.Readings[quantity.Climb].EnteredFor(0.1), "no distance, whatever the time")
	assert.Equal(t, 10*60+45.0, two.Minute.EnteredFor(45), "a quarter of an hour after 10:30")
	assert.Equal(t, 7.0, Value{}.EnteredFor(7))
}

func TestQuantityOf(t *testing.T) {
	for name, want := range map[string]quantity.Quantity{"battery_v": quantity.BatteryV, "speed_kn": quantity.Speed, "climb_ft_s": quantity.Climb, "pull_lbf": quantity.Pull, "insulation_megohm": quantity.Insulation} {
		q, ok := QuantityOf(name)
		assert.True(t, ok, name)
		assert.Equal(t, want, q, name)
	}
	for _, name := range []string{"run_s", "depth_m", "note", "nothing"} {
		_, ok := QuantityOf(name)
		assert.False(t, ok, name)
	}
}

func TestSpanThatIsNoneEndsTheProgram(t *testing.T) {
	assert.Panics(t, func() { span("0..lots") })
	assert.Panics(t, func() { span("") })
}

// A column's stem is its name without the unit, of whatever parts either has.
func TestStem(t *testing.T) {
	for name, want := range map[string]string{"thrusters": "thrusters", "battery_v": "battery", "speed_m_s": "speed", "tether_out_m": "tether_out", "tether_out_ft": "tether_out", "run_m": "run", "run_back_s": "run_back"} {
		c, ok := Find(name)
		require.True(t, ok, name)
		assert.Equal(t, want, c.Stem(), name)
	}
}
