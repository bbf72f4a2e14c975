package drift_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

// A motor that stands has a resistance of its own, less or more than while it runs, and the same in all dives: it is
// jammed and nothing else, and its wiring no worse.
func TestAStandingMotorsResistance(t *testing.T) {
	for _, ohm := range []float64{-0.33, 0.5} {
		s := scenario{season: jammed(port), change: at(predict.OfThruster(port, predict.BranchOhm), ohm)}
		r := s.try(t, 81)
		assert.Equal(t, []string{"stall:port"}, named(r.Report), "%g Ω", ohm)
		for i := range r.Dives {
			assert.Equal(t, i+1 >= onset, slices.Equal(r.Dives[i].Jammed, []string{"port"}), "dive %d looks jammed: %v", i+1, r.Dives[i].Jammed)
			assert.True(t, inside(r.Dives[i].Estimates["branch_excess_ohm:port"], 0), "dive %d by itself: %v", i+1, r.Dives[i].Estimates["branch_excess_ohm:port"])
		}
		level := trendOf(t, r.Report, "branch_excess_ohm:port").Level
		assert.InDelta(t, 0, level.Value, 0.08, "%g Ω", ohm)
		assert.True(t, inside(level, 0), "%g Ω: %v", ohm, level)
	}
}

// A thruster whose circuit is open is told as its wiring, in words of its own, with a level far past its limit; one whose propeller
// is lost as that or as wiring that carries about as little. That it does nothing raises an alarm at once, whichever it is, and each
// dive looks so by itself.
func TestAThrusterThatDoesNothing(t *testing.T) {
	for name, c := range map[string]struct {
		change     func(predict.Params, float64)
		looks      fit.Looks
		words      string
		check, why string
	}{
		"open": {at(predict.OfThruster(port, predict.BranchOhm), 1e4), fit.Looks{Open: []string{"port"}}, "open circuit of port", "a relay that does not close", "Ω or more in its circuit"},
		"lost": {lost(port), fit.Looks{Lost: []string{"port"}}, "open circuit of port or lost propeller of port", "fast on its shaft", "in its circuit"},
	} {
		r := scenario{change: c.change}.try(t, 82)
		require.Equal(t, []string{"branch:port"}, named(r.Report), name)
		f := &r.Findings[0]
		assert.Greater(t, f.Sure(), 0.969, name)
		assert.Equal(t, c.words, f.Cause.Words, name)
		assert.Contains(t, f.CheckNext, c.check, name)
		assert.Contains(t, f.Evidence[0], c.why, name)
		if name == "lost" {
			require.Len(t, f.Either, 2)
			assert.Equal(t, "thrust:port", f.Either[1].Fault)
			assert.InDelta(t, f.Sure(), f.Either[0].Probability+f.Either[1].Probability, 1e-9)
		}
		for i := range r.Dives {
			looks := r.Dives[i].Looks
			if i+1 < onset {
				assert.Equal(t, fit.Looks{}, looks, "%s, dive %d", name, i+1)
				continue
			}
			assert.Subset(t, looks.Open, c.looks.Open, "%s, dive %d", name, i+1)
			assert.Subset(t, looks.Lost, c.looks.Lost, "%s, dive %d", name, i+1)
		}
		trend := trendOf(t, r.Report, "branch_excess_ohm:port")
		assert.Equal(t, findings.Drifting, trend.State, name)
		if name == "open" {
			assert.Greater(t, trend.Level.Low, 3.0)
			e := r.Dives[onset-1].Estimates["branch_excess_ohm:port"]
			assert.Greater(t, e.Low, 3.0, "its own")
			assert.Less(t, e.High, 1e3, "that it is more no reading tells")
		}
		require.Len(t, r.Alarms, 1, name)
		assert.Equal(t, strconv.Itoa(onset), r.Alarms[0].RaisedDive, name)
		assert.Nil(t, r.Alarms[0].ClearedDive, name)
		assert.True(t, f.Alarm, name)
	}
}

