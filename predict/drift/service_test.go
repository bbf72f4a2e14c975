package drift_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// What is serviced before some dives: first another part, then the one at fault.
const (
	besides = 15
	served  = 17
)

// serviced is a case whose fault ends with the service of a part, and not with that of another before.
func (c *caseOf) serviced(t *testing.T, seed uint64, by service) *result {
	s := c.scenario
	change, season := s.change, s.season
	s.change = func(p predict.Params, n float64) {
		if change != nil && n <= served-onset {
			change(p, n)
		}
	}
	s.season = func(x *simulate.Season) {
		if season != nil {
			season(x)
		}
		if jam := x.Jam; jam != nil {
			x.Jam = func(d int) int {
				if d >= served {
					return 0
				}
				return jam(d)
			}
		}
		x.Service = map[int][]string{besides: {by.other}, served: {by.part}}
	}
	return s.try(t, seed)
}

// A service is of a part that ends a fault, and of another before, which does not.
type service struct{ other, part string }

// services are those of the first step of each cause, of one for thrusters that are alike.
func services() map[int]service {
	done := map[string]bool{"intermittent_contact": true, "not_logged:salinity": true, "not_logged:reel": true, "not_logged:depth": true, "not_logged:climb": true, // no alarm outlives its dive; nothing to mend
		"floats": true, "not_logged:one_propeller": true} // no alarm; an alarm that may be of the motor
	out := map[int]service{}
	for i := range cases {
		c := &cases[i]
		kind := strings.TrimSuffix(strings.TrimSuffix(c.cause, ":port"), ":starboard")
		if done[kind] || c.pattern == findings.Ramp {
			continue
		}
		done[kind] = true
		v := simulate.Fleet(1)
		if c.file != nil {
			v = c.file(v)
		}
		table := causes.Table(v)
		row := table[slices.IndexFunc(table, func(r causes.Cause) bool { return r.Name == c.cause })]
		by := service{"battery", row.Cleared[0]} // the table's own test tries each
		if row.ClearedBy([]string{by.other}) {
			by.other = "hull"
		}
		out[i] = by
	}
	return out
}

// ended checks that the fault's alarms and findings end with the service of its part, and its trend begins anew.
func (c *caseOf) ended(t *testing.T, r *result, by service) {
	require.NotEmpty(t, r.Alarms)
	for _, a := range r.Alarms {
		if assert.NotNil(t, a.ClearedDive, a.Quantity) {
			assert.LessOrEqual(t, number(t, *a.ClearedDive), served)
			assert.NotEqual(t, fmt.Sprint(besides), *a.ClearedDive, "%s cleared by %s", a.Quantity, by.other)
		}
	}
	last := r.Alarms[len(r.Alarms)-1]
	assert.Less(t, number(t, last.RaisedDive), besides)
	assert.Equal(t, fmt.Sprint(served), *last.ClearedDive)
	assert.False(t, last.Withdrawn)
	assert.Empty(t, named(r.Report))
	table := causes.Table(r.vehicle)
	quantity := table[slices.IndexFunc(table, func(row causes.Cause) bool { return row.Name == c.cause })].Quantity
	for _, tr := range r.Trends {
		if tr.Quantity == quantity {
			assert.Equal(t, served-1, tr.From, "the trend begins anew")
			assert.Equal(t, findings.Steady, tr.Pattern)
		}
	}
}

