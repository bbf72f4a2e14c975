package fit_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/lsq"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
	"sagline/session/units"
)

// Of a simulated log, a dive of the baseline and one after it.
const ofBaseline, later = 2, 8

// slipped are readings whose decimal point can go astray, with how many
// thrusters are on.
var slipped = []struct {
	q         quantity.Quantity
	thrusters int
}{
	{quantity.BatteryV, 2}, {quantity.BatteryV, 0}, {quantity.CurrentA, 2}, {quantity.CurrentA, 1}, {quantity.VehicleV, 2},
	{quantity.Pull, 2}, {quantity.Speed, 2}, {quantity.Trim, 0}, {quantity.Climb, 0},
}

// A decimal slip is set aside, whatever it is of, wherever it stands and
// whichever way it goes, by itself, with what was to be expected; and no
// estimate is moved by it.
func TestSlipsAreSetAside(t *testing.T) {
	whole := simulatedLog(12, simulate.Season{Dives: 9})
	sound := whole.fit(t, nil)
	for _, dive := range []int{ofBaseline, later} {
		for _, c := range slipped {
			for _, by := range []float64{10, 0.1} {
				if c.q == quantity.Trim && by < 1 || c.q == quantity.Climb && (dive == later || by < 1) {
					continue // a small hover weight may be a leak, a small climb too
				}
				t.Run(fmt.Sprintf("%s of dive %d times %g", c.q, dive+1, by), func(t *testing.T) {
					s := simulatedLog(12, simulate.Season{Dives: 9})
					s.number()
					l := s.line(t, dive, c.q, c.thrusters)
					right := l.Readings[c.q].Entered
					scale(l, c.q, by)
					r := s.fit(t, nil)
					for d := range r.Dives {
						if d != dive {
							assert.Empty(t, r.Outliers(d), "dive %d", d+1)
						}
					}
					out := r.Outliers(dive)
					require.Len(t, out, 1)
					assert.Equal(t, l.Number, out[0].Line)
					assert.Equal(t, l.Readings[c.q].Column.Name, out[0].Column)
					assert.Equal(t, l.Readings[c.q].Entered, out[0].Entered)
					assert.InDelta(t, right, out[0].Expected, 0.25*right)
					for _, v := range varying {
						before, after := sound.Departure(later, v.param), r.Departure(later, v.param)
						assert.InDelta(t, before.Value, after.Value, 0.8*before.SD, v.name)
						assert.Less(t, after.SD, 1.6*before.SD, v.name)
					}
				})
			}
		}
	}
}

// What the model does not think of, two cells swapped or a dial misread, is set
// aside as well; what an instrument may well show is not.
func TestOutliers(t *testing.T) {
	s := simulatedLog(13, simulate.Season{Dives: 9})
	sound := s.fit(t, nil)
	for d := range sound.Dives {
		assert.Empty(t, sound.Outliers(d))
	}
	for _, dive := range []int{ofBaseline, later} {
		l := s.line(t, dive, quantity.VehicleV, 2)
		volts, far := l.Readings[quantity.BatteryV].Entered, l.Readings[quantity.VehicleV].Entered
		set(l, quantity.BatteryV, far)
		set(l, quantity.VehicleV, volts)
		assert.Len(t, s.fit(t, nil).Outliers(dive), 2, "swapped, dive %d", dive+1)
		set(l, quantity.BatteryV, volts)
		set(l, quantity.VehicleV, far)
	}
	l := s.line(t, later, quantity.CurrentA, 2)
	was := l.Readings[quantity.CurrentA].Entered
	move := func(sds float64) (moved, n float64) {
		set(l, quantity.CurrentA, was+sds*s.vehicle.Instruments.CurrentA)
		r := s.fit(t, nil)
		set(l, quantity.CurrentA, was)
		x, before := r.Departure(later, predict.FrictionA), sound.Departure(later, predict.FrictionA)
		return x.Value - before.Value, float64(len(r.Outliers(later)))
	}
	little, n := move(2)
	assert.Zero(t, n)
	assert.Positive(t, little)
	some, n := move(6)
	assert.Zero(t, n)
	assert.Greater(t, some, little)
	assert.Less(t, some, 2*little, "beyond 2.5 standard deviations a reading counts less")
	much, n := move(10)
	assert.EqualValues(t, 1, n)
	assert.Less(t, math.Abs(much), little/4, "what is set aside moves nothing")
}

