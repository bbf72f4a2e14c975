package fit_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/audit"
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

// contact is a season in which a contact opens on some lines of later dives.
func contact(ohm float64) simulate.Season {
	return simulate.Season{Dives: 11, LineDrift: func(d int, rng *rand.Rand, p predict.Params) {
		if x := rng.Float64(); d > later && x < 0.5 {
			p[predict.LoopOhm] += ohm
		}
	}}
}

// A contact that comes and goes within a dive is told from a resistance that
// stays, from a jam and from a sound dive.
func TestContactsThatComeAndGo(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	found, all := 0, 0
	for seed := range uint64(4) {
		loose, sound := simulatedLog(seed+1, contact(0.3)), simulatedLog(seed+1, simulate.Season{Dives: 11})
		firm := simulatedLog(seed+1, simulate.Season{Dives: 11, Drift: func(d int, p predict.Params) {
			if d > later {
				p[predict.LoopOhm] += 0.3
			}
		}})
		r, of, still := loose.fit(t, nil), sound.fit(t, nil), firm.fit(t, nil)
		for d := r.Baseline; d < len(r.Dives); d++ {
			assert.False(t, of.Dives[d].Summary.IsIntermittent(), "vehicle %d, sound dive %d", seed, d+1)
			assert.False(t, still.Dives[d].Summary.IsIntermittent(), "vehicle %d, firm dive %d", seed, d+1)
			assert.Nil(t, of.Dives[d].Summary.Failed)
			if d >= later {
				all++
				if s := r.Dives[d].Summary; s.IsIntermittent() {
					found++
					assert.Greater(t, s.Intermittent.Log, s.Firm.Log)
				}
				assert.InDelta(t, 0.3, still.Departure(d, predict.LoopOhm).Value, 0.06)
			} else {
				assert.False(t, r.Dives[d].Summary.IsIntermittent())
			}
		}
	}
	t.Logf("%d of %d", found, all)
	assert.Greater(t, float64(found), 0.8*float64(all))
}

// A contact that comes and goes is told although the dive's own fit explains it by something else, against a sound vehicle. That
// it is firm is as much less likely as the dive's readings say where the model may be wrong by what changed, which is not
// thousands of nats.
func TestAContactThatIsExplainedOtherwise(t *testing.T) {
	for _, c := range []struct {
		seed uint64
		ohm  float64
		dive int
	}{{1, 0.5, 8}, {1, 0.2, 9}, {2, 0.2, 10}} {
		s := simulatedLog(c.seed, contact(c.ohm))
		sum := s.fit(t, nil).Dives[c.dive].Summary
		require.True(t, sum.IsIntermittent(), "%g Ω", c.ohm)
		assert.Less(t, sum.Intermittent.Log-sum.Firm.Log, 150.0, "%g Ω", c.ohm)
	}
}

// A dive in which a thruster does nothing is told as that, and not as one that was read with less care.
func TestOpenNotCareless(t *testing.T) {
	s := simulatedLog(2, simulate.Season{Dives: later + 1, Drift: func(d int, p predict.Params) {
		if d > later {
			p[predict.OfThruster(0, predict.BranchOhm)] += 1e3
		}
	}, Noise: func(d int) float64 {
		if d > later {
			return 3
		}
		return 1
	}})
	assert.Equal(t, []string{"port"}, s.fit(t, nil).Looks(later).Open)
}

// In a loop of 4 Ω what the model has wrong of the currents looks like a contact of as much as 0.06 Ω: none of less is suggested, one
// of more is.
func TestAContactWithinTheModelsErrors(t *testing.T) {
	for _, c := range []struct {
		seed uint64
		ohm  float64
		want bool
	}{{1, 0.15, false}, {2, 0.25, true}} {
		v := simulate.Fleet(c.seed)
		v.Tether.Power.JointsOhm += 4 - v.LoopOhm(15)
		line := 0
		log := simulate.Log(v, simulate.Season{Dives: later + 1, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: c.seed * 104729, LineDrift: func(d int, _ *rand.Rand, p predict.Params) {
			if line++; d > later {
				p[predict.LoopOhm] += c.ohm * float64(line%2)
			}
		}})
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		assert.Equal(t, c.want, r.Dives[later].Summary.Intermittent != nil, "%g Ω", c.ohm)
	}
}

