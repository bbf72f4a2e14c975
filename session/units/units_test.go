package units

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The printed factors of NIST SP 811 (2008), appendix B.8, seven digits each:
// foot, inch, foot per second, knot, ounce and pound (avoirdupois),
// kilogram-force, pound-force, pound per foot (a sixteenth of it, in g/m),
// pound per cubic foot, square foot, and the degree Fahrenheit as a difference.
func TestFactorsAgainstSP811(t *testing.T) {
	for unit, printed := range map[string]float64{
		"ft": 3.048e-1, "in": 2.54e1, "ft/s": 3.048e-1, "kn": 5.144444e-1, "oz": 2.834952e1, "lb": 4.535924e-1, "kgf": 9.80665,
		"lbf": 4.448222, "oz/ft": 1.488164e3 / 16, "lb/ft³": 1.601846e1, "ft²": 9.290304e-2, "°F": 5.555556e-1,
	} {
		assert.InEpsilon(t, printed, Find(unit).Factor, 4e-7, unit)
	}
	assert.Len(t, factors, 12, "every factor has its check")
}

// Water freezes and boils where SP 811 B.8 puts it: t/°C = (t/°F − 32)/1.8.
func TestFahrenheit(t *testing.T) {
	f := Find("°F")
	for _, c := range []struct{ f, c float64 }{{32, 0}, {212, 100}, {-40, -40}, {59, 15}} {
		assert.InDelta(t, c.c, f.ToBase(c.f), 1e-12)
		assert.InDelta(t, c.f, f.FromBase(c.c), 1e-12)
	}
}

// Whatever the number and the unit, there and back is the same but for the
// rounding of two operations.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		u := Find(rapid.SampledFrom([]string{"m", "ft", "in", "ft/s", "kn", "oz", "lb", "kgf", "lbf", "°F", "oz/ft", "lb/ft³", "ft²"}).Draw(rt, "unit"))
		x := rapid.Float64Range(-1e6, 1e6).Draw(rt, "x")
		assert.InDelta(rt, x, u.FromBase(u.ToBase(x)), 1e-14*1e6)
		assert.InDelta(rt, x, u.ToBase(u.FromBase(x)), 1e-13*1e6)
	})
}

func TestShow(t *testing.T) {
	for _, c := range []struct {
		system   System
		x        float64
		base     string
		decimals int
		want     string
	}{
		{Metric, 0.4567, "m/s", 2, "0.46 m/s"},
		{Imperial, 0.4567, "m/s", 2, "1.50 ft/s"},
		{Imperial, 9.8, "N", 1, "2.20 lbf"}, // a tenth of a pound would hide half a newton
		{Imperial, 70, "g", 0, "2.5 oz"},
		{Imperial, -2, "g/m", 0, "-0.02 oz/ft"},
		{Imperial, 12.8, "V", 1, "12.8 V"},
		{Imperial, 15, "°C", 0, "59 °F"},
		{Imperial, 30, "m", 0, "98 ft"},
		{Imperial, 0.0932, "m²", 3, "1.00 ft²"},
		{"", 30, "m", 0, "30 m"},
		{Metric, -0.2, "g", 0, "0 g"},
		{Imperial, 1025, "kg/m³", 1, "63.99 lb/ft³"},
		{Metric, 0.8, "", 2, "0.80"},
	} {
		assert.Equal(t, c.want, c.system.Show(c.x, c.base, c.decimals))
	}
	assert.Equal(t, "+1.0 oz", Imperial.In("g").Signed(28.3, 0))
	assert.Equal(t, "-28 g", Metric.In("g").Signed(-28.3, 0))
}

func TestPlain(t *testing.T) {
	assert.Equal(t, "3 m", Metric.Plain(3, "m"))
	assert.Equal(t, "12.345 m", Metric.Plain(12.345, "m"))
	assert.Equal(t, "14.967 m", Metric.Plain(math.Sqrt(14*16), "m"))
	assert.Equal(t, "9.84 ft", Imperial.Plain(3, "m"))
	assert.Equal(t, "1230 ft", Imperial.Plain(375, "m"))
	assert.Equal(t, "59 °F", Imperial.Plain(15, "°C"))
	assert.Equal(t, "12.34 V", Imperial.Plain(12.34, "V"))
}

// Every imperial unit is one whose factor is known, and the systems are told
// apart by name.
func TestSystems(t *testing.T) {
	assert.Equal(t, []string{"10 K", "18 °F"}, []string{Metric.Show(10, "K", 0), Imperial.Show(10, "K", 0)})
	for base, unit := range imperial {
		assert.Contains(t, factors, unit, base)
	}
}
