package drift_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// between is a change from one dive to the one before another.
func between(from, until int, change func(p predict.Params, n float64)) func(*simulate.Season) {
	return func(s *simulate.Season) {
		s.Drift = func(d int, p predict.Params) {
			if d >= from && d < until {
				change(p, float64(d-from+1))
			}
		}
	}
}

// What is mended without being written down, or goes by itself, ends its alarm:
// nothing else is blamed for it, and the person is asked.
func TestGoneWithoutAWord(t *testing.T) {
	for name, c := range map[string]struct {
		quantity string
		change   func(p predict.Params, n float64)
	}{
		"joint":     {"excess_resistance_ohm", ramp(predict.LoopOhm, 0.025)},
		"propeller": {"thrust_factor", ramp(predict.LogThrust, -0.03)},
		"battery":   {"battery_resistance_ohm", ramp(predict.BatteryOhm, 0.003)},
		"leak":      {"ingress_g", ramp(predict.TrimG, -7)},
		"weed":      {"drag_factor", at(predict.LogDrag, 0.4)},
		"clamp":     {"instrument:current_a", at(predict.LogClamp, 0.08)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := scenario{season: between(9, 16, c.change)}
			v, log, truth := s.simulated(4, someDives, onset)
			r := &result{vehicle: v, log: log, truth: truth}
			r.fit = fitOf(t, r, someDives)
			rep := r.until(t, someDives)
			require.Len(t, rep.Alarms, 1)
			a := rep.Alarms[0]
			assert.Less(t, number(t, a.RaisedDive), 16)
			assert.Equal(t, c.quantity, a.Quantity)
			assert.True(t, a.Gone)
			require.NotNil(t, a.ClearedDive)
			assert.Equal(t, "16", *a.ClearedDive)
			assert.Empty(t, rep.Findings)
			assert.Regexp(t, "back at its earlier level since dive 16, and no line says why", rep.Remarks[0])
			assert.Equal(t, findings.Steady, trendOrSteady(rep, c.quantity))
		})
	}
}

// A voltmeter that is clipped on behind the fuse holder for some dives takes resistance from the loop and adds it to the
// battery. Once it is back where it was neither has changed.
func TestTwoThatEndTogether(t *testing.T) {
	for seed := range uint64(3) {
		s := scenario{season: between(10, 16, func(p predict.Params, _ float64) {
			p[predict.BatteryOhm] += 0.08
			p[predict.LoopOhm] -= 0.08
		})}
		v, log, truth := s.simulated(4+seed, someDives, onset)
		r := &result{vehicle: v, log: log, truth: truth}
		r.fit = fitOf(t, r, someDives)
		rep := r.until(t, someDives)
		assert.Empty(t, rep.Findings, "%d", seed)
		require.NotEmpty(t, rep.Alarms)
		for _, a := range rep.Alarms {
			assert.NotNil(t, a.ClearedDive, a.Quantity)
		}
	}
}

// trendOrSteady is the pattern of a quantity, steady where it has no trend.
func trendOrSteady(rep *findings.Report, quantity string) string {
	for _, t := range rep.Trends {
		if t.Quantity == quantity {
			return t.Pattern
		}
	}
	return findings.Steady
}

// It is no longer gone when it comes back: the alarm is raised again.
func TestGoneAndBack(t *testing.T) {
	s := scenario{season: func(s *simulate.Season) {
		s.Drift = func(d int, p predict.Params) {
			if d >= 9 && d < 14 || d >= 17 {
				p[predict.LoopOhm] += 0.25
			}
		}
	}}
	r := s.try(t, 5)
	require.Len(t, r.Alarms, 2)
	assert.True(t, r.Alarms[0].Gone)
	assert.Equal(t, "14", *r.Alarms[0].ClearedDive)
	assert.Nil(t, r.Alarms[1].ClearedDive)
	assert.Equal(t, "17", r.Alarms[1].OnsetDive)
	assert.Equal(t, "power_loop", r.Findings[0].Fault)
}

// A service that ended it says why.
func TestServicedIsNotGone(t *testing.T) {
	s := scenario{season: func(s *simulate.Season) {
		between(9, 16, ramp(predict.LoopOhm, 0.025))(s)
		s.Service = map[int][]string{16: {"joint"}}
	}}
	r := s.try(t, 4)
	require.Len(t, r.Alarms, 1)
	assert.False(t, r.Alarms[0].Gone)
	assert.Equal(t, "16", *r.Alarms[0].ClearedDive)
	for _, remark := range r.Remarks {
		assert.NotContains(t, remark, "no line says why")
	}
}