// Lamps that are on in some lines, which no line mentions, draw more and never less than a sound vehicle: no contact comes and goes,
// which would draw less.
func TestLampsInSomeLines(t *testing.T) {
	of := func(param int, x float64) (*fit.Result, *fit.Summary) {
		line := 0
		s := simulatedLog(23, simulate.Season{Dives: later + 1, LineDrift: func(d int, _ *rand.Rand, p predict.Params) {
			if line++; d > later {
				p[param] += x * float64(line%2)
			}
		}})
		r := s.fit(t, nil)
		return r, r.Dives[later].Summary
	}
	r, sum := of(predict.UnloggedA, 2)
	assert.Nil(t, sum.Intermittent)
	loop := r.Departure(later, predict.LoopOhm)
	assert.InDelta(t, 0, loop.Value, 2.5*loop.SD)
	_, sum = of(predict.LoopOhm, 0.5)
	assert.NotNil(t, sum.Intermittent)
}

// Where a dive alone cannot tell causes apart it fits best far out; what is kept of it lies where they are on average.
func TestExpandedWhereCausesAreOnAverage(t *testing.T) {
	s := simulatedLog(22, simulate.Season{Dives: 9, Without: simulate.VoltsOnly})
	r := s.fit(t, nil)
	out := 0.0
	for d := r.Baseline; d < len(r.Dives); d++ {
		for _, v := range varying {
			if v.param == predict.BatteryOhm {
				continue // which is told as a whole
			}
			x, sum := r.Departure(d, v.param), r.Dives[d].Summary
			assert.InDelta(t, x.Value, sum.Params[v.param]-r.Base[v.param], 0.5*x.SD, "dive %d, %s", d+1, v.name)
			out = max(out, math.Abs(sum.Fitted[v.param]-r.Base[v.param]-x.Value)/x.SD)
		}
	}
	assert.Greater(t, out, 1.0)
}

// A jammed thruster is seen at its own dive, and which it is.
func TestJams(t *testing.T) {
	for thruster := range 3 {
		s := simulatedLog(uint64(20+thruster), simulate.Season{Dives: 9, Jam: func(d int) int {
			if d == later+1 {
				return thruster + 1
			}
			return 0
		}})
		r := s.fit(t, nil)
		for d := r.Baseline; d < later; d++ {
			assert.Nil(t, r.Dives[d].Summary.Failed)
		}
		sum := r.Dives[later].Summary
		require.NotNil(t, sum.Failed, "thruster %d", thruster)
		best, top := causes.Failure{}, sum.Firm.Log
		for how, f := range sum.Failed {
			if f.Log > top {
				best, top = how, f.Log
			}
		}
		assert.Equal(t, causes.Failure{Thruster: thruster + 1}, best)
	}
}

// A contact that takes half of a thruster's torque is no lost propeller; one that takes nearly all current may be.
func TestMoreResistanceIsNoLostPropeller(t *testing.T) {
	for seed := range uint64(4) {
		for share, lost := range map[float64]bool{0.5: false, 8: true} {
			s := simulatedLog(40+seed, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
				if d == later+1 {
					p[predict.OfThruster(0, predict.BranchOhm)] += share * 12 / 7
				}
			}})
			r := s.fit(t, nil)
			_, may := r.Dives[later].Summary.Failed[causes.Failure{Thruster: 1, How: causes.Lost}]
			assert.Equal(t, lost, may, "vehicle %d, %g", seed, share)
		}
	}
}

// A jammed thruster's current falls while a line is read: that a line's current is not of
// the moment of its voltages speaks little against the jam.
func TestAJamsCurrentFalls(t *testing.T) {
	jam := func(falls float64) float64 {
		s := simulatedLog(21, simulate.Season{Dives: later + 1, Jam: func(d int) int { return d / (later + 1) }})
		for i := range s.log.Dives[later].Lines {
			l := &s.log.Dives[later].Lines[i]
			if len(l.Drives) > 0 && l.Drives[0].Name == s.vehicle.Thrusters[0].Name && l.Readings[quantity.CurrentA].Measured() {
				scale(l, quantity.CurrentA, 1-falls)
				falls = -falls
			}
		}
		sum := s.fit(t, nil).Dives[later].Summary
		require.Contains(t, sum.Failed, causes.Failure{Thruster: 1})
		return sum.Failed[causes.Failure{Thruster: 1}].Log
	}
	worse := jam(0) - jam(0.06)
	assert.Positive(t, worse)
	assert.Less(t, worse, 20.0)
}

