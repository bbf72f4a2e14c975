package drift_test

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// A contact that comes and goes adds resistance on average too: that is no second
// fault.
func TestALooseContactIsOneFault(t *testing.T) {
	r := scenario{season: loose}.try(t, 6)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, "intermittent_contact", r.Findings[0].Fault)
	assert.Regexp(t, `came and went, by about 0\.\d.* Ω`, r.Findings[0].Evidence[0])
	assert.NotNil(t, trendOf(t, r.Report, "excess_resistance_ohm").ComesBy)
	assert.NotContains(t, named(r.Report), "power_loop")
	assert.Empty(t, blaming(r.Report, "excess_resistance_ohm"))
}

// Slips of the decimal point are set aside where a jam or a loose contact explains
// the other readings, also when they lie far from what a sound vehicle shows.
func TestSlipsHideNoJamAndNoLooseContact(t *testing.T) {
	for name, c := range map[string]struct {
		season func(*simulate.Season)
		fault  string
		seed   uint64
	}{
		"jam":     {jammed(starboard), "stall:starboard", 53},
		"contact": {loose, "intermittent_contact", 55},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := scenario{world: "measured", season: func(s *simulate.Season) {
				c.season(s)
				s.Slips = 0.02
			}}.try(t, c.seed)
			assert.Equal(t, []string{c.fault}, named(r.Report))
			require.NotEmpty(t, r.Alarms)
			assert.Nil(t, r.Alarms[0].ClearedDive)
			assert.Equal(t, 1, len(r.Alarms), "%v", r.Alarms)
		})
	}
}

// A jammed dive whose battery recovers is read on the battery that it shows.
func TestAJamOnABatteryThatRecovers(t *testing.T) {
	v, log, truth := scenario{world: "measured", season: func(s *simulate.Season) {
		jammed(starboard)(s)
		s.Slips = 0.02
	}}.simulated(53, manyDives, onset)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, 21)
	assert.Equal(t, "stall:starboard", named(rep)[0])
	assert.Empty(t, blaming(rep, "stall:starboard"))
}

// Dives that say nothing are not explained by themselves, however many there are.
func TestDivesThatSayNothing(t *testing.T) {
	log := season(t, simulate.Season{Dives: 60, Seed: 21})
	for d := 5; d < len(log.Dives); d += 2 {
		log.Dives[d].Lines = log.Dives[d].Lines[:1]
	}
	f := fitted(t, log)
	for _, n := range []int{40, 60} {
		rep := drift.Analyse(f.Upto(n))
		assert.Empty(t, rep.Findings)
		assert.Empty(t, rep.Alarms)
		for _, remark := range rep.Remarks {
			assert.NotContains(t, remark, "alone reads as if")
		}
	}
}

// A joint that is mended over and over without a word is found each time; what is
// long gone is not asked about any more.
func TestMendedOverAndOver(t *testing.T) {
	log := season(t, simulate.Season{Dives: 64, Seed: 22, Drift: func(d int, p predict.Params) {
		if d%30 >= 18 {
			p[predict.LoopOhm] += 0.03 * float64(d%30-17)
		}
	}})
	rep := report(t, log)
	consistent(t, rep, 64)
	var cleared []string
	for _, a := range raised(rep, "excess_resistance_ohm") {
		require.NotNil(t, a.ClearedDive)
		assert.True(t, a.Gone)
		cleared = append(cleared, *a.ClearedDive)
	}
	assert.Equal(t, []string{"30", "60"}, cleared)
	assert.Empty(t, blaming(rep, "excess_resistance_ohm"))
	for _, remark := range rep.Remarks {
		assert.NotRegexp(t, "since dive 30,", remark)
	}
}

// A dive whose likeliest explanations lie far apart fits one of them, if not their
// mean: that is no misfit.
func TestScatteredExplanationsAreNoMisfit(t *testing.T) {
	r := scenario{world: "measured", change: ramp(predict.LogDrag, 0.06), season: func(s *simulate.Season) {
		s.Sparse, s.Without = true, simulate.VoltsOnly
	}}
	v, log, truth := r.simulated(51, 28, onset)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, 25)
	assert.NotContains(t, named(rep), findings.Unexplained)
}

// What only the newest dive shows is likelier gone in the next than to stay, where
// it often is: line in the propellers. The second such dive raises the alarm.
func TestOneDiveRaisesNoAlarm(t *testing.T) {
	log := season(t, simulate.Season{Dives: 20, Seed: 23, Drift: func(d int, p predict.Params) {
		if d >= 19 {
			p[predict.LogThrust] -= 0.3
		}
	}})
	f := fitted(t, log)
	rep := drift.Analyse(f.Upto(19))
	assert.Empty(t, rep.Alarms)
	assert.Regexp(t, "^dive 19 alone reads as if", rep.Remarks[0])
	rep = drift.Analyse(f)
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, "thrust_factor", rep.Alarms[0].Quantity)
	assert.Equal(t, "20", rep.Alarms[0].RaisedDive)
	assert.Equal(t, "19", rep.Alarms[0].OnsetDive)
}

