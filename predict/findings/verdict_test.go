package findings

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
	"sagline/session/units"
)

// Nothing is called sound beside what has a pattern, an alarm, a finding or a level
// that is open or cannot be.
func TestVerdict(t *testing.T) {
	joint, drag, limit := &causes.Cause{Words: "loop"}, &causes.Cause{Words: "drag"}, 0.3
	deep := &causes.Cause{Quantity: "deep", Kind: causes.NotLogged, Words: "depth", What: "the runs are deeper"}
	trend := func(state string) Trend {
		return Trend{Quantity: "loop_ohm", State: state, Pattern: Ramp, OnsetDive: "6", Level: Estimate{0.2, 0, 0.4}, Limit: &limit, Cause: joint}
	}
	cleared := "9"
	for want, r := range map[string]*Report{
		"nothing is drifting: after 2 dives every quantity is sound":                                                                                           {Trends: []Trend{trend(Sound)}, Alarms: []Alarm{{ClearedDive: &cleared}}},
		"nothing is sure, but perhaps loop (ramp since dive 6)":                                                                                                {Trends: []Trend{trend(Drifting)}, Alarms: []Alarm{{Quantity: "loop_ohm", Cause: joint}}},
		"nothing is sure, but perhaps drag (an alarm is open since dive 8)":                                                                                    {Trends: []Trend{trend(Sound)}, Alarms: []Alarm{{Quantity: "drag", RaisedDive: "8", Cause: drag}}},
		"nothing is sure, but perhaps drag (since dive 7)":                                                                                                     {Findings: []Finding{{Probability: 0.4, SinceDive: "7", Cause: drag}}},
		"nothing is sure, but perhaps the runs are deeper (since dive 7)":                                                                                      {Trends: []Trend{{Quantity: "deep", State: CannotTell, Cause: deep}}, Findings: []Finding{{Probability: 0.4, SinceDive: "7", Cause: deep}}},
		"nothing is seen to drift, but these readings cannot tell loop (0.20 ± 0.20, limit 0.3)":                                                               {Trends: []Trend{trend(CannotTell)}},
		"nothing is seen to drift, but loop (0.20 ± 0.20, limit 0.3) stands near its limit":                                                                    {Trends: []Trend{trend(NearLimit)}},
		"nothing is seen to drift, but loop stands past its limit":                                                                                             {Trends: []Trend{trend(PastLimit)}},
		"nothing is seen to drift, but loop (0.20 ± 0.20, limit 0.3) is not as built":                                                                          {Trends: []Trend{trend(NotAsBuilt)}},
		"nothing is seen to drift, but loop, loop stand past their limits":                                                                                     {Trends: []Trend{trend(PastLimit), trend(PastLimit)}},
		"nothing is seen to drift, but these readings cannot tell drag (0.20 ± 0.20)":                                                                          {Trends: []Trend{{Quantity: "drag_factor", State: CannotTell, Pattern: Steady, Level: Estimate{0.2, 0, 0.4}, Cause: drag}}},
		"nothing is seen to drift, but these readings cannot tell any quantity":                                                                                {Trends: []Trend{trend(CannotTell), trend(CannotTell), trend(CannotTell), trend(CannotTell)}},
		"nothing is seen to drift, but these readings cannot tell loop, loop, loop, loop":                                                                      {Trends: []Trend{trend(CannotTell), trend(CannotTell), trend(CannotTell), trend(CannotTell), trend(Sound)}},
		"nothing is seen to drift, but these readings cannot tell loop (0.20 ± 0.20, limit 0.3), loop (0.20 ± 0.20, limit 0.3), loop (0.20 ± 0.20, limit 0.3)": {Trends: []Trend{trend(CannotTell), trend(CannotTell), trend(CannotTell)}},
		"nothing is seen to drift, but the level of loop cannot be":                                                                                            {Trends: []Trend{trend(CannotBe)}},
		"nothing is seen to drift, but the calibration did not converge":                                                                                       {Trends: []Trend{trend(Sound)}, Unsettled: true},
		"nothing is sure, but perhaps loop (ramp since dive 6); and these readings cannot tell loop (0.20 ± 0.20, limit 0.3)":                                  {Trends: []Trend{trend(Drifting), trend(CannotTell)}},
		"nothing is seen to drift, but the vehicle is not what its file says":                                                                                  {Trends: []Trend{trend(Sound)}, Differs: "the vehicle is not what its file says"},
	} {
		r.Judged, r.Dives, r.Units = true, make([]Dive, 2), units.Metric
		assert.Equal(t, want, r.Verdict())
	}
	assert.Equal(t, "not yet judged: 3 of the 5 dives that later ones are judged by", (&Report{Dives: make([]Dive, 3), Baseline: 5}).Verdict())
}