// A jam is read on the battery that the whole dive shows: that a hard-worked one falls faster than usual
// does not speak against it, however much less the jammed motor draws than the file has it.
func TestAJamOnABatteryThatFalls(t *testing.T) {
	jam := func(faster float64) float64 {
		s := simulatedLog(21, simulate.Season{Dives: later + 1, Jam: func(d int) int { return d / (later + 1) }})
		for i := range s.log.Dives[later].Lines {
			l := &s.log.Dives[later].Lines[i]
			for _, q := range []quantity.Quantity{quantity.BatteryV, quantity.VehicleV} {
				if c := &l.Readings[q]; c.Measured() {
					c.X -= faster * float64(i)
				}
			}
			if len(l.Drives) > 0 && l.Drives[0].Name == s.vehicle.Thrusters[0].Name {
				scale(l, quantity.CurrentA, 0.8)
				l.Readings[quantity.BatteryV].X += 0.1
			}
		}
		sum := s.fit(t, nil).Dives[later].Summary
		require.Contains(t, sum.Failed, causes.Failure{Thruster: 1})
		return sum.Failed[causes.Failure{Thruster: 1}].Log
	}
	assert.Less(t, jam(0)-jam(0.01), 1.0)
}

// A dive of the baseline that differs from the others neither moves what later
// dives are held against nor widens it by much, and is named.
func TestABadDiveOfTheBaseline(t *testing.T) {
	for _, c := range []struct {
		param int
		by    float64
	}{{predict.LoopOhm, 0.25}, {predict.LogThrust, -0.3}, {predict.TrimG, -90}} {
		s := simulatedLog(16, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
			if d == ofBaseline+1 {
				p[c.param] += c.by
			}
		}})
		r := s.fit(t, nil)
		i := static(r, c.param)
		// what sound dives scatter about lies a fifth of it off the baseline's mean
		assert.InDelta(t, -c.by/5, r.SoundOffset[i], 0.3*math.Abs(c.by)/5, "parameter %d", c.param)
		for d := r.Baseline; d < len(r.Dives); d++ {
			x := r.Departure(d, c.param)
			truth := s.departure(r, d, c.param)
			assert.InDelta(t, truth, x.Value, 2.5*x.SD, "dive %d", d+1)
			assert.Less(t, x.SD, 0.25*math.Abs(c.by))
		}
		odd := audit.Mismatches(r)
		require.Len(t, odd, 1, "the good dives do not differ from the bad one")
		assert.Equal(t, ofBaseline, odd[0].Dive)
		assert.Contains(t, odd[0].Text, "dive 3 differs from the other dives of the baseline")
	}
	even := simulatedLog(16, simulate.Season{Dives: 9})
	assert.Empty(t, audit.Mismatches(even.fit(t, nil)))
}

func static(r *fit.Result, param int) int {
	for i, at := range r.Space.Static {
		if r.Space.All[at] == param {
			return i
		}
	}
	return -1
}

// Another battery within the baseline is no scatter of one battery, and one after
// it says nothing of the first.
func TestBatteriesOfTheBaseline(t *testing.T) {
	change := func(d int, p predict.Params) {
		if d%2 == 0 {
			p[predict.BatteryOhm] += 0.06
			p[predict.OpenCircuitV] += 0.8
		}
	}
	labels := map[int]string{}
	for d := range 9 {
		labels[d+1] = []string{"B", "A"}[(d+1)%2]
	}
	s := simulatedLog(42, simulate.Season{Dives: 9, Drift: change, Battery: labels})
	r := s.fit(t, nil)
	for d := range r.Dives {
		x := r.Departure(d, predict.BatteryOhm)
		assert.InDelta(t, s.departure(r, d, predict.BatteryOhm), x.Value, min(0.005, 3*x.SD), "dive %d", d+1)
		assert.Less(t, x.SD, 0.005)
	}
}