// Where the newest dive did not run it, its wiring is as it was read last.
func TestAnOpenCircuitThatRests(t *testing.T) {
	const dives = onset + 3
	v, log, truth := scenario{change: at(predict.OfThruster(port, predict.BranchOhm), 1e4)}.simulated(82, dives, onset)
	last := &log.Dives[dives-1]
	last.Lines = slices.DeleteFunc(last.Lines, func(l session.Line) bool {
		return slices.ContainsFunc(l.Drives, func(d session.Drive) bool { return d.Name == v.Thrusters[port].Name })
	})
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, dives)
	require.Equal(t, []string{"branch:port"}, named(rep))
	levels := trendOf(t, rep, "branch_excess_ohm:port").Levels
	assert.Greater(t, levels[dives-1].Low, 3.0)
	assert.Less(t, levels[onset-2].High, 0.2)
}

// A relay that does not always close is one open circuit, by turns.
func TestARelayThatDoesNotAlwaysClose(t *testing.T) {
	v, log, truth := scenario{season: func(s *simulate.Season) {
		s.Drift = func(d int, p predict.Params) {
			if d >= onset && d%2 == 0 {
				p[predict.OfThruster(port, predict.BranchOhm)] += 1e4
			}
		}
	}}.simulated(86, onset+7, onset)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, onset+7)
	require.Equal(t, []string{"branch:port"}, named(rep))
	assert.Equal(t, "open circuit of port", rep.Findings[0].Cause.Words)
	assert.Contains(t, rep.Findings[0].Evidence[0], "it is so in dives")
}

// A thruster may be jammed since the first dive after the baseline.
func TestAJamSinceTheFirstDive(t *testing.T) {
	const first = 6
	v, log, truth := scenario{season: func(s *simulate.Season) {
		s.Jam = func(d int) int {
			if d < first {
				return 0
			}
			return port + 1
		}
	}}.simulated(83, first+2, onset)
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, first+2)
	assert.Equal(t, []string{"stall:port"}, named(rep))
	assert.Equal(t, "6", rep.Findings[0].SinceDive)
}

// Of two thrusters that never run alone no reading tells which is jammed: that one is, is said and alarmed at once.
func TestAJamOfEither(t *testing.T) {
	v, log, truth := scenario{season: jammed(port)}.simulated(84, onset+1, onset)
	for d := range log.Dives {
		log.Dives[d].Lines = slices.DeleteFunc(log.Dives[d].Lines, func(l session.Line) bool { return len(l.Drives) == 1 })
	}
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, onset+1)
	require.Len(t, rep.Findings, 1)
	f := &rep.Findings[0]
	assert.Less(t, f.Probability, 0.6)
	assert.Greater(t, f.Sure(), 0.969)
	assert.Equal(t, "jam of port or starboard", f.Cause.Words)
	assert.Contains(t, f.CheckNext, "switch port and starboard off at once")
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, strconv.Itoa(onset), rep.Alarms[0].RaisedDive)
	assert.Nil(t, rep.Alarms[0].ClearedDive)
	assert.Equal(t, "jam of port or starboard", rep.Alarms[0].Cause.Words)
}

// Where each dive has one coarse reading under power, or none with the thruster that is jammed, no dive says much: some
// together say that it is jammed, and has been since.
func TestAJamOfFewReadings(t *testing.T) {
	const dives = onset + 11
	v, log, truth := scenario{season: jammed(port)}.simulated(85, dives, onset)
	v.Instruments.CurrentA, v.Instruments.VehicleV, v.Instruments.SpeedPercent = 5, 1.2, 20
	for d := onset - 1; d < len(log.Dives); d++ {
		lines := log.Dives[d].Lines
		read := [...]quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.Speed}[d%3]
		line := lines[slices.IndexFunc(lines, func(l session.Line) bool {
			if d%3 == 0 { // the other one alone
				return len(l.Drives) == 1 && l.Drives[0].Name == v.Thrusters[port+1].Name
			}
			return len(l.Drives) == 2 && l.Readings[read].Measured()
		})]
		for q := range line.Readings {
			if quantity.Quantity(q) != read {
				line.Readings[q] = session.Value{}
			}
		}
		log.Dives[d].Lines = []session.Line{line}
	}
	rep := (&result{vehicle: v, log: log, truth: truth}).until(t, dives)
	require.Len(t, rep.Findings, 1)
	f := &rep.Findings[0]
	assert.True(t, f.Cause.Fails.Jam(), "%s", f.Cause.Name)
	assert.Greater(t, f.Sure(), 0.8)
	assert.Contains(t, f.Cause.Words, "port")
	require.Len(t, rep.Alarms, 1)
	assert.Equal(t, findings.Step, rep.Alarms[0].Pattern)
}