// A fault that comes back after its service is found again, against the level
// since; one that the service did not mend too.
func TestAfterAService(t *testing.T) {
	service := func(s *simulate.Season) { s.Service = map[int][]string{14: {"joint"}} }
	back := scenario{season: service, change: func(p predict.Params, n float64) {
		switch d := n + onset - 1; {
		case d < 14:
			p[predict.LoopOhm] += 0.15
		case d >= 17:
			p[predict.LoopOhm] += 0.2
		}
	}}.try(t, 3)
	alarms := raised(back.Report, "excess_resistance_ohm")
	require.Len(t, alarms, 2)
	assert.Equal(t, "14", *alarms[0].ClearedDive)
	assert.Nil(t, alarms[1].ClearedDive)
	assert.Contains(t, []string{"17", "18"}, alarms[1].RaisedDive)
	assert.Equal(t, "17", alarms[1].OnsetDive)
	tr := trendOf(t, back.Report, "excess_resistance_ohm")
	assert.Equal(t, findings.Step, tr.Pattern)
	assert.InDelta(t, 0.2, tr.Level.Value, 0.04)
	assert.InDelta(t, 0, tr.Levels[15].Value, 0.04)

	worse := scenario{season: service, change: ramp(predict.LoopOhm, 0.03)}.try(t, 3)
	alarms = raised(worse.Report, "excess_resistance_ohm")
	require.Len(t, alarms, 2, "it goes on growing")
	assert.GreaterOrEqual(t, number(t, alarms[1].RaisedDive), 14, "its own readings are of after the service")
	assert.Nil(t, alarms[1].ClearedDive)
}

// What a service hardly mended is not forgotten where it reads as before: weight that is lost, when the scale is looked at.
func TestAServiceOfWhatItHardlyWas(t *testing.T) {
	r := scenario{change: at(predict.TrimG, 50), season: func(x *simulate.Season) {
		x.Service, x.Without = map[int][]string{served: {"scale"}}, []quantity.Quantity{quantity.Climb, quantity.Pull}
	}}.try(t, 5)
	require.NotEmpty(t, r.Findings)
	assert.Contains(t, []string{"ballast", "not_logged:salinity"}, r.Findings[0].Fault)
	require.NotEmpty(t, r.Alarms)
	assert.Nil(t, r.Alarms[0].ClearedDive)
}

// A joint that is made badly has a new level, which blames nothing that changes; that it was made so is said, also where it may
// be past its limit or not.
func TestAServiceThatMadeItWorse(t *testing.T) {
	for _, ohm := range []float64{0.2, 0.29, 0.4} {
		r := scenario{change: at(predict.LoopOhm, ohm), season: func(x *simulate.Season) { x.Service = map[int][]string{onset: {"joint"}} }}.try(t, 5)
		assert.Empty(t, named(r.Report), "%g Ω", ohm)
		assert.Contains(t, strings.Join(r.Remarks, "\n"), "what was done before that dive made it so; look at that work again", "%g Ω", ohm)
	}
}

// A vehicle that is better or worse after a service than before has a new level
// and no fault, where the same change without one is a cause's case.
func TestAServiceSetsALevelAnew(t *testing.T) {
	for part, cause := range map[string]string{
		"propeller": "thrust", "hull": "drag", "joint": "power_loop", "seal": "ingress", "clamp": "instrument:current_a",
		"battery": "battery", "voltmeter": "instrument:vehicle_v", "tape": "instrument:speed",
	} {
		t.Run(part, func(t *testing.T) {
			t.Parallel()
			c := cases[slices.IndexFunc(cases, func(c caseOf) bool { return c.cause == cause && c.pattern == findings.Step })]
			c.season = func(x *simulate.Season) { x.Service = map[int][]string{onset: {part}} }
			r := c.try(t, 1)
			assert.Empty(t, r.Alarms)
			assert.Empty(t, named(r.Report))
		})
	}
}

// The same within the baseline, whose first dives have the old level.
func TestAServiceWithinTheBaseline(t *testing.T) {
	const from, dives = 4, 14
	for part, cause := range map[string]string{"hull": "drag", "clamp": "instrument:current_a", "scale": "instrument:trim", "voltmeter": "instrument:vehicle_v", "thruster": "friction:port"} {
		c := cases[slices.IndexFunc(cases, func(c caseOf) bool { return c.cause == cause && c.pattern == findings.Step })]
		c.season = func(x *simulate.Season) { x.Service = map[int][]string{from: {part}} }
		v, log, truth := c.scenario.simulated(901, dives, from)
		rep := (&result{vehicle: v, log: log, truth: truth}).until(t, dives)
		assert.Empty(t, rep.Alarms, part)
		assert.Empty(t, named(rep), part)
	}
}