// A dive is compared with its own readings: near what its own fit says of them,
// and off the sound vehicle where a fault has moved them.
func TestCompare(t *testing.T) {
	s := simulatedLog(22, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
		if d > later {
			p[predict.LoopOhm] += 0.3
		}
	}})
	r := s.fit(t, nil)
	for d := range r.Dives {
		own, sound := r.Compare(d, r.Dives[d].Summary.Params), r.Compare(d, r.Sound(d))
		require.Len(t, own, len(sound))
		squares, off := 0.0, 0.0
		for i, c := range own {
			assert.Equal(t, c.Line.Readings[c.Quantity].X, s.log.Dives[d].Lines[lineOf(s.log.Dives[d].Lines, c.Line)].Readings[c.Quantity].X)
			assert.InDelta(t, (c.Value-c.Expected)/c.SD, c.Z, 1e-9)
			entered, want, sd := c.AsWritten()
			assert.Equal(t, c.Line.Readings[c.Quantity].Entered, entered)
			if c.Quantity == quantity.CurrentA {
				assert.InDelta(t, c.Expected, want, 1e-9)
				assert.InDelta(t, c.SD, sd, 1e-9)
			}
			squares += c.Z * c.Z
			off += sound[i].Z * sound[i].Z
		}
		n := float64(len(own))
		assert.Less(t, squares, 2*n, "dive %d", d+1)
		if d >= later {
			assert.Greater(t, off, 20*n)
		} else {
			assert.Less(t, off, 6*n, "dive %d", d+1)
		}
	}
}

func lineOf(lines []session.Line, l *session.Line) int {
	for i := range lines {
		if &lines[i] == l {
			return i
		}
	}
	return -1
}

// Without dives the file alone is known; with fewer than the baseline wants, all
// of them are the baseline.
func TestFewDives(t *testing.T) {
	s := simulatedLog(18, simulate.Season{Dives: 9})
	wide := (&simulated{s.vehicle, &session.Log{}, nil}).fit(t, nil)
	assert.Zero(t, wide.Baseline)
	before := math.Inf(1)
	for _, n := range []int{1, 3, 5, 9} {
		part := simulated{s.vehicle, &session.Log{Dives: s.log.Dives[:n]}, s.truth}
		r := part.fit(t, nil)
		assert.Equal(t, min(n, 5), r.Baseline)
		i := static(r, predict.LoopOhm)
		sd := math.Sqrt(r.SoundCov.At(i, i))
		assert.LessOrEqual(t, sd, before+1e-12, "%d dives", n)
		assert.Less(t, sd, math.Sqrt(wide.Cov.At(i, i)))
		before = sd
		assert.Len(t, r.Dives, n)
	}
}

// Names that the vehicle does not have, and readings that no vehicle could have
// made, are problems with their place.
func TestProblems(t *testing.T) {
	s := simulatedLog(19, simulate.Season{Dives: 9})
	s.number()
	l := s.line(t, later, quantity.Speed, 2)
	name := l.Drives[0].Name
	l.Drives[0].Name = "prot"
	_, err := fit.Fit(s.vehicle, s.log)
	require.Error(t, err)
	assert.Contains(t, err.Error(), `found "prot", want a thruster of vehicle.toml (nearest: "port")`)
	l.Drives[0].Name = name
	set(l, quantity.Speed, 1e300)
	_, err = fit.Fit(s.vehicle, s.log)
	if err != nil {
		assert.Contains(t, err.Error(), "dive")
	}
}

// The order of the dives' work does not matter: a fit is the same every time.
func TestFitsAreTheSame(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 9, Slips: 0.03})
	a, b := s.fit(t, nil), s.fit(t, nil)
	assert.Equal(t, a.Base, b.Base)
	for d := range a.Dives {
		for _, v := range varying {
			assert.Equal(t, a.Departure(d, v.param), b.Departure(d, v.param))
		}
	}
}

// The columns of the thrusters' doubts make the covariance that the calibration
// leaves of their torque; without an ammeter more is left.
func TestOfThrusters(t *testing.T) {
	left := func(s simulate.Season) float64 {
		log := simulatedLog(3, s)
		r := log.fit(t, nil)
		square := 0.0
		for _, p := range r.OfThrusters() {
			square += p[predict.LogTorque] * p[predict.LogTorque]
		}
		assert.InEpsilon(t, r.Cov.At(static(r, predict.LogTorque), static(r, predict.LogTorque)), square, 1e-9)
		return square
	}
	assert.Less(t, left(simulate.Season{Dives: 5}), left(simulate.Season{Dives: 5, Without: simulate.VoltsOnly}))
}