// A last hover weight that is too low by more than the vehicle may take in is a slip or water that came in during the dive; one
// with its point astray is a slip.
func TestHoverWeightThatSinks(t *testing.T) {
	s := simulatedLog(13, simulate.Season{Dives: 9})
	lines := s.log.Dives[later].Lines
	first := slices.IndexFunc(lines, func(l session.Line) bool { return l.Readings[quantity.Trim].Measured() })
	g := lines[first].Readings[quantity.Trim].Entered
	again := lines[first]
	for _, x := range []float64{g - 250, g + 250, g / 10} {
		set(&again, quantity.Trim, x)
		s.log.Dives[later].Lines = append(slices.Clone(lines), again)
		s.number()
		out := s.fit(t, nil).Outliers(later)
		if x == g/10 && len(out) == 0 { // it may be either
			continue
		}
		require.Len(t, out, 1, x)
		assert.Equal(t, x == g-250, out[0].Sinks, x)
		assert.Equal(t, x == g-250, strings.Contains(out[0].Words(), "water that came in during the dive"), x)
	}
}

// A dive whose voltages stand in each other's columns has them set aside, all of them; a voltmeter at the vehicle
// that reads 5 % high, which may have it above the battery's as well, keeps its readings.
func TestVoltagesExchanged(t *testing.T) {
	for _, gain := range []float64{1, 1.05} {
		s := simulatedLog(13, simulate.Season{Dives: 9})
		s.number()
		lines, want := s.log.Dives[later].Lines, 0
		for i := range lines {
			l := &lines[i]
			volts, far := l.Readings[quantity.BatteryV], l.Readings[quantity.VehicleV]
			if !volts.Measured() || !far.Measured() || len(l.Drives) == 0 {
				continue
			}
			if gain != 1 {
				scale(l, quantity.VehicleV, gain)
				continue
			}
			set(l, quantity.BatteryV, far.Entered)
			set(l, quantity.VehicleV, volts.Entered)
			want += 2
		}
		r := s.fit(t, nil)
		assert.Len(t, r.Outliers(later), want, "gain %g", gain)
		assert.False(t, r.Dives[later].Summary.IsIntermittent(), "gain %g", gain)
	}
}

// A dive that has no reading at rest begins as the dives before did, not at the battery's label: where a line has current and
// voltage in each other's columns these two are set aside, and no other voltage.
func TestSlipWithoutRest(t *testing.T) {
	s := simulatedLog(13, simulate.Season{Dives: 9})
	s.number()
	for d := range s.log.Dives {
		for i := range s.log.Dives[d].Lines {
			l := &s.log.Dives[d].Lines[i]
			if v := &l.Readings[quantity.BatteryV]; v.Measured() {
				v.X, v.Entered = v.X+2, v.Entered+2 // charged well above what its label says
			}
			if v := &l.Readings[quantity.VehicleV]; v.Measured() {
				v.X, v.Entered = v.X+2, v.Entered+2
			}
		}
	}
	l := s.line(t, later, quantity.CurrentA, 2)
	volts, amps := l.Readings[quantity.BatteryV].Entered, l.Readings[quantity.CurrentA].Entered
	set(l, quantity.BatteryV, amps)
	set(l, quantity.CurrentA, volts)
	lines := s.log.Dives[later].Lines
	for i := range lines {
		if len(lines[i].Drives) == 0 {
			lines[i].Readings[quantity.BatteryV] = session.Value{}
		}
	}
	r := s.fit(t, nil)
	assert.Len(t, r.Outliers(later), 2)
	assert.False(t, r.Dives[later].Summary.IsIntermittent())
}

// A battery that reads far more at rest than on the dive's other lines, as when two
// digits changed places, is set aside by itself, and the other readings are not.
func TestSwappedDigitsAtRest(t *testing.T) {
	for _, dive := range []int{ofBaseline, later} {
		for _, only := range []bool{false, true} {
			s := simulatedLog(12, simulate.Season{Dives: 9, Without: simulate.VoltsOnly})
			s.number()
			lines := s.log.Dives[dive].Lines
			var swapped *session.Line
			for i := range lines {
				if v := &lines[i].Readings[quantity.BatteryV]; len(lines[i].Drives) == 0 && v.Measured() {
					if swapped == nil {
						swapped = &lines[i]
						v.X, v.Entered = v.X+9, v.Entered+9 // as 12.77 and 21.77
					} else if only {
						*v = session.Value{}
					}
				}
			}
			r := s.fit(t, nil)
			out := r.Outliers(dive)
			require.Len(t, out, 1, "dive %d", dive+1)
			assert.Equal(t, swapped.Number, out[0].Line)
			assert.False(t, r.Dives[dive].Summary.IsIntermittent())
			assert.InDelta(t, swapped.Readings[quantity.BatteryV].X-9, r.Dives[dive].Summary.Params[predict.OpenCircuitV], 0.2)
		}
	}
}

