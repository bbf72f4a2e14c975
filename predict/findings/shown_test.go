package findings

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/session/units"
)

// In the reader's units a trend is the same trend.
func TestUnits(t *testing.T) {
	limit := 60.0
	of := func(x float64) Estimate { return Estimate{x, x - 5, x + 5} }
	rate, left := of(6), of(4)
	tr := Trend{Quantity: "ingress_g", Level: of(30), Levels: []Estimate{of(0), of(12)}, PerDive: &rate, Limit: &limit, DivesToLimit: &left,
		Ahead: []Ahead{{Level: of(36)}}, Eras: []Era{{PerDive: &rate, Levels: []Estimate{of(3)}}}, Cause: &causes.Cause{Scale: causes.Scale{Unit: "g"}}}
	r := &Report{Units: units.Metric, Trends: []Trend{tr}}
	assert.Equal(t, "g", r.Unit("ingress_g").Name)
	assert.Empty(t, r.Unit("no such quantity").Name)
	r.Units = units.Imperial
	u := r.Unit("ingress_g")
	assert.Equal(t, "oz", u.Name)
	oz := tr.In(u)
	const ounce = 28.349523125 // g, NIST Handbook 44, appendix C
	for _, c := range []struct{ g, oz Estimate }{{tr.Level, oz.Level}, {*tr.PerDive, *oz.PerDive}, {tr.Levels[1], oz.Levels[1]}, {tr.Ahead[0].Level, oz.Ahead[0].Level},
		{*tr.Eras[0].PerDive, *oz.Eras[0].PerDive}, {tr.Eras[0].Levels[0], oz.Eras[0].Levels[0]}} {
		assert.InDelta(t, c.g.Value/ounce, c.oz.Value, 1e-9)
		assert.InDelta(t, c.g.Low/ounce, c.oz.Low, 1e-9)
		assert.InDelta(t, c.g.High/ounce, c.oz.High, 1e-9)
	}
	assert.InDelta(t, *tr.Limit/ounce, *oz.Limit, 1e-9)
	assert.Equal(t, tr.DivesToLimit, oz.DivesToLimit)
	assert.Equal(t, Estimate{6, 1, 11}, rate, "the report keeps its own")
	assert.Equal(t, of(36), tr.Ahead[0].Level)
	assert.InDelta(t, 60, *tr.Limit, 1e-9)
}