// Another battery that the log names is no fault, nor are two by turns; one that
// is not named is said to be that.
func TestBatteries(t *testing.T) {
	other := battery(0.02, 0.3)
	turns := func(p predict.Params, n float64) {
		if int(n)%2 == 1 {
			other(p, n)
		}
	}
	labels := map[int]string{1: "A"}
	for d := onset; d <= someDives; d++ {
		labels[d] = "A"
		if (d-onset)%2 == 0 {
			labels[d] = "B"
		}
	}
	once := map[int]string{1: "A", onset: "B"}
	with := func(labels map[int]string) func(*simulate.Season) {
		return func(s *simulate.Season) { s.Battery = labels }
	}
	assert.Empty(t, scenario{change: other, season: with(once)}.try(t, 1).Alarms)
	assert.Empty(t, scenario{change: turns, season: with(labels)}.try(t, 1).Alarms)
	r := scenario{change: other}.try(t, 1)
	assert.Contains(t, named(r.Report), "not_logged:battery")
	assert.Empty(t, blaming(r.Report))
	// an old battery that sags is cleared by another label
	r = scenario{change: func(p predict.Params, n float64) {
		if n <= 6 {
			p[predict.BatteryOhm] += 0.004 * n
		}
	}, season: with(map[int]string{1: "A", onset + 6: "B"})}.try(t, 2)
	require.NotEmpty(t, raised(r.Report, "battery_resistance_ohm"))
	for _, a := range r.Alarms {
		require.NotNil(t, a.ClearedDive)
		assert.Equal(t, fmt.Sprint(onset+6), *a.ClearedDive)
	}
	assert.Empty(t, r.Findings)
}

// What was rebuilt on purpose has its level anew, within the baseline too.
func TestRebuilt(t *testing.T) {
	for _, from := range []int{onset, 4} {
		v, log, _ := scenario{change: func(p predict.Params, _ float64) {
			p[predict.LogPitch] += 0.2
			p[predict.LogThrust] += 0.1
			p[predict.LogTorque] += 0.3
		}}.simulated(8, someDives, from)
		report := func(v *vehicle.Vehicle) *findings.Report {
			r := &result{vehicle: v, log: log}
			return r.until(t, someDives)
		}
		assert.NotEmpty(t, report(v).Alarms, from)
		text := string(v.Text())
		for _, name := range []string{"port", "starboard", "vertical"} {
			text += fmt.Sprintf("[[change]]\ndive = \"%d\"\nthruster.%s.prop_pitch_mm = %g\n", from, name, v.Thrusters[0].PropPitchMM*1.2)
		}
		rebuilt, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
		require.NoError(t, err)
		got := report(rebuilt)
		assert.Empty(t, got.Alarms, from)
		assert.Empty(t, got.Findings, from)
		assert.NotContains(t, strings.Join(got.Remarks, "\n"), "differ", from)
	}
}

func TestServicesOfOneDive(t *testing.T) {
	r := scenario{season: func(s *simulate.Season) { s.Service = map[int][]string{3: {"hull"}, 12: {"tether", "clamp"}} }}.try(t, 1)
	for i, d := range r.Dives {
		switch i + 1 {
		case 3:
			assert.Equal(t, []string{"hull"}, d.Serviced)
		case 12:
			assert.Equal(t, []string{"tether", "clamp"}, d.Serviced)
		default:
			assert.Empty(t, d.Serviced)
		}
	}
}

// What a service does not touch goes on as it was: what dives before it say of that still counts, with the
// thrust and the friction that they had.
func TestAServiceLeavesTheRest(t *testing.T) {
	v, log, truth := scenario{change: func(p predict.Params, _ float64) { p[predict.LoopOhm] += 0.3 }, season: func(x *simulate.Season) {
		x.Service = map[int][]string{17: {"propeller"}}
		x.Without = []quantity.Quantity{quantity.VehicleV, quantity.LoopOhm}
	}}.simulated(3, 22, 12)
	r := wholly(t, v, log, truth)
	for _, n := range []int{16, 17, 22} {
		loopOpen(t, r.until(t, n))
	}
}