// A hover weight of a tenth that the climb goes with is a leak, no slip; and no
// sound reading of a hover is set aside.
func TestLeaksAreNoSlips(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	odd := 0
	for seed := range uint64(4) {
		s := simulatedLog(seed+50, simulate.Season{Dives: 12})
		leaking := simulatedLog(seed+50, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
			if d > later {
				p[predict.TrimG] -= 0.9 * s.vehicle.Hull.TrimG
			}
		}})
		r := leaking.fit(t, nil)
		assert.Empty(t, r.Outliers(later), "vehicle %d", seed)
		x := r.Departure(later, predict.TrimG)
		assert.InDelta(t, leaking.departure(r, later, predict.TrimG), x.Value, 4*x.SD)
		sound := s.fit(t, nil)
		for d := range sound.Dives {
			odd += len(sound.Outliers(d))
		}
	}
	assert.LessOrEqual(t, odd, 1, "cells of 48 sound dives")
}

// A hover weight or a climb with its decimal point one place away, either way, is set aside where the dive's others speak
// against it, and moves nothing; one that they speak for is a leak.
func TestHoverSlips(t *testing.T) {
	at := func(q quantity.Quantity, by float64) (simulated, *fit.Result) {
		s := simulatedLog(50, simulate.Season{Dives: 7})
		scale(s.line(t, 6, q, 0), q, by)
		return s, s.fit(t, nil)
	}
	for _, q := range []quantity.Quantity{quantity.Trim, quantity.Climb} {
		for _, by := range []float64{10, 0.1} {
			s, r := at(q, by)
			if out := r.Outliers(6); assert.Len(t, out, 1, "%s ×%g", q, by) {
				assert.Regexp(t, "^"+map[quantity.Quantity]string{quantity.Trim: "trim", quantity.Climb: "climb"}[q], out[0].Column)
			}
			x := r.Departure(6, predict.TrimG)
			assert.InDelta(t, s.departure(r, 6, predict.TrimG), x.Value, 4*x.SD)
		}
	}
	_, r := at(quantity.Trim, 1.2)
	assert.Empty(t, r.Outliers(6), "no decimal point is a fifth")
}

// One slip in a log changes neither what the baseline is nor how far its readings
// are taken to scatter.
func TestSlipsOfTheBaseline(t *testing.T) {
	s := simulatedLog(14, simulate.Season{Dives: 5})
	sound := s.fit(t, nil)
	scale(s.line(t, 1, quantity.CurrentA, 2), quantity.CurrentA, 10)
	scale(s.line(t, 3, quantity.BatteryV, 0), quantity.BatteryV, 10)
	set(s.line(t, 4, quantity.Speed, 2), quantity.Speed, 1.9)
	r := s.fit(t, nil)
	for i, at := range r.Space.Static {
		sd := sound.Cov.At(i, i)
		assert.InDelta(t, 0, (r.Base[r.Space.All[at]]-sound.Base[r.Space.All[at]])*(r.Base[r.Space.All[at]]-sound.Base[r.Space.All[at]])/sd, 0.6, "parameter %d", r.Space.All[at])
	}
	assert.InEpsilon(t, sd(sound, quantity.CurrentA), sd(r, quantity.CurrentA), 0.15)
	assert.Len(t, r.Outliers(1), 1)
	assert.Len(t, r.Outliers(3), 1)
	assert.Len(t, r.Outliers(4), 1)
}

// sd is what one reading of the first dive is taken to scatter by.
func sd(r *fit.Result, q quantity.Quantity) float64 {
	for _, c := range r.Dives[0].Cells {
		if c.Quantity == q {
			return c.SD
		}
	}
	return 0
}