// A level that cannot be is a remark of its own.
func TestRemarkOnWhatCannotBe(t *testing.T) {
	rep := &Report{Trends: []Trend{{Quantity: "friction_a", State: CannotBe, Level: Estimate{-0.8, -0.82, -0.78}, Cause: &causes.Cause{Words: "friction"}}}}
	require.Len(t, rep.CannotBe(), 1)
	assert.Regexp(t, `^friction of -0.800 ± 0.020.* cannot be: the model or the file is off$`, rep.CannotBe()[0])
}

// An alarm that another battery had on its last dive, and a level past its limit, are alarming though nothing drifts.
func TestAlarming(t *testing.T) {
	r := &Report{Judged: true, Trends: []Trend{{State: NearLimit, Cause: &causes.Cause{}}}}
	assert.False(t, r.Alarming())
	r.Trends[0].State = PastLimit
	assert.True(t, r.Alarming())
	r.Trends = nil
	assert.Contains(t, r.Verdict(), "every quantity is sound")
	r.OtherBatteries = []OtherBattery{{"B", "34", &Alarm{Pattern: Ramp, OnsetDive: "11", Cause: &causes.Cause{Words: "battery resistance"}}}, {"C", "7", &Alarm{Cause: &causes.Cause{}}}}
	assert.True(t, r.Alarming())
	assert.Equal(t, "nothing is seen to drift, but battery B had an open alarm when it was last used, and battery C had an open alarm when it was last used", r.Verdict())
	assert.Equal(t, []string{"battery B had an open alarm when it was last used, at dive 34: battery resistance, ramp since dive 11; look at it before it is used again"}, r.OfBatteries("B"))
	assert.Len(t, r.OfBatteries(""), 2)
	assert.Empty(t, r.OfBatteries("A"))
	r.OtherBatteries, r.Findings = nil, []Finding{{}}
	assert.True(t, r.Alarming())
}

// What is near its limit is said beside a finding of something else, once.
func TestBesideFindings(t *testing.T) {
	limit := 1.0
	r := &Report{Units: units.Metric, Trends: []Trend{{Quantity: "insulation_megohm", State: NearLimit, Limit: &limit, Level: Estimate{2, 1.5, 2.5}, Cause: &causes.Cause{Words: "insulation", Check: "dry it"}},
		{Quantity: "friction_a", State: Sound, Cause: &causes.Cause{Words: "friction"}}}}
	assert.Empty(t, r.BesideFindings(nil), "the verdict has it")
	r.Trends[0].State = PastLimit
	assert.Equal(t, []string{"insulation (2.00 ± 0.50, limit 1) is past its limit: dry it"}, r.BesideFindings(nil), "with what to do")
	r.Trends[0].LastRead = new(0.7)
	assert.Equal(t, []string{"insulation (2.00 ± 0.50, last read 0.7, limit 1) is past its limit: dry it"}, r.BesideFindings(nil))
	r.Trends[0].State, r.Trends[0].LastRead = NearLimit, nil
	of := func(quantity string, p float64) {
		r.Findings = []Finding{{Probability: p, Cause: &causes.Cause{Quantity: quantity}}}
	}
	of("friction_a", 0.9)
	assert.Equal(t, []string{"insulation (2.00 ± 0.50, limit 1) is near its limit: dry it"}, r.BesideFindings(nil))
	assert.Empty(t, r.BesideFindings([]string{"insulation is still past its limit, 2.0"}))
	of("insulation_megohm", 0.9)
	assert.Empty(t, r.BesideFindings(nil), "it is the finding")
	of("friction_a", 0.4)
	assert.Empty(t, r.BesideFindings(nil), "none is told")
}

