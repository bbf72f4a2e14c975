package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
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

// A level that no vehicle can have is told so, and not called sound: where that
// begins follows from what the vehicle has by its file and its first dives.
func TestCannotBe(t *testing.T) {
	v := vehicle.Example()
	v.Tether.Power.JointsOhm, v.Thrusters[0].BranchOhm, v.Thrusters[0].NoLoadA, v.Thrusters[1].NoLoadA = 0.1, 0.1, 0.4, 0.6
	m := predict.NewModel(v)
	r := &fit.Result{Model: m, Base: m.NewParams(), Baseline: 1, Dives: make([]fit.DiveFit, 2)}
	r.Base[predict.LoopOhm], r.Base[predict.OfThruster(0, predict.BranchOhm)], r.Base[predict.FrictionA] = 0.05, 0.02, 0.1
	a := &analysis{r: r, causes: causes.Table(v)}
	loop := v.Tether.CableOhm(20) + 0.15
	for name, least := range map[string]float64{"battery": 0, "power_loop": -loop, "branch:" + v.Thrusters[0].Name: -0.12, "friction": -0.7, "thrust": math.Inf(-1), "ingress": math.Inf(-1)} {
		c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Name == name })
		require.GreaterOrEqual(t, c, 0, name)
		state := func(level, sd float64) string {
			limit := 1e3 // far from all of these
			if a.causes[c].Worse < 0 && a.causes[c].Scale.Factor {
				limit = 1e-9
			}
			return a.stateOf(c, &Trend{Pattern: Steady, Limit: &limit, Level: Estimate{level, level - z95*sd, level + z95*sd}, Cause: &a.causes[c]})
		}
		if math.IsInf(least, -1) {
			assert.Equal(t, Sound, state(-100, 0.01), name)
			continue
		}
		assert.Equal(t, Sound, state(least+0.01, 0.001), name)
		assert.Equal(t, CannotBe, state(least-0.01, 0.001), name)
		assert.Equal(t, Sound, state(least-0.01, 0.02), "%s: the readings leave open that it can", name)
	}
	rep := &Report{Trends: []Trend{{Quantity: "friction_a", State: CannotBe, Level: Estimate{-0.8, -0.82, -0.78}, Cause: &causes.Cause{Words: "friction"}}}}
	require.Len(t, rep.wrong(), 1)
	assert.Regexp(t, `^friction of -0.800 ± 0.020.* cannot be: the model or the file is off$`, rep.wrong()[0])
}

// What only the newest dive shows asks for a repeat in one note: the likeliest in
// full, the next after "or", and no more.
func TestRepeats(t *testing.T) {
	a := &analysis{r: &fit.Result{Dives: []fit.DiveFit{{Log: &session.Dive{Label: "6"}}, {Log: &session.Dive{Label: "7"}}}},
		causes: []causes.Cause{{Words: "drag", What: "the vehicle drags more"}, {Words: "thrust", What: "the propellers push less"}, {Words: "scale", What: "the scale is off"}}}
	once := func(cause, dive int, none float64) explained {
		return explained{hypothesis: hypothesis{cause: cause, pattern: Once, onset: dive}, none: none}
	}
	assert.Empty(t, a.repeats(&explanation{parts: []explained{once(0, 0, 0.1), {hypothesis: hypothesis{pattern: Step, onset: 1}}}}), "an older dive, and what stays")
	const ask = ": take these readings again before anything is believed"
	assert.Equal(t, []string{"dive 7 alone reads as if the vehicle drags more (70 % sure)" + ask}, a.repeats(&explanation{parts: []explained{once(0, 1, 0.3)}}))
	assert.Equal(t, []string{"dive 7 alone reads as if the propellers push less (80 % sure), or drag" + ask},
		a.repeats(&explanation{parts: []explained{once(0, 1, 0.3), once(1, 1, 0.2), once(2, 1, 0.5)}}))
}

// What is sound again without a word is asked about in one note, each cause once
// with its last end; not what has come back.
func TestMended(t *testing.T) {
	r := &fit.Result{}
	for _, label := range []string{"1", "2", "3", "4", "5"} {
		r.Dives = append(r.Dives, fit.DiveFit{Log: &session.Dive{Label: label}})
	}
	table := []causes.Cause{{Name: "joint", Quantity: "loop", Words: "excess loop resistance"}, {Name: "drag", Quantity: "drag", Words: "drag"}, {Name: "leak", Quantity: "g", Words: "water taken in"},
		{Name: "jam", Jammed: 1, Words: "jam of port"}}
	for i := range table[:3] {
		table[i].Amplitudes = make([]causes.Amplitude, 1)
	}
	a := &analysis{r: r, causes: table, renewed: make([]bool, 4), epoch: make([]int, 4)}
	part := func(cause, onset, until int) explained {
		return explained{hypothesis: hypothesis{cause: cause, pattern: Step, onset: onset, until: until}}
	}
	const ask = ", and no line says why: write under serviced what was done, or look whether it comes back"
	assert.Empty(t, a.mended(&explanation{parts: []explained{part(0, 1, 0)}}))
	assert.Equal(t, []string{"excess loop resistance is sound again since dive 5; drag is sound again since dive 3" + ask},
		a.mended(&explanation{parts: []explained{part(0, 0, 2), part(1, 1, 2), part(0, 3, 4)}}))
	assert.Equal(t, []string{"drag is sound again since dive 3" + ask}, a.mended(&explanation{parts: []explained{part(0, 0, 2), part(1, 1, 2), part(0, 3, 0)}}), "what came back")
	assert.Equal(t, []string{"jam of port ended before dive 4" + ask}, a.mended(&explanation{parts: []explained{part(3, 0, 3)}}))
	a.renewed[1], a.epoch[1] = true, 2
	assert.Empty(t, a.mended(&explanation{parts: []explained{part(1, 1, 2)}}), "a service has made an end of it")
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
		"by about 0.05 to 0.2 Ω": {0.1, 0.05, 0.2}, "by about 0.1 Ω": {0.1, 0.1, 0.1}, "by about 2.5 Ω or more": {2.5, 2.5, 2.5},
	} {
		tr := Trend{ComesBy: &e}
		assert.Equal(t, want, tr.LevelSaid("Ω"))
	}
}