// Two batteries, two waters, two clamps, two voltmeters or lights by turns, of which no line tells, are found
// and blame nothing else in the end.
func TestAlternating(t *testing.T) {
	for name, c := range map[string]struct {
		cause   string
		vehicle uint64
		on      func(p predict.Params)
	}{
		"batteries": {"not_logged:battery", 1, func(p predict.Params) { battery(0.02, -0.2)(p, 1) }},
		"waters":    {"not_logged:salinity", 2, func(p predict.Params) { p[predict.SalinityPSU] += 25 }},
		"lights":    {"not_logged:lights", 1, func(p predict.Params) { p[predict.UnloggedA] += 0.8 }},
		"clamps":    {"instrument:current_a", 2, func(p predict.Params) { p[predict.LogClamp] += 0.1 }},
		"meters":    {"instrument:vehicle_v", 1, func(p predict.Params) { p[predict.LogVehicleV] += 0.04 }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := scenario{season: func(s *simulate.Season) {
				s.Dives = 24
				s.Drift = func(d int, p predict.Params) {
					if d >= 10 && d%3 != 0 {
						c.on(p)
					}
				}
			}}
			r := s.try(t, c.vehicle)
			require.Len(t, r.Findings, 1)
			f := r.Findings[0]
			assert.Equal(t, c.cause, f.Fault)
			assert.Equal(t, "10", f.SinceDive)
			assert.Equal(t, "it is so in dives 13, 14, 16, 17, 19, 20, 22, 23 and 2 before, and not in the others since then", f.Evidence[0])
			assert.Contains(t, causesOf(r.Alarms), c.cause)
			for _, a := range r.Alarms {
				assert.False(t, a.Cause.Kind == causes.Vehicle && a.ClearedDive == nil, "%s is blamed", a.Quantity)
			}
		})
	}
}

// Who forgets to write down the lights did so in some of the first dives too: that is told since then, and nothing else.
func TestAlternatingFromTheStart(t *testing.T) {
	for vehicle, amps := range map[uint64]float64{1: 0.8, 6: 0.6} {
		r := scenario{season: func(s *simulate.Season) {
			s.Dives = 20
			s.Drift = func(d int, p predict.Params) {
				if slices.Contains([]int{1, 3, 11, 13, 16, 19}, d) {
					p[predict.UnloggedA] += amps
				}
			}
		}}.try(t, vehicle)
		assert.Equal(t, []string{"not_logged:lights"}, named(r.Report))
		assert.Equal(t, "1", r.Findings[0].SinceDive)
		assert.Equal(t, "it is so in dives 1, 3, 11, 13, 16, 19, and not in the others since then", r.Findings[0].Evidence[0])
		assert.Equal(t, []string{"not_logged:lights"}, causesOf(r.Alarms))
	}
}

func causesOf(alarms []findings.Alarm) (out []string) {
	for _, a := range alarms {
		out = append(out, a.Cause.Name)
	}
	return out
}

// A fault that grows in steps, or ever faster or slower, is one fault, not instruments and others besides.
func TestFaultsInStairs(t *testing.T) {
	for name, drift := range map[string]func(d int, p predict.Params){
		"in steps": func(d int, p predict.Params) {
			p[predict.LoopOhm] += 0.09 * float64(min(1, max(0, d-onset+1))+2*min(1, max(0, d-onset-4)))
		},
		"ever slower": func(d int, p predict.Params) {
			p[predict.LoopOhm] += 1.2 * (1 - math.Exp(-float64(max(0, d-onset+1))/5))
		},
		"ever faster": func(d int, p predict.Params) {
			p[predict.LoopOhm] += 0.02*float64(max(0, d-onset+1)) + 0.08*float64(max(0, d-onset-7))
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := scenario{world: "measured", season: func(s *simulate.Season) { s.Drift = drift }}.try(t, 91)
			require.Equal(t, []string{"power_loop"}, named(r.Report))
			assert.Len(t, r.Alarms, 1)
			assert.InDelta(t, onset, number(t, r.Findings[0].SinceDive), 1)
			assert.Equal(t, name == "in steps", len(r.Findings[0].Again) > 0)
		})
	}
}

// A joint that is good in some dives and bad in others, by as much as it happens to be, is a contact that
// comes and goes; where it never goes, its steps are steps.
func TestAContactForWholeDives(t *testing.T) {
	bad := map[int]float64{onset: 0.24, onset + 2: 0.15, onset + 4: 0.3, onset + 5: 0.2}
	rep := scenario{world: "measured", season: func(s *simulate.Season) {
		s.Drift = func(d int, p predict.Params) { p[predict.LoopOhm] += bad[d] }
	}}.fitted(t, 93).until(t, onset+6)
	require.Equal(t, []string{"intermittent_contact"}, named(rep))
	assert.Equal(t, strconv.Itoa(onset), rep.Findings[0].SinceDive)
	assert.Contains(t, rep.Findings[0].Evidence[0], fmt.Sprintf("higher in dives %d, %d, %d, %d,", onset, onset+2, onset+4, onset+5))
	assert.Empty(t, blaming(rep, "excess_resistance_ohm"))
}

// Readings that disagree within one dive alone raise no alarm yet, and are asked for again; in a second
// dive they do.
func TestAContactInOneDive(t *testing.T) {
	r := scenario{world: "measured", season: loose}.try(t, 95)
	require.NotEmpty(t, r.Alarms)
	one := r.until(t, number(t, r.Alarms[0].OnsetDive))
	assert.Empty(t, one.Alarms)
	assert.Contains(t, strings.Join(one.Remarks, "\n"), "take these readings again")
	assert.Equal(t, "intermittent_contact", r.Findings[0].Fault)
}

// Lamps that need the label's voltage draw something of a full battery only: what they draw is known no better for that.
func TestLampsThatNeedTheLabelsVoltage(t *testing.T) {
	s := lit(0)
	s.file = func(v *vehicle.Vehicle) *vehicle.Vehicle {
		with := *v
		with.Lights.LEDV, with.Lights.ResistorOhm = with.Battery.NominalV, []float64{0.5}
		return &with
	}
	for _, a := range s.try(t, 2).Alarms {
		assert.NotEqual(t, causes.Vehicle, a.Cause.Kind, "%s is blamed", a.Cause.Name)
	}
}