// New propellers may push and turn otherwise, each: what they push together the readings tell as before. What no
// propeller touches stays known.
func TestAServiceLeavesWhatTheReadingsTell(t *testing.T) {
	v, log, truth := scenario{change: func(p predict.Params, _ float64) { p[predict.LogThrust] -= 0.06 }, season: func(x *simulate.Season) {
		x.Service = map[int][]string{onset: {"propeller"}}
	}}.simulated(3, 22, 12)
	rep := wholly(t, v, log, truth).until(t, 22)
	trend := func(quantity string) findings.Trend {
		return rep.Trends[slices.IndexFunc(rep.Trends, func(t findings.Trend) bool { return t.Quantity == quantity })]
	}
	thrust := trend("thrust_factor")
	assert.Less(t, thrust.Level.High-thrust.Level.Low, 0.38, "0.40 where none but the common level counts")
	assert.Less(t, thrust.Level.Low, 0.94)
	assert.Greater(t, thrust.Level.High, 0.94)
	for _, name := range []string{"port", "starboard"} {
		wiring := trend("branch_excess_ohm:" + name)
		assert.Equal(t, findings.Sound, wiring.State)
		assert.Zero(t, wiring.From, "nothing of it begins anew")
	}
}

// A battery that is serviced is another one, of half or of four times the resistance, also where the first dive with it
// hardly tells.
func TestABatteryThatIsServiced(t *testing.T) {
	for _, ohm := range []float64{-0.015, 0.09} {
		v, log, truth := scenario{change: at(predict.BatteryOhm, ohm), season: func(x *simulate.Season) {
			x.Service = map[int][]string{onset: {"battery"}}
		}}.simulated(3, 22, onset)
		first := &log.Dives[onset-1]
		serviced := first.Lines[0].Serviced
		first.Lines = slices.DeleteFunc(first.Lines, func(l session.Line) bool { return len(l.Drives) != 2 })
		first.Lines[0].Serviced = serviced
		rep := wholly(t, v, log, truth).until(t, 22)
		assert.Empty(t, named(rep), "%g Ω", ohm)
		assert.Empty(t, rep.Alarms, "%g Ω", ohm)
		level := trendOf(t, rep, "battery_resistance_ohm").Level
		assert.InDelta(t, v.Battery.ResistanceOhm+truth[21][predict.BatteryOhm], level.Value, 0.005, "%g Ω", ohm)
	}
}

// wholly is a log with all its dives fitted.
func wholly(t *testing.T, v *vehicle.Vehicle, log *session.Log, truth []predict.Params) *result {
	t.Helper()
	r := &result{vehicle: v, log: log, truth: truth}
	r.fit = fitOf(t, r, len(log.Dives))
	return r
}

// loopOpen asserts that the loop's fault alone is told, and that its alarm is open.
func loopOpen(t *testing.T, rep *findings.Report) {
	t.Helper()
	n := len(rep.Dives)
	require.Equal(t, []string{"power_loop"}, named(rep), "dive %d", n)
	assert.Greater(t, rep.Findings[0].Probability, 0.95, "dive %d", n)
	a := raised(rep, "excess_resistance_ohm")
	require.Len(t, a, 1)
	assert.Nil(t, a[0].ClearedDive, "dive %d", n)
}