// A cell of the baseline that no vehicle has, though it is no slip of the decimal point, does not draw the calibration
// its way, however little the file tells.
func TestAbsurdCellsOfTheBaseline(t *testing.T) {
	for q, by := range map[quantity.Quantity]float64{quantity.VehicleV: 4, quantity.CurrentA: 30, quantity.Pull: 60} {
		s := simulatedLog(13, simulate.Season{Dives: 9})
		s.number()
		file := required(t, s.vehicle)
		sound := s.fit(t, file)
		l := s.line(t, ofBaseline, q, 2)
		scale(l, q, by)
		r := s.fit(t, file)
		lines := []int{}
		for _, c := range r.Outliers(ofBaseline) {
			lines = append(lines, c.Line)
		}
		assert.Equal(t, []int{l.Number}, lines, "%s", q)
		for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA} {
			assert.InDelta(t, sound.Base[k], r.Base[k], 0.05, "%s: %d", q, k)
		}
	}
}

// Nor does one voltage a quarter too low, which some battery might have, where the log has neither current nor
// voltage at the vehicle to say otherwise.
func TestLowVoltageOfTheBaseline(t *testing.T) {
	toml, err := os.ReadFile("testdata/low-voltage/vehicle.toml")
	require.NoError(t, err)
	v, err := vehicle.Read(bytes.NewReader(toml), vehicle.FileName)
	require.NoError(t, err)
	lines, err := os.ReadFile("testdata/low-voltage/dives.csv")
	require.NoError(t, err)
	fitted := func(lines []byte) *fit.Result {
		log, err := session.Read(bytes.NewReader(lines), session.FileName)
		require.NoError(t, err)
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		return r
	}
	sound, r := fitted(bytes.Replace(lines, []byte(",19.01,"), []byte(",25.35,"), 1)), fitted(lines)
	assert.Equal(t, lsq.Converged, r.Status)
	require.Len(t, r.Outliers(3), 1)
	assert.InDelta(t, 19.01, r.Outliers(3)[0].Entered, 1e-9)
	for i, at := range r.Space.Static {
		assert.InDelta(t, sound.Base[r.Space.All[at]], r.Base[r.Space.All[at]], 0.5*math.Sqrt(sound.Cov.At(i, i)), "parameter %d", r.Space.All[at])
	}
}

// A bad joint may make most of the loop: an ohmmeter that reads three times what it did is no decimal slip where the currents
// agree, and one with its point astray still is.
func TestJointThatIsMostOfTheLoop(t *testing.T) {
	column := session.ColumnIn("loop_ohm", units.Metric)
	for seed := range uint64(4) {
		s := simulatedLog(60+seed, simulate.Season{Dives: later + 1})
		excess := 2.3 * s.vehicle.LoopOhm(15)
		worn := simulatedLog(60+seed, simulate.Season{Dives: later + 1, Drift: func(d int, p predict.Params) {
			if d > later {
				p[predict.LoopOhm] += excess
			}
		}})
		for _, of := range []*simulated{&s, &worn} {
			for d := range of.log.Dives {
				l := &of.log.Dives[d].Lines[0]
				ohm := s.vehicle.LoopOhm(l.WaterC.X) + of.truth[d][predict.LoopOhm] + 0.01*float64(d%3-1)
				l.Put(session.Value{X: ohm, Entered: ohm, Column: column})
			}
		}
		r := worn.fit(t, required(t, s.vehicle))
		assert.Empty(t, r.Outliers(later), "vehicle %d", seed)
		assert.InDelta(t, excess, r.Departure(later, predict.LoopOhm).Value, 0.1*excess, "vehicle %d", seed)
		scale(&s.log.Dives[later].Lines[0], quantity.LoopOhm, 10)
		assert.Len(t, s.fit(t, required(t, s.vehicle)).Outliers(later), 1, "vehicle %d", seed)
	}
}

// required is the file of an owner who knows no more than must be known.
func required(t *testing.T, of *vehicle.Vehicle) *vehicle.Vehicle {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"x\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n", of.Battery.NominalV, of.Tether.LengthM, of.Tether.Power.AreaMM2)
	for i := range of.Thrusters {
		fmt.Fprintf(&b, "[[thruster]]\nname = %q\naxis = %q\n", of.Thrusters[i].Name, of.Thrusters[i].Axis)
	}
	v, err := vehicle.Read(strings.NewReader(b.String()), vehicle.FileName)
	require.NoError(t, err)
	return v
}