// Weed slows climbs as well, a broken blade takes less torque: neither is told as
// several things at once, nor as the wiring.
func TestOtherWays(t *testing.T) {
	weed := scenario{change: func(p predict.Params, _ float64) {
		p[predict.LogDrag] += 0.5
		p[predict.LogClimbDrag] += 0.25
	}}.try(t, 1)
	require.Len(t, weed.Alarms, 1)
	assert.Equal(t, "drag_factor", weed.Alarms[0].Quantity)
	broken := scenario{change: func(p predict.Params, _ float64) {
		p[predict.OfThruster(0, predict.LogOneThrust)] -= 0.6
		p[predict.OfThruster(0, predict.LogOneTorque)] -= 0.3
	}}.try(t, 2)
	stands := slices.DeleteFunc(broken.Alarms, func(a findings.Alarm) bool { return a.Withdrawn })
	require.Len(t, stands, 1)
	assert.Equal(t, "thrust_factor:"+broken.vehicle.Thrusters[0].Name, stands[0].Quantity)
}

// A blade whose tip is gone takes nearly as much off the torque as off the thrust, and less than the wiring would for that pull.
func TestBladeWithoutItsTip(t *testing.T) {
	unhurried(t)
	rep := ofFolder(t, "blade-tip")
	require.Len(t, rep.Findings, 1)
	assert.Equal(t, "thrust:green", rep.Findings[0].Fault)
	assert.Equal(t, "branch:green", rep.Findings[0].Alternatives[0].Fault)
}

// What grows and then grows no more is one fault, not a fault and a repair.
func TestAFaultThatLevelsOff(t *testing.T) {
	r := scenario{change: func(p predict.Params, n float64) { p[predict.LoopOhm] += 0.04 * min(n, 6) }}.try(t, 1)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, "power_loop", r.Findings[0].Fault)
	assert.NotContains(t, named(r.Report), "not_logged:repair:power_loop")
	for _, a := range r.Alarms {
		assert.NotEqual(t, "not_logged:repair:power_loop", a.Quantity)
	}
}

// A battery that runs empty within a dive, fast at the end, is no contact that comes and goes.
func TestABatteryThatRunsEmpty(t *testing.T) {
	r := scenario{world: "measured", season: func(s *simulate.Season) {
		dive, line := 0, 0
		s.LineDrift = func(d int, _ *rand.Rand, p predict.Params) {
			if line++; d != dive {
				dive, line = d, 0
			}
			if d >= onset {
				p[predict.OpenCircuitV] -= 0.036 * float64(line*line)
			}
		}
	}}.try(t, 72)
	assert.NotContains(t, named(r.Report), "intermittent_contact")
	assert.Empty(t, raised(r.Report, "excess_resistance_ohm"))
}

// Of a vehicle of which little is known a jam could draw little more than a free thruster: a power loop
// that has gained resistance, and so draws less, still suggests none.
func TestLessCurrentIsNoJam(t *testing.T) {
	v, log, _ := scenario{world: "measured", file: sparsely, season: func(s *simulate.Season) {
		s.Drift = func(d int, p predict.Params) {
			if d >= onset {
				p[predict.LoopOhm] += 0.4
			}
		}
	}}.simulated(84, onset+5, onset)
	f, err := fit.Fit(v, log)
	require.NoError(t, err)
	for d := range f.Dives {
		for how := range f.Dives[d].Summary.Failed {
			assert.False(t, how.Jam(), "dive %d: %v", d+1, how)
		}
	}
}

// Weed that jams a propeller in some dives and not in others is one jam by turns; one that
// goes by itself is gone after some dives.
func TestJamsThatComeAndGo(t *testing.T) {
	byTurns, gone := []int{onset, onset + 1, onset + 3, onset + 5, onset + 7}, []int{onset, onset + 1, onset + 2}
	in := func(dives []int) *findings.Report {
		return scenario{world: "measured", season: func(s *simulate.Season) {
			s.Jam = func(d int) int {
				if slices.Contains(dives, d) {
					return port + 1
				}
				return 0
			}
		}}.try(t, 81).Report
	}
	rep := in(byTurns)
	require.Equal(t, []string{"stall:port"}, named(rep))
	assert.Contains(t, rep.Findings[0].Evidence[0], strconv.Itoa(onset+7)+", and not in the others since then")
	assert.Empty(t, blaming(rep, "stall:port"))
	assert.Nil(t, rep.Alarms[0].ClearedDive)

	rep = in(gone)
	assert.Empty(t, named(rep))
	require.Len(t, rep.Alarms, 1)
	assert.True(t, rep.Alarms[0].Gone)
	assert.Equal(t, strconv.Itoa(onset+3), *rep.Alarms[0].ClearedDive)
}

// A propeller that slips on its shaft takes less torque and pushes as much less, which wiring with more resistance does too: neither
// is sure.
func TestSlippingPropellerOrWiring(t *testing.T) {
	slips := func(p predict.Params, _ float64) {
		p[predict.OfThruster(port, predict.LogOneThrust)] -= 0.3
		p[predict.OfThruster(port, predict.LogOneTorque)] -= 0.3
	}
	for seed := range uint64(3) {
		for _, world := range []string{"", "measured"} {
			r := scenario{change: slips, world: world}.try(t, 300+seed)
			assert.Greater(t, probabilityOf(r.Report, "thrust:port"), 0.05, "vehicle %d", seed)
			assert.Greater(t, probabilityOf(r.Report, "branch:port"), 0.5, "vehicle %d", seed)
		}
	}
}

// A scale whose zero has moved far reads no hover weights with their decimal point astray: climbs say that nothing weighs
// more.
func TestScaleFarOff(t *testing.T) {
	for _, g := range []float64{-200, 200} {
		r := scenario{change: at(predict.TrimZeroG, g)}.try(t, 300)
		require.Len(t, r.Findings, 1, "%g g", g)
		assert.Equal(t, "instrument:trim", r.Findings[0].Fault)
	}
}