// Of two faults the one that is mended ends with the service, and the other is as sure as it was.
func TestAServiceMendsOneOfTwo(t *testing.T) {
	v, log, truth := scenario{season: func(x *simulate.Season) {
		x.Service = map[int][]string{18: {"propeller"}}
		x.Drift = func(d int, p predict.Params) {
			if d >= 11 {
				p[predict.LoopOhm] += 0.3
			}
			if d >= 14 && d < 18 {
				p[predict.LogThrust] -= 0.35
			}
		}
	}}.simulated(4, 19, 100)
	r := wholly(t, v, log, truth)
	before := r.until(t, 17)
	require.ElementsMatch(t, []string{"power_loop", "thrust"}, named(before))
	for _, n := range []int{18, 19} {
		rep := r.until(t, n)
		require.Equal(t, []string{"power_loop"}, named(rep), "dive %d", n)
		assert.Greater(t, rep.Findings[0].Probability, 0.969, "dive %d", n)
		require.Len(t, raised(rep, "thrust_factor"), 1)
		assert.Equal(t, "18", *raised(rep, "thrust_factor")[0].ClearedDive)
		for _, s := range rep.Remarks {
			assert.NotContains(t, s, "no line says why")
		}
	}
}

// Where a service mends what may have been either of two, the other is not told from then on.
func TestAServiceSettlesWhich(t *testing.T) {
	v, log, truth := scenario{season: func(x *simulate.Season) {
		x.Service = map[int][]string{16: {"propeller"}}
		x.Without = []quantity.Quantity{quantity.Pull}
		x.Drift = func(d int, p predict.Params) {
			if d >= 12 && d < 16 {
				p[predict.LogThrust] -= 0.3
			}
		}
	}}.simulated(2, 19, 100)
	r := wholly(t, v, log, truth)
	before := r.until(t, 15)
	require.NotEmpty(t, before.Findings)
	require.Contains(t, []string{"thrust", "drag"}, before.Findings[0].Fault)
	for _, n := range []int{16, 19} {
		rep := r.until(t, n)
		assert.Empty(t, named(rep), "dive %d", n)
		assert.Empty(t, raised(rep, "drag_factor"), "dive %d", n)
	}
}

// A loop that has lost more than its joints had is of another cable than the file's, and not called sound, whether
// or not a line says that the tether was worked on; joints that were re-made are sound.
func TestNotAsBuilt(t *testing.T) {
	for _, c := range []struct {
		lost     float64
		serviced map[int][]string
		want     string
	}{
		{0.17, map[int][]string{13: {"tether"}}, findings.NotAsBuilt}, {0.17, nil, findings.NotAsBuilt},
		{0.03, map[int][]string{13: {"tether"}}, findings.Sound}, {-0.03, map[int][]string{13: {"tether"}}, findings.Sound},
	} {
		rep := report(t, season(t, simulate.Season{Dives: 18, Seed: 5, Service: c.serviced, Drift: func(d int, p predict.Params) {
			if d >= 13 {
				p[predict.LoopOhm] -= c.lost
			}
		}}))
		assert.Equal(t, c.want, rep.Trends[0].State, "%+v", c)
		remarks := strings.Join(rep.Remarks, "\n")
		if c.want == findings.Sound {
			assert.NotContains(t, remarks, "sagline change")
			continue
		}
		assert.Contains(t, remarks, "since dive 13 the power loop has less resistance than its cable alone should have (-0.1")
		assert.Contains(t, remarks, `was the tether shortened or exchanged? If so say it with sagline change --from "13" --set tether.length_m`)
	}
}

// A service that left a fault as it was is told as such.
func TestAServiceThatDidNotEndIt(t *testing.T) {
	did := fmt.Sprintf("what was done before dive %d did not end it", served)
	for name, c := range map[string]struct {
		cause string
		scenario
		part string
	}{
		"joint":  {"power_loop", scenario{change: at(predict.LoopOhm, 0.15)}, "joint"},
		"branch": {"branch:port", scenario{change: at(predict.OfThruster(port, predict.BranchOhm), 0.4)}, "thruster"},
		"clamp":  {"instrument:current_a", scenario{change: at(predict.LogClamp, 0.1)}, "clamp"},
	} {
		c.season = func(s *simulate.Season) { s.Service = map[int][]string{served: {c.part}} }
		r := c.try(t, 1)
		if assert.Len(t, r.Findings, 1, name) {
			f := r.Findings[0]
			assert.Equal(t, c.cause, f.Fault, name)
			assert.Less(t, number(t, f.SinceDive), served, name)
			assert.Contains(t, f.Evidence, did, name)
			tr := trendOf(t, r.Report, f.Cause.Quantity)
			assert.Less(t, tr.From, onset, "%s: no service parts its trend", name)
			assert.Empty(t, tr.Eras, name)
		}
	}
}