// However many readings of a column one dive has, it tells the column's instrument from that of other
// dives no better than a clamp is zeroed, a tape laid and a scale held.
func TestADivesOwnErrors(t *testing.T) {
	s := simulatedLog(17, simulate.Season{Dives: 9})
	r := s.fit(t, nil)
	variance := r.Scatter(len(r.Dives))
	for _, param := range []int{predict.ClampZeroA, predict.LogSpeed, predict.LogPull} {
		at, n := r.Space.Place[param], len(r.Space.All)
		i := r.ScatterAt(at)
		require.GreaterOrEqual(t, i, 0, "parameter %d", param)
		exact := slices.Clone(variance)
		exact[i] = 1e-12
		for d := r.Baseline; d < len(r.Dives); d++ {
			with := r.Dives[d].Summary.Firm.Integrate(r.Space.Scatter, variance, normal.Likelihood{}).Info[at*n+at]
			assert.Less(t, with, 1/variance[i], "parameter %d", param)
			assert.Less(t, with, r.Dives[d].Summary.Firm.Integrate(r.Space.Scatter, exact, normal.Likelihood{}).Info[at*n+at], "parameter %d", param)
		}
	}
}

// A dive of the baseline whose contact comes and goes, or whose thruster is jammed, is
// told, and the calibration is that of the other dives. Where all do, all count.
func TestBaselineThatContradictsItself(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	const bad = 3
	loose := func(from int) func(int, *rand.Rand, predict.Params) {
		line := 0
		return func(dive int, _ *rand.Rand, p predict.Params) {
			if line++; dive >= from && dive <= bad {
				p[predict.LoopOhm] += float64(line % 2)
			}
		}
	}
	seasons := map[string]simulate.Season{
		"contradicts itself": {Dives: 6, LineDrift: loose(bad)},
		"looks as if":        {Dives: 6, Jam: func(dive int) int { return map[int]int{bad: 1}[dive] }},
		"sound":              {Dives: 6},
	}
	for seed := range uint64(3) {
		sound := simulatedLog(60+seed, seasons["sound"])
		of := sound.fit(t, nil)
		for name, season := range seasons {
			r := of
			if name != "sound" {
				s := simulatedLog(60+seed, season)
				r = s.fit(t, nil)
			}
			for d := range r.Baseline {
				assert.Equal(t, d+1 == bad && name != "sound", r.Dives[d].Summary.LeftOut, "%s, vehicle %d, dive %d", name, seed, d+1)
			}
			told := 0
			for _, m := range audit.Mismatches(r) {
				if m.Dive == bad-1 && strings.Contains(m.Text, "dive 3 of the baseline ") && strings.Contains(m.Text, name) {
					told++
				}
			}
			assert.Equal(t, name != "sound", told == 1, "%s, vehicle %d", name, seed)
			for i, at := range r.Space.Static {
				if r.Space.All[at] == predict.OpenCircuitV {
					continue // the mean of the dives' charges
				}
				assert.InDelta(t, of.Base[r.Space.All[at]], r.Base[r.Space.All[at]], 2.5*math.Sqrt(of.Cov.At(i, i)), "%s, vehicle %d, parameter %d", name, seed, r.Space.All[at])
			}
		}
	}
	s := simulatedLog(61, simulate.Season{Dives: 3, LineDrift: loose(1)})
	s.vehicle.Baseline.Dives = bad
	r := s.fit(t, nil)
	for d := range r.Baseline {
		assert.True(t, r.Dives[d].Summary.Contradicts, "dive %d of a baseline that is bad throughout", d+1)
		assert.False(t, r.Dives[d].Summary.LeftOut, "dive %d of a baseline that is bad throughout", d+1)
	}
	assert.True(t, slices.ContainsFunc(audit.Mismatches(r), func(m audit.Mismatch) bool {
		return m.Dive == 0 && strings.HasSuffix(m.Text, "so do all others of the baseline, and all that rests on it may be off")
	}))
}

// Of two dives of a baseline the one that looks jammed is told, and the calibration rests on the other.
func TestBaselineOfTwoOneJammed(t *testing.T) {
	for bad := range 2 {
		s := simulatedLog(60, simulate.Season{Dives: 2, Jam: func(dive int) int { return map[int]int{bad + 1: 1}[dive] }})
		s.vehicle.Baseline.Dives = 2
		r := s.fit(t, nil)
		for d := range r.Baseline {
			assert.Equal(t, d == bad, r.Dives[d].Summary.LeftOut, "dive %d, jammed in %d", d+1, bad+1)
			assert.Equal(t, d == bad, len(r.Looks(d).Jammed) > 0, "dive %d, jammed in %d", d+1, bad+1)
		}
	}
}