// A current that is nearer to what is expected as written than with its point elsewhere is a jam's and no slip. One that is
// set aside may be a thruster's that cannot turn, where that explains it; one that is ten times another is not.
func TestSetAsideMayBeAJam(t *testing.T) {
	jam := simulate.Season{Dives: later + 1, Jam: func(d int) int { return d / (later + 1) * 3 }}
	s := simulatedLog(25, jam)
	heave := s.vehicle.Thrusters[2].Name
	r := s.fit(t, nil)
	assert.Empty(t, r.Outliers(later))
	assert.Equal(t, []string{heave}, r.Looks(later).Jammed)

	s = simulatedLog(41, jam)
	aside := s.fit(t, nil).Outliers(later)
	require.Len(t, aside, 1)
	assert.Equal(t, heave, aside[0].Jammed)
	assert.Regexp(t, `^current_a [\d.]+ set aside, expected [\d.]+: a slip, or is `+heave+` jammed`, aside[0].Words())

	s = simulatedLog(25, simulate.Season{Dives: later + 1})
	for i := range s.log.Dives[later].Lines {
		if l := &s.log.Dives[later].Lines[i]; len(l.Drives) > 0 && l.Drives[0].Name == heave {
			scale(l, quantity.CurrentA, 10)
		}
	}
	aside = s.fit(t, nil).Outliers(later)
	require.Len(t, aside, 1)
	assert.Empty(t, aside[0].Jammed)
	assert.Regexp(t, `: a slip\?$`, aside[0].Words())
}

// A voltage at the vehicle that is misread by a volt, which no decimal point explains and several changes at once would, is
// set aside and moves no estimate; so are the readings of two lines in each other's place.
func TestMisreadIsNoFault(t *testing.T) {
	for seed := range uint64(3) {
		alone := func(l *session.Line) bool { return len(l.Drives) == 1 && l.Readings[quantity.VehicleV].Column != nil }
		both := func(l *session.Line) bool { return len(l.Drives) == 2 && l.Readings[quantity.VehicleV].Column != nil }
		sound := simulatedLog(40+seed, simulate.Season{Dives: 9})
		want := sound.fit(t, nil)
		for name, misread := range map[string]func(lines []session.Line) []int{
			"a volt": func(lines []session.Line) []int {
				i := slices.IndexFunc(lines, func(l session.Line) bool { return alone(&l) })
				lines[i].Readings[quantity.VehicleV].X++
				lines[i].Readings[quantity.VehicleV].Entered++
				return []int{i}
			},
			"exchanged": func(lines []session.Line) []int {
				i, j := slices.IndexFunc(lines, func(l session.Line) bool { return alone(&l) }), slices.IndexFunc(lines, func(l session.Line) bool { return both(&l) })
				lines[i].Readings, lines[j].Readings = lines[j].Readings, lines[i].Readings
				return []int{i, j}
			},
		} {
			s := simulatedLog(40+seed, simulate.Season{Dives: 9})
			s.number()
			lines := s.log.Dives[later].Lines
			of := misread(lines)
			r := s.fit(t, nil)
			aside := r.Outliers(later)
			require.NotEmpty(t, aside, "%s, vehicle %d", name, seed)
			for _, x := range aside {
				assert.True(t, slices.ContainsFunc(of, func(i int) bool { return lines[i].Number == x.Line }), "%s, vehicle %d: line %d, %s", name, seed, x.Line, x.Column)
			}
			for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA, predict.OfThruster(0, predict.BranchOhm), predict.OfThruster(1, predict.BranchOhm)} {
				was, is := want.Departure(later, k), r.Departure(later, k)
				assert.InDelta(t, was.Value, is.Value, 2*was.SD, "%s, vehicle %d, parameter %d", name, seed, k)
			}
		}
	}
}

// Half of a column's readings are no slips, though a calibration that leaves them out explains the rest better: it is not known which
// half is right.
func TestHalfOfAColumnIsNoSlip(t *testing.T) {
	s := simulatedLog(21, simulate.Season{Dives: 5})
	n := 0
	for d := range s.log.Dives {
		for i := range s.log.Dives[d].Lines {
			if l := &s.log.Dives[d].Lines[i]; l.Readings[quantity.CurrentA].Measured() && len(l.Drives) > 0 {
				if n++; n%2 == 0 {
					scale(l, quantity.CurrentA, 1.7)
				}
			}
		}
	}
	r := s.fit(t, nil)
	for d := range r.Dives {
		for _, c := range r.Dives[d].Cells {
			assert.False(t, c.Outlier, "dive %d, %s", d+1, c.Quantity)
		}
	}
	assert.Greater(t, r.Noise.Factor[quantity.CurrentA], 3.0, "the meter is that much worse")
}
