package fit_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session"
	"sagline/session/quantity"
)

var start = time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC)

// at is the place of a parameter among Result.Drift.
func at(r *fit.Result, param int) int {
	for i, k := range r.Drift {
		if k == param {
			return i
		}
	}
	return -1
}

// A dive made under a known drift is fitted with an interval that holds it,
// and the other drifts stay where they were.
func TestKnownDriftsAreFound(t *testing.T) {
	for _, c := range []struct {
		param int
		size  float64
		tol   float64 // about three standard deviations of one dive; friction hardly shows in one
	}{
		{predict.LoopOhm, 0.2, 0.03}, {predict.LogThrust, -0.2, 0.08}, {predict.FrictionA, 0.8, 0.4},
		{predict.TrimG, -60, 20}, {predict.BatteryOhm, 0.02, 0.006}, {predict.FirstBranch + 1, 0.3, 0.06},
	} {
		s := simulate.Season{Dives: 8, Start: start, Seed: 3, Scatter: 0.01, Drift: func(d int, p predict.Params) {
			if d == 8 {
				p[c.param] += c.size
			}
		}}
		v := simulate.Fleet(11)
		r, err := fit.Fit(v, simulate.Log(v, s), nil)
		require.NoError(t, err)
		got := r.Dives[7].Drift[at(r, c.param)]
		want := c.size
		if c.param == predict.BatteryOhm {
			want += r.Base[c.param] + v.Battery.ResistanceOhm
		}
		assert.InDelta(t, want, got.Value, c.tol, "parameter %d", c.param)
		for i, k := range r.Drift {
			if k != c.param && k != predict.BatteryOhm {
				assert.True(t, r.Dives[7].Drift[i].Low <= 0 && r.Dives[7].Drift[i].High >= 0, "parameter %d by %d: %+v", k, c.param, r.Dives[7].Drift[i])
			}
		}
	}
}

// A cell with its decimal point astray is named, and moves no estimate.
func TestSlipIsNamedAndMovesNothing(t *testing.T) {
	v := simulate.Fleet(5)
	s := simulate.Season{Dives: 7, Start: start, Seed: 9}
	sound, err := fit.Fit(v, simulate.Log(v, s), nil)
	require.NoError(t, err)
	log := simulate.Log(v, s)
	line := &log.Dives[6].Lines[5]
	cell := line.Readings[quantity.CurrentA]
	right := cell.Entered
	cell.Entered, cell.X = 10*cell.Entered, 10*cell.X
	line.Put(cell)
	line.Number = 99
	r, err := fit.Fit(v, log, nil)
	require.NoError(t, err)
	aside := r.SetAside(6)
	require.Len(t, aside, 1)
	assert.Equal(t, 99, aside[0].Line)
	assert.Equal(t, "current_a", aside[0].Column)
	assert.Equal(t, right*10, aside[0].Entered)
	assert.InDelta(t, right, aside[0].Expected, 0.6)
	for i := range r.Drift {
		assert.InDelta(t, sound.Dives[6].Drift[i].Value, r.Dives[6].Drift[i].Value, sound.Dives[6].Drift[i].SD, "drift %d", i)
	}
}

// A log without dives leaves the vehicle as built, and as unsure as vehicles
// of one file differ.
func TestNoDivesYet(t *testing.T) {
	v := simulate.Fleet(1)
	r, err := fit.Fit(v, &session.Log{}, nil)
	require.NoError(t, err)
	assert.Empty(t, r.Dives)
	assert.Equal(t, predict.NewModel(v).NewParams(), r.Base)
	for i, k := range r.Shared {
		if k == predict.LogThrust {
			assert.InEpsilon(t, 0.15, math.Sqrt(r.Cov.At(i, i)), 1e-9)
		}
	}
	alone := 0
	for _, x := range r.Card(r.Base, predict.Condition{WaterC: 15, TetherOutM: 20}, slices.Repeat([]float64{1}, len(r.Drift)), 10) {
		assert.Less(t, x.Low, x.Expected)
		if slices.Equal(x.Sign, []int8{1, 0, 0}) {
			alone++
		}
	}
	assert.NotZero(t, alone, "the first dive's card reads a thruster alone")
}

func TestUnknownThrusterIsNamed(t *testing.T) {
	v := simulate.Fleet(1)
	log := simulate.Log(v, simulate.Season{Dives: 1, Start: start, Seed: 1})
	log.Dives[0].Lines[3].Drives = []session.Drive{{Name: "prot"}}
	log.Dives[0].Lines[3].Number = 5
	_, err := fit.Fit(v, log, nil)
	assert.EqualError(t, err, `dives.csv:5: column "thrusters": found "prot", want a thruster of vehicle.toml (nearest: "port")`)
}

// Whatever the season, every estimate is finite and inside its interval.
func TestIntervalsHoldTheirValue(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := simulate.Season{Dives: rapid.IntRange(1, 9).Draw(rt, "dives"), Start: start, Seed: rapid.Uint64Range(0, 1e6).Draw(rt, "seed"),
			Slips: rapid.Float64Range(0, 0.1).Draw(rt, "slips"), Sites: rapid.Bool().Draw(rt, "sites"), Rough: rapid.Bool().Draw(rt, "rough"),
			Scatter: rapid.Float64Range(0.01, 4).Draw(rt, "scatter")}
		if rapid.Bool().Draw(rt, "volts only") {
			s.Without = simulate.VoltsOnly
		}
		v := simulate.Fleet(rapid.Uint64Range(0, 1000).Draw(rt, "vehicle"))
		r, err := fit.Fit(v, simulate.Log(v, s), nil)
		require.NoError(rt, err)
		for d := range r.Dives {
			for i, e := range r.Dives[d].Drift {
				for _, x := range []float64{e.Value, e.Low, e.High} {
					assert.False(rt, math.IsNaN(x) || math.IsInf(x, 0), "dive %d drift %d: %+v", d, i, e)
				}
				assert.True(rt, e.Low <= e.Value && e.Value <= e.High, "dive %d drift %d: %+v", d, i, e)
			}
			for _, c := range r.Compare(d, r.Sound(d)) {
				assert.False(rt, math.IsNaN(c.Z) || math.IsInf(c.Z, 0))
			}
		}
	})
}

// With a voltmeter alone an ammeter or an ohmmeter would narrow the loop's
// resistance a good deal; with everything read nothing is left to name.
func TestTellsNamesAReadingThatHelps(t *testing.T) {
	v := simulate.Fleet(3)
	blind, err := fit.Fit(v, simulate.Log(v, simulate.Season{Dives: 7, Start: start, Seed: 2, Without: simulate.VoltsOnly}), nil)
	require.NoError(t, err)
	g, ok := blind.Tells(6, at(blind, predict.LoopOhm))
	require.True(t, ok)
	assert.Contains(t, []quantity.Quantity{quantity.CurrentA, quantity.VehicleV, quantity.LoopOhm}, g.Quantity)
	assert.Less(t, g.With, g.Before/2)
	seeing, err := fit.Fit(v, simulate.Log(v, simulate.Season{Dives: 7, Start: start, Seed: 2}), nil)
	require.NoError(t, err)
	g, ok = seeing.Tells(6, at(seeing, predict.LoopOhm))
	require.True(t, ok)
	assert.Equal(t, quantity.LoopOhm, g.Quantity, "the only reading not taken")
	assert.Less(t, g.Before, 0.05)
}