// A service that has not mended all that was wrong is said so, and one that made worse what was sound; not one after which the level
// may be sound.
func TestNotMended(t *testing.T) {
	limit, less := 0.3, 0.8
	report := func(change func(*Trend)) *Report {
		x := Trend{Quantity: "loop_ohm", State: PastLimit, From: 1, Level: Estimate{0.4, 0.3, 0.5}, Limit: &limit, Cause: &causes.Cause{Words: "loop"}, Eras: []Era{{To: 1, Pattern: Step}}}
		change(&x)
		return &Report{Trends: []Trend{x}, Dives: []Dive{{Dive: "17"}, {Dive: "18"}, {Dive: "19"}}, Units: units.Metric}
	}
	for name, c := range map[string]struct {
		change func(*Trend)
		want   []string
	}{
		"as bad":             {func(*Trend) {}, []string{"loop is still past its limit, 0.40 ± 0.10: what was done at dive 18 has not mended all that was wrong before it"}},
		"perhaps sound":      {func(x *Trend) { x.Level.Low = -0.01 }, nil},
		"sound before":       {func(x *Trend) { x.Eras[0] = Era{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.02}}} }, []string{`loop is past its limit since dive 18, 0.40 ± 0.10: what was done before that dive made it so; look at that work again, or where another part was fitted say it with sagline change --from "18"`}},
		"bad from the start": {func(x *Trend) { x.Eras[0] = Era{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.4}}} }, nil},
		"of another dive":    {func(x *Trend) { x.From = 0 }, nil},
		"never worked on":    {func(x *Trend) { x.Eras = nil }, nil},
		"worked on again": {func(x *Trend) {
			x.From, x.Eras = 2, []Era{{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.02}}}, {From: 1, To: 2, Pattern: Steady, Levels: []Estimate{{Value: 0.4}}}}
		}, []string{`loop is past its limit since dive 18, 0.40 ± 0.10: what was done before that dive made it so; look at that work again, or where another part was fitted say it with sagline change --from "18"`}},
		"still, and again": {func(x *Trend) {
			x.From, x.Eras = 2, []Era{{To: 1, Pattern: Step, Levels: []Estimate{{Value: 0.4}}}, {From: 1, To: 2, Pattern: Steady, Levels: []Estimate{{Value: 0.4}}}}
		}, []string{"loop is still past its limit, 0.40 ± 0.10: what was done at dive 18 has not mended all that was wrong before it"}},
		"bad from the start, and worked on": {func(x *Trend) {
			x.From, x.Eras = 2, []Era{{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.4}}}, {From: 1, To: 2, Pattern: Steady, Levels: []Estimate{{Value: 0.4}}}}
		}, nil},
		"within its limit": {func(x *Trend) { x.State = CannotTell }, nil},
		"a part is left": {func(x *Trend) {
			x.State, x.Level, x.Eras[0].Levels = Sound, Estimate{0.1, 0.08, 0.12}, []Estimate{{Value: 0.1}, {Value: 0.3}}
		}, []string{"loop is 0.100 ± 0.020, within its limit, and was 0.3 before dive 18: what was done there has mended only part of what was wrong"}},
		"of another battery": {func(x *Trend) {
			x.State, x.Level, x.Eras[0].Levels, x.Eras[0].Another = Sound, Estimate{0.1, 0.08, 0.12}, []Estimate{{Value: 0.1}, {Value: 0.3}}, true
		}, nil},
		"next to none left": {func(x *Trend) {
			x.State, x.Level, x.Eras[0].Levels = Sound, Estimate{0.1, 0.05, 0.15}, []Estimate{{Value: 0.3}}
		}, nil},
		"a part of less": {func(x *Trend) {
			x.Limit, x.Baseline, x.State, x.Level, x.Eras[0].Levels = &less, 1, Sound, Estimate{0.88, 0.86, 0.9}, []Estimate{{Value: 0.7}}
		}, []string{"loop is 0.880 ± 0.020, within its limit, and was 0.7 before dive 18: what was done there has mended only part of what was wrong"}},
		"sound, and was": {func(x *Trend) {
			x.State, x.Level, x.Eras[0] = Sound, Estimate{0.1, 0.08, 0.12}, Era{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.3}}}
		}, nil},
		"made worse": {func(x *Trend) {
			x.State, x.Level, x.Eras[0] = Sound, Estimate{0.12, 0.1, 0.14}, Era{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.004}}}
		}, []string{`loop is 0.120 ± 0.020, within its limit, and was 0.004 before dive 18: what was done there made it so; look at that work again, or where another part was fitted say it with sagline change --from "18"`}},
		"made a little worse": {func(x *Trend) {
			x.State, x.Level, x.Eras[0] = Sound, Estimate{0.09, 0.07, 0.11}, Era{To: 1, Pattern: Steady, Levels: []Estimate{{Value: 0.004}}}
		}, nil},
		"begun anew":     {func(x *Trend) { x.State, x.Eras[0].Levels = Drifting, []Estimate{{Value: 0.4}} }, nil},
		"half mended":    {func(x *Trend) { x.State = NearLimit }, []string{"loop is still near its limit, 0.40 ± 0.10: what was done at dive 18 has not mended all that was wrong before it"}},
		"less is worse":  {func(x *Trend) { x.Limit, x.Baseline, x.Level = &less, 1, Estimate{0.7, 0.6, 0.9} }, []string{"loop is still past its limit, 0.70 (0.60 to 0.90): what was done at dive 18 has not mended all that was wrong before it"}},
		"less, or sound": {func(x *Trend) { x.Limit, x.Baseline, x.Level = &less, 1, Estimate{0.7, 0.6, 1.1} }, nil},
	} {
		assert.Equal(t, c.want, report(c.change).NotMended(), name)
	}
}