// A dive of the baseline in which a thruster was jammed is said to look so and counts for next to nothing, with readings
// set aside that would else make it another thrust (7, 9, 12) and where it makes another dive contradict itself (10).
func TestAJamWithinTheBaseline(t *testing.T) {
	unhurried(t)
	for vehicle, dive := range map[uint64]int{7: 3, 9: 5, 10: 1, 12: 3} {
		v := simulate.Fleet(vehicle)
		s := simulate.Season{Dives: 9, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: vehicle * 104729, Jam: func(d int) int {
			if d == dive {
				return port + 1
			}
			return 0
		}}
		r, err := fit.Fit(v, simulate.Log(v, s))
		require.NoError(t, err)
		rep := drift.Analyse(r)
		assert.Empty(t, named(rep), "vehicle %d", vehicle)
		for i := range rep.Dives {
			assert.Equal(t, i+1 == dive, slices.Contains(rep.Dives[i].Jammed, "port"), "vehicle %d, dive %d looks jammed: %v", vehicle, i+1, rep.Dives[i].Jammed)
			assert.Equal(t, i+1 == dive, r.Dives[i].Summary.LeftOut, "vehicle %d, dive %d", vehicle, i+1)
		}
		require.Len(t, rep.Remarks, 1, "vehicle %d", vehicle)
		assert.Contains(t, rep.Remarks[0], fmt.Sprintf("dive %d of the baseline looks as if port", dive))
	}
}

// A current of the newest dive that is set aside, and that a thruster which does not turn would explain, is said.
func TestSetAsideJamIsSaid(t *testing.T) {
	v := simulate.Fleet(41)
	s := simulate.Season{Dives: 9, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: 41 * 104729, Jam: func(d int) int { return d / 9 * 3 }}
	r, err := fit.Fit(v, simulate.Log(v, s))
	require.NoError(t, err)
	aside := r.Outliers(8)
	require.Len(t, aside, 1)
	assert.Contains(t, drift.Analyse(r).Remarks, fmt.Sprintf("dive 9, line %d, %s", aside[0].Line, aside[0].Words()))
	assert.NotContains(t, strings.Join(drift.Analyse(r.Upto(8)).Remarks, ""), "jammed")
}

// A loose post of the battery sags as much as a jam would, and where nothing but the battery's voltage is read that is all that
// shows. The jam is not surer than the post, and none is told once it is tight again.
func TestALoosePostIsNoJam(t *testing.T) {
	for name, ends := range map[string]float64{"stays": 100, "for six dives": 6} {
		for seed := range uint64(4) {
			s := scenario{change: func(p predict.Params, n float64) {
				if n <= ends {
					p[predict.BatteryOhm] += 0.55
				}
			}}
			v, log, truth := s.simulated(11+seed, someDives, onset)
			for d := range log.Dives {
				for i := range log.Dives[d].Lines {
					l := &log.Dives[d].Lines[i]
					for q := range l.Readings {
						if quantity.Quantity(q) != quantity.BatteryV {
							l.Readings[q] = session.Value{}
						}
					}
				}
			}
			r := &result{vehicle: v, log: log, truth: truth}
			rep := r.until(t, someDives)
			for i := range rep.Findings {
				assert.False(t, strings.HasPrefix(rep.Findings[i].Fault, "stall:") && rep.Findings[i].Sure() > 0.5, "%s, %d: %s", name, seed, rep.Findings[i].Fault)
			}
			if ends > someDives {
				require.NotEmpty(t, rep.Findings, "%s, %d", name, seed)
				assert.Contains(t, []string{"battery", "not_logged:battery"}, rep.Findings[0].Fault, "%s, %d", name, seed)
			}
		}
	}
}
