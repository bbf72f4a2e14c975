package findings

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
)

func TestRounded(t *testing.T) {
	for _, c := range []struct {
		x, half float64
		want    string
	}{
		{1.23456, 0.1, "1.23"}, {1.23456, 0.09, "1.235"}, {1.23456, 1, "1.2"}, {123.4, 20, "123"}, {-0.001, 1, "0.0"}, {-0.26, 1, "-0.3"},
		{1.23456, 0, "1.23"}, {1234.5, math.Inf(1), "1230"},
	} {
		assert.Equal(t, c.want, Rounded(c.x, c.half))
	}
	assert.Equal(t, "0.246 ± 0.011", Estimate{Value: 0.2463, Low: 0.235, High: 0.257}.String())
	assert.Equal(t, "0.3", Estimate{Value: 0.3, Low: 0.3, High: 0.3}.String())
	assert.Equal(t, "over 99 %", Sure(0.991))
	assert.Equal(t, "99 %", Sure(0.99))
	assert.Equal(t, "62 %", Sure(0.62))
}

// What is less likely than not is a remark of one line, not a finding.
func TestUnsure(t *testing.T) {
	c := &causes.Cause{Words: "friction"}
	r := Report{Findings: []Finding{{Fault: "thrust", Probability: 0.5, Cause: c}, {Fault: "friction", Probability: 0.2, SinceDive: "20", Cause: c,
		Alternatives: []Alternative{{Nothing, 0.37, "chance"}, {"a", 0.2, "leak"}, {"b", 0.13, "drag"}, {Other, 0.1, "anything else"}}}}}
	told := r.Told()
	assert.Len(t, told, 1)
	assert.Equal(t, "thrust", told[0].Fault)
	assert.Equal(t, []string{"not enough to say whether anything has changed since dive 20: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.Unsure())
	r.Findings[1].Alternatives[0].Fault = "c"
	assert.Equal(t, []string{"something has changed since dive 20, not enough to say what: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.Unsure())
}

func TestOrElse(t *testing.T) {
	f := Finding{Alternatives: []Alternative{{"a", 0.1, "a"}, {"b", 0.09, "b"}, {"c", 0.08, "c"}, {"d", 0.07, "d"}, {"e", 0.06, "e"}, {Other, 0.01, "anything else"}}}
	assert.Equal(t, "; or else a 10 %, b 9 %, c 8 %, d 7 %, anything else 7 %", f.OrElse())
	f.Alternatives = f.Alternatives[:1]
	assert.Equal(t, "; or else a 10 %", f.OrElse())
}

// A resistance is not below nothing, and a contact that comes and goes has a size.
func TestLevelSaid(t *testing.T) {
	assert.Equal(t, "0.0040 (0 to 0.0120)", Estimate{0.004, 0, 0.012}.String())
	assert.Equal(t, "0.0040 ± 0.0040", Estimate{0.004, 0, 0.008}.String())
	for want, e := range map[string]Estimate{
		"by about 0.05 to 0.2 Ω": {0.1, 0.05, 0.2}, "by about 0.1 Ω": {0.1, 0.1, 0.1}, "by about 2.5 Ω or more": {2.5, 2.5, 2.5},
	} {
		tr := Trend{ComesBy: &e}
		assert.Equal(t, want, tr.LevelSaid("Ω"))
	}
}
