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
	told := r.Reported()
	assert.Len(t, told, 1)
	assert.Equal(t, "thrust", told[0].Fault)
	assert.Equal(t, []string{"not enough to say whether anything has changed since dive 20: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.Unsure())
	r.Findings[1].Alternatives[0].Fault = "c"
	assert.Equal(t, []string{"something has changed since dive 20, not enough to say what: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.Unsure())
}

// Where it is not plain of which thruster something is, the words are of either, with what is known of each.
func TestEither(t *testing.T) {
	port, starboard := Alternative{"stall:port", 0.45, "jam of port"}, Alternative{"stall:starboard", 0.4, "jam of starboard"}
	f := Finding{Fault: "stall:port", Probability: 0.45, SinceDive: "9", Cause: &causes.Cause{Words: "jam of port or starboard"}, Either: []Alternative{port, starboard},
		Alternatives: []Alternative{starboard, {"drag", 0.15, "drag"}}}
	assert.InDelta(t, 0.85, f.Sure(), 1e-12)
	assert.Equal(t, ": jam of port 45 %, jam of starboard 40 %; or else drag 15 %", f.OrElse())
	r := Report{Findings: []Finding{f}}
	assert.Len(t, r.Reported(), 1)
	assert.Empty(t, r.Unsure())
	assert.Equal(t, "something has changed since dive 9, not enough to say what: jam of port or starboard 85 %, drag 15 %", f.unsure())
	f.Either = nil
	assert.InDelta(t, 0.45, f.Sure(), 1e-12)
}

func TestOrElse(t *testing.T) {
	f := Finding{Alternatives: []Alternative{{"a", 0.1, "a"}, {"b", 0.09, "b"}, {"c", 0.08, "c"}, {"d", 0.07, "d"}, {"e", 0.06, "e"}, {Other, 0.01, "anything else"}}}
	assert.Equal(t, "; or else a 10 %, b 9 %, c 8 %, d 7 %, anything else 7 %", f.OrElse())
	f.Alternatives = f.Alternatives[:1]
	assert.Equal(t, "; or else a 10 %", f.OrElse())
	f.Which = []Alternative{{"p", 0.6, "port"}, {"s", 0.4, "starboard"}}
	assert.Equal(t, ": port 60 %, starboard 40 %; or else a 10 %", f.OrElse())
	f.Alternatives = []Alternative{{"a", 0.019, "a"}, {Other, 0.001, "anything else"}}
	assert.Equal(t, ": port 60 %, starboard 40 %; or else anything else 2 %", f.OrElse(), "two in a hundred are said")
	f.Which, f.Alternatives = nil, []Alternative{{"a", 0.02, "a"}, {"b", 0.019, "b"}}
	assert.Equal(t, "; or else a 2 %", f.OrElse())
	f.Alternatives = nil
	assert.Empty(t, f.OrElse())
}

// A resistance is not below nothing, and a contact that comes and goes has a size.
func TestLevelSaid(t *testing.T) {
	assert.Equal(t, "0.0040 (0 to 0.0120)", Estimate{0.004, 0, 0.012}.String())
	assert.Equal(t, "0.0040 ± 0.0040", Estimate{0.004, 0, 0.008}.String())
	assert.Equal(t, "1.0 ± 1.0", Estimate{1, 0, 2.005}.String(), "cut by less than a hundredth")
	assert.Equal(t, "1.0 (0 to 2.1)", Estimate{1, 0, 2.1}.String())
	assert.Equal(t, "0.06 (-0.14 to 0.92)", Estimate{0.056, -0.139, 0.921}.String())
	assert.Equal(t, "0.97 ± 0.19", Estimate{0.974, 0.803, 1.181}.String())
	assert.Equal(t, "1.0 ± 1.1", Estimate{1, -0.1, 2.1}.String(), "not cut at 0")
	assert.Equal(t, "2.1 (0.1 to 4.4)", Estimate{2.1, 0.1, 4.4}.String(), "what is above 0 stays there")
	for want, e := range map[string]Estimate{
		"by about 0.05 to 0.2 Ω": {0.1, 0.05, 0.2}, "by about 0.1 Ω": {0.1, 0.1, 0.1}, "by about 0.44 Ω": {0.44, 0.438, 0.442}, "by about 2.5 Ω or more": {2.5, 2.5, 2.5},
	} {
		tr := Trend{ComesBy: &e}
		assert.Equal(t, want, tr.LevelSaid("Ω"))
	}
}

// What stands past its limit is told so first.
func TestPastItsLimit(t *testing.T) {
	limit := 0.3
	c := &causes.Cause{Name: "power_loop", What: "the loop has gained resistance", Worse: 1}
	c.Scale.Unit = "Ω"
	sure := 0.9
	of := func(level Estimate) string {
		r := Report{Trends: []Trend{{Quantity: "x", Cause: c, Limit: &limit, Level: level}}, Findings: []Finding{{Probability: sure, SinceDive: "9", Cause: c}}}
		return r.Reported()[0].Lines()[0]
	}
	const what = "the loop has gained resistance, since dive 9"
	assert.Equal(t, what, of(Estimate{0.29, 0.2, 0.38}))
	assert.Equal(t, what+"; it likely stands past its limit of 0.3 Ω", of(Estimate{0.31, 0.22, 0.4}))
	assert.Equal(t, what+"; it stands past its limit of 0.3 Ω", of(Estimate{0.56, 0.5, 0.61}))
	sure = 0.54
	assert.Equal(t, "perhaps "+what+"; if so, it likely stands past its limit of 0.3 Ω", of(Estimate{0.31, 0.22, 0.4}))
	sure = 0.9
	limit, c.Worse, c.Scale.Unit = 0.8, -1, ""
	assert.Equal(t, what+"; it stands past its limit of 0.8", of(Estimate{0.7, 0.65, 0.75}))
	assert.Equal(t, what, of(Estimate{0.9, 0.85, 0.95}))
	c.Scale.Negative = true
	assert.Equal(t, what+"; it stands past its limit of 0.8", of(Estimate{0.9, 0.85, 0.95}))
}

// Of cases that the readings do not tell apart none is said to be sure.
func TestWhich(t *testing.T) {
	f := Finding{Probability: 0.93, SinceDive: "9", Cause: &causes.Cause{Words: "zero of the clamp meter", What: "the clamp meter's zero has moved", Check: "zero it"}, CheckNext: "zero it"}
	assert.Equal(t, []string{"the clamp meter's zero has moved, since dive 9", "zero of the clamp meter (93 % sure)", "next: zero it"}, f.Lines())
	f.Which = []Alternative{{"instrument:current_a:zero", 0.52, "zero of the clamp meter"}, {"instrument:current_a", 0.41, "gain of the clamp meter"}}
	assert.Equal(t, []string{"perhaps the clamp meter's zero has moved, since dive 9",
		"zero of the clamp meter or gain of the clamp meter (93 % sure): zero of the clamp meter 52 %, gain of the clamp meter 41 %", "next: zero it"}, f.Lines())
}

// What is of either of two thrusters is said as surely as it is one of them, each once.
func TestEitherOfCases(t *testing.T) {
	both := []Alternative{{"friction:p", 0.51, "friction of p"}, {"friction:s", 0.48, "friction of s"}}
	f := Finding{Fault: "friction", Probability: 1, Cause: &causes.Cause{Name: "friction", Words: "friction of p or s", What: "p or s turns harder"}, Which: both, Either: both}
	assert.Equal(t, "friction of p or s", f.Words())
	assert.Equal(t, "p or s turns harder", f.What())
	assert.Equal(t, ": friction of p 51 %, friction of s 48 %", f.OrElse())
	assert.Equal(t, []string{"friction:p", "friction:s"}, f.Names())
	f.Either = nil
	assert.Equal(t, "perhaps p or s turns harder", f.What())
	assert.Equal(t, "friction of p or friction of s", f.Words())
}
