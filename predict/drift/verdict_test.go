package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict/causes"
	"sagline/session/units"
)

// Nothing is called sound beside what has a pattern, an alarm, a finding or a level
// that is open or cannot be.
func TestVerdict(t *testing.T) {
	joint, drag, limit := &causes.Cause{Words: "loop"}, &causes.Cause{Words: "drag"}, 0.3
	trend := func(state string) Trend {
		return Trend{Quantity: "loop_ohm", State: state, Pattern: Ramp, OnsetDive: "6", Level: Estimate{0.2, 0, 0.4}, Limit: &limit, Cause: joint}
	}
	cleared := "9"
	for want, r := range map[string]*Report{
		"nothing is drifting: after 2 dives every quantity is sound":                                                          {Trends: []Trend{trend(Sound)}, Alarms: []Alarm{{ClearedDive: &cleared}}},
		"nothing is sure, but perhaps loop (ramp since dive 6)":                                                               {Trends: []Trend{trend(Drifting)}, Alarms: []Alarm{{Quantity: "loop_ohm", Cause: joint}}},
		"nothing is sure, but perhaps drag (an alarm is open since dive 8)":                                                   {Trends: []Trend{trend(Sound)}, Alarms: []Alarm{{Quantity: "drag", RaisedDive: "8", Cause: drag}}},
		"nothing is sure, but perhaps drag (since dive 7)":                                                                    {Findings: []Finding{{Probability: 0.4, SinceDive: "7", Cause: drag}}},
		"nothing is seen to drift, but these readings cannot tell loop (0.20 ± 0.20, limit 0.3)":                              {Trends: []Trend{trend(CannotTell)}},
		"nothing is seen to drift, but the level of loop cannot be":                                                           {Trends: []Trend{trend(CannotBe)}},
		"nothing is seen to drift, but the calibration did not converge":                                                      {Trends: []Trend{trend(Sound)}, Unsettled: true},
		"nothing is sure, but perhaps loop (ramp since dive 6); and these readings cannot tell loop (0.20 ± 0.20, limit 0.3)": {Trends: []Trend{trend(Drifting), trend(CannotTell)}},
	} {
		r.Judged, r.Dives, r.Units = true, make([]Dive, 2), units.Metric
		assert.Equal(t, want, r.Verdict())
	}
}

// What is less likely than not is a remark of one line, not a finding.
func TestUnsure(t *testing.T) {
	c := &causes.Cause{Words: "friction"}
	r := Report{Findings: []Finding{{Fault: "thrust", Probability: 0.5, Cause: c}, {Fault: "friction", Probability: 0.2, SinceDive: "20", Cause: c,
		Alternatives: []Alternative{{Nothing, 0.37, "chance"}, {"a", 0.2, "leak"}, {"b", 0.13, "drag"}, {Other, 0.1, "anything else"}}}}}
	told := r.Told()
	assert.Len(t, told, 1)
	assert.Equal(t, "thrust", told[0].Fault)
	assert.Equal(t, []string{"not enough to say whether anything has changed since dive 20: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.unsure())
	r.Findings[1].Alternatives[0].Fault = "c"
	assert.Equal(t, []string{"something has changed since dive 20, not enough to say what: chance 37 %, friction 20 %, leak 20 %, anything else 23 %"}, r.unsure())
}

func TestOrElse(t *testing.T) {
	f := Finding{Alternatives: []Alternative{{"a", 0.1, "a"}, {"b", 0.09, "b"}, {"c", 0.08, "c"}, {"d", 0.07, "d"}, {"e", 0.06, "e"}, {Other, 0.01, "anything else"}}}
	assert.Equal(t, "; or else a 10 %, b 9 %, c 8 %, d 7 %, anything else 7 %", f.OrElse())
	f.Alternatives = f.Alternatives[:1]
	assert.Equal(t, "; or else a 10 %", f.OrElse())
}

// One cause is one finding.
func TestMerge(t *testing.T) {
	at := func(fault, since string, onset int, p float64) Finding {
		return Finding{Fault: fault, SinceDive: since, onset: onset, Probability: p}
	}
	got := merge(merge(merge(nil, at("thrust", "45", 44, 0.9)), at("drag", "3", 2, 0.9)), at("thrust", "17", 16, 0.8))
	assert.Len(t, got, 2)
	assert.Equal(t, "17", got[0].SinceDive)
	assert.Equal(t, []string{"45"}, got[0].Again)
	f := got[0]
	f.Cause = &causes.Cause{What: "the propellers push less"}
	assert.Equal(t, "the propellers push less, since dive 17 and again since 45", f.Lines()[0])
	got = merge(merge(nil, at("thrust", "45", 44, 0.9)), at("thrust", "17", 16, 0.3))
	assert.Equal(t, "45", got[0].SinceDive, "one that is not told begins nothing")
	assert.Empty(t, got[0].Again)
}

// A resistance is not below nothing, and a contact that comes and goes has a size.
func TestLevelSaid(t *testing.T) {
	assert.Equal(t, "0.0040 (0 to 0.0120)", Estimate{0.004, 0, 0.012}.String())
	assert.Equal(t, "0.0040 ± 0.0040", Estimate{0.004, 0, 0.008}.String())
	for want, e := range map[string]Estimate{
		"by about 0.05 to 0.2 Ω": {0.1, 0.05, 0.2}, "by about 0.1 Ω": {0.1, 0.1, 0.1}, "by about 0.4 Ω or more": {0.4, 0.4, 0.4},
	} {
		tr := Trend{ComesBy: &e}
		assert.Equal(t, want, tr.LevelSaid("Ω"))
	}
}