// Work that ends a fault is the end of its finding, also where the log hardly tells that fault from another: without the
// vehicle's voltage, or without pulls. Work that does not is not.
func TestMendedOrNot(t *testing.T) {
	volts, pull, runs := []quantity.Quantity{quantity.VehicleV, quantity.LoopOhm}, []quantity.Quantity{quantity.Pull, quantity.VehicleV, quantity.LoopOhm}, []quantity.Quantity{quantity.Speed, quantity.LoopOhm}
	for name, c := range map[string]struct {
		part    string
		without []quantity.Quantity
		param   int
		by      float64
		seeds   []uint64
		stays   string // what it is if the work does not end it; "": not tried
	}{
		"a joint re-made":     {"joint", volts, predict.LoopOhm, 0.06, []uint64{1, 2, 3}, "power_loop"},
		"a hull cleaned":      {"hull", pull, predict.LogDrag, 0.3, []uint64{1, 3, 4}, ""},
		"not the hull":        {"hull", pull, predict.LogThrust, -0.15, nil, "thrust"},
		"a tube dried":        {"seal", runs, predict.TrimG, -30, []uint64{4}, "ingress"},
		"a clamp meter set":   {"clamp", runs, predict.LogClamp, 0.06, []uint64{3, 4}, "instrument:current_a"},
		"a distance measured": {"tape", []quantity.Quantity{quantity.CurrentA, quantity.LoopOhm}, predict.LogSpeed, 0.1, []uint64{3}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			of := func(until int, seed uint64) *result {
				return scenario{change: func(p predict.Params, n float64) {
					if int(n)+onset-1 < until {
						p[c.param] += c.by
					}
				}, season: func(s *simulate.Season) { s.Service, s.Without = map[int][]string{served: {c.part}}, c.without }}.try(t, seed)
			}
			for _, seed := range c.seeds {
				r := of(served, seed)
				require.NotEmpty(t, r.Alarms, "seed %d", seed)
				for _, a := range r.Alarms {
					assert.NotNil(t, a.ClearedDive, "seed %d: %s", seed, a.Quantity)
				}
				assert.Empty(t, named(r.Report), "seed %d", seed)
			}
			if c.stays != "" {
				assert.Equal(t, []string{c.stays}, named(of(someDives+1, 2).Report))
			}
		})
	}
}

// Motors that were worked on are usually what they were, or of the same make: their levels are known again without a pull,
// and those of motors that turn harder are within the range.
func TestMotorsWorkedOn(t *testing.T) {
	for name, c := range map[string]struct {
		harder, within float64
	}{"as before": {0, 0.4}, "a tight seal": {0.15, 0.4}} {
		for seed := uint64(1); seed <= 4; seed++ {
			r := scenario{change: func(p predict.Params, _ float64) { p[predict.FrictionA] += c.harder }, season: func(s *simulate.Season) {
				s.Service, s.Without = map[int][]string{onset: {"thruster"}}, []quantity.Quantity{quantity.Pull, quantity.VehicleV, quantity.LoopOhm}
			}}.try(t, seed)
			l := trendOf(t, r.Report, "friction_a").Level
			assert.True(t, l.Low <= c.harder && c.harder <= l.High, "%s, seed %d: %.3f (%.3f to %.3f)", name, seed, l.Value, l.Low, l.High)
			assert.Less(t, l.High-l.Low, c.within, "%s, seed %d", name, seed)
			assert.Empty(t, named(r.Report), "%s, seed %d", name, seed)
		}
	}
}
