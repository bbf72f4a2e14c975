package fit_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A tally counts intervals that hold what is true, and how wide they are.
type tally struct{ held, of, half float64 }

func (s *tally) add(x normal.Interval, truth float64) {
	s.of++
	s.half += (x.High - x.Low) / 2
	if x.Low <= truth && truth <= x.High {
		s.held++
	}
}

// What varies, and half of the widest interval that is of use, with all
// instruments read.
var varying = []struct {
	name  string
	param int
	half  float64
}{
	{"loop", predict.LoopOhm, 0.014}, {"thrust", predict.LogThrust, 0.034}, {"trim", predict.TrimG, 9.5}, {"battery", predict.BatteryOhm, 0.0035},
	{"drag", predict.LogDrag, 0.034}, {"friction", predict.FrictionA, 0.043}, {"branch", predict.OfThruster(0, predict.BranchOhm), 0.015},
}

// The 95 % intervals of dives' own estimates hold 95 % of what they were, and
// are narrow enough to be of use.
func TestIntervalsOfDives(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	for _, c := range []struct {
		name        string
		season      simulate.Season
		least, most float64 // share that holds
		wider       float64
	}{
		{"sound", simulate.Season{Dives: 12}, 0.93, 0.995, 1},
		{"more scatter", simulate.Season{Dives: 12, Scatter: 2}, 0.85, 0.995, 1.3},
		{"sparse", simulate.Season{Dives: 12, Sparse: true}, 0.93, 0.999, 1.4},
		{"cold", simulate.Season{Dives: 12, Winter: true}, 0.93, 0.999, 1.1},
		{"warm windings", simulate.Season{Dives: 12, HeatK: 45}, 0.93, 0.999, 1.1},
		{"stream", simulate.Season{Dives: 12, StreamMS: 0.05}, 0.93, 0.999, 1.8},
		{"blank cells", simulate.Season{Dives: 12, Blanks: 0.3}, 0.93, 0.999, 1.2},
		{"slips", simulate.Season{Dives: 12, Slips: 0.02}, 0.92, 0.999, 1.2},
		{"faults", simulate.Season{Dives: 12, Drift: func(d int, p predict.Params) {
			switch d {
			case 7:
				p[predict.LoopOhm] += 0.2
			case 8:
				p[predict.LogThrust] -= 0.25
			case 9:
				p[predict.TrimG] -= 60
			case 10:
				p[predict.LogDrag] += 0.4
			case 11:
				p[predict.FrictionA] += 0.4
			case 12:
				p[predict.OfThruster(0, predict.BranchOhm)] += 0.3
			}
		}}, 0.9, 0.995, 2.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var all tally
			of, early := make([]tally, len(varying)), make([]tally, len(varying))
			for seed := range uint64(5) {
				s := simulatedLog(seed+1, c.season)
				r := s.fit(t, nil)
				for d := range r.Dives {
					for i, v := range varying {
						x := r.Departure(d, v.param)
						require.LessOrEqual(t, x.Low, x.Value)
						require.LessOrEqual(t, x.Value, x.High)
						to := &of[i]
						if d < r.Baseline {
							to = &early[i]
						}
						to.add(x, s.departure(r, d, v.param))
						all.add(x, s.departure(r, d, v.param))
					}
				}
			}
			share := all.held / all.of
			t.Logf("%.3f of %v", share, all.of)
			assert.Greater(t, share, c.least)
			assert.Less(t, share, c.most)
			for i, v := range varying {
				t.Logf("%s: %.3f, ± %.3g; in the baseline %.3f, ± %.3g", v.name, of[i].held/of[i].of, of[i].half/of[i].of, early[i].held/early[i].of, early[i].half/early[i].of)
				assert.Greater(t, of[i].held/of[i].of, c.least-0.1, v.name)
				assert.Less(t, of[i].half/of[i].of, c.wider*v.half, v.name)
				assert.Greater(t, early[i].held/early[i].of, c.least-0.1, v.name)
				assert.Less(t, early[i].half/early[i].of, c.wider*v.half, v.name)
			}
		})
	}
}

// Two faults in one dive are both found, by that dive alone.
func TestTwoFaultsInOneDive(t *testing.T) {
	for seed := range uint64(3) {
		s := simulatedLog(seed+60, simulate.Season{Dives: 9, Drift: func(d int, p predict.Params) {
			if d > later {
				p[predict.LoopOhm] += 0.2
				p[predict.TrimG] -= 60
			}
		}})
		r := s.fit(t, nil)
		for _, k := range []int{predict.LoopOhm, predict.TrimG, predict.LogThrust} {
			x := r.Departure(later, k)
			assert.InDelta(t, s.departure(r, later, k), x.Value, 3*x.SD, "vehicle %d, parameter %d", seed, k)
		}
		assert.Less(t, r.Departure(later, predict.LoopOhm).SD, 0.032)
		assert.Less(t, r.Departure(later, predict.TrimG).SD, 13.0)
	}
}

// differing are how simulated vehicles differ from their files.
var differing = []int{predict.LogTorque, predict.LogThrust, predict.LogPitch, predict.LogDrag, predict.LogClimbDrag, predict.TrimG, predict.LoopOhm}

// The calibration finds how a vehicle differs from its file, as surely as it
// says: the baseline's mean, and what sound dives scatter about.
func TestCalibration(t *testing.T) {
	var base, usual tally
	var left, squares float64
	for seed := range uint64(25) {
		s := simulatedLog(seed+1, simulate.Season{Dives: 5})
		still := simulatedLog(seed+1, simulate.Season{Dives: 1, Scatter: 1e-12}) // the vehicle that those dives scatter about
		r := s.fit(t, nil)
		before := (&simulated{s.vehicle, &session.Log{}, nil}).fit(t, nil)
		for i, at := range r.Space.Static {
			k := r.Space.All[at]
			if !slices.Contains(differing, k) {
				continue
			}
			mean := 0.0
			for b := range r.Baseline {
				mean += s.truth[b][k] / float64(r.Baseline)
			}
			sd := math.Sqrt(r.Cov.At(i, i))
			base.add(normal.Interval{Low: r.Base[k] - 1.96*sd, High: r.Base[k] + 1.96*sd}, mean)
			squares += math.Pow((r.Base[k]-mean)/sd, 2)
			sd, x := math.Sqrt(r.SoundCov.At(i, i)), r.Base[k]+r.SoundOffset[i]
			usual.add(normal.Interval{Low: x - 1.96*sd, High: x + 1.96*sd}, still.truth[0][k])
			of := before.Space.InStatic[before.Space.Place[k]]
			left += math.Sqrt(r.Cov.At(i, i) / before.Cov.At(of, of))
			if k == predict.LoopOhm || k == predict.LogThrust || k == predict.TrimG {
				assert.Less(t, r.Cov.At(i, i), r.SoundCov.At(i, i), "the baseline's mean is better known")
			}
		}
	}
	t.Logf("%.3f and %.3f of %v, mean square %.2f, %.2f of the prior's range left", base.held/base.of, usual.held/usual.of, base.of, squares/base.of, left/base.of)
	assert.GreaterOrEqual(t, base.held/base.of, 0.942)
	assert.GreaterOrEqual(t, usual.held/usual.of, 0.942)
	assert.InDelta(t, 0.5, squares/base.of, 0.25, "thrusters and meters of these vehicles are as in the file")
	assert.InDelta(t, 0.38, left/base.of, 0.1)
}

// What a battery loses as soon as anything runs is learnt where the baseline shows it, and nothing where it speaks against it.
func TestSurfaceCharge(t *testing.T) {
	for _, volts := range []float64{0, 0.3} {
		s := simulatedLog(3, simulate.Season{Dives: 5, Drift: func(_ int, p predict.Params) { p[predict.SurfaceV] += volts }})
		r := s.fit(t, nil)
		at := r.Space.Place[predict.SurfaceV]
		i := r.Space.InStatic[at]
		assert.InDelta(t, volts, r.Base[predict.SurfaceV], 0.05)
		assert.Equal(t, volts > 0, math.Sqrt(r.Space.Prior.Cov.At(i, i)) > 0.1)
		assert.Equal(t, volts > 0, r.Space.Known(at).Scatter > 0.01)
	}
}

// Whether a battery loses voltage by the clock or by what runs, a log tells it, and its resistance is that of the truth.
func TestVoltageLostAtRest(t *testing.T) {
	for _, rested := range []float64{0, 1} {
		s := simulatedLog(3, simulate.Season{Dives: 12, Drift: func(_ int, p predict.Params) {
			p[predict.SagVPerMinute], p[predict.RestedShare] = 0.025, rested
		}})
		r := s.fit(t, nil)
		assert.InDelta(t, rested, r.Base[predict.RestedShare], 0.2)
		assert.InDelta(t, s.truth[0][predict.BatteryOhm], r.Base[predict.BatteryOhm], 0.004)
	}
}

// The baseline's dives depart from their own mean: evenly to both sides.
func TestDeparturesOfTheBaseline(t *testing.T) {
	s := simulatedLog(7, simulate.Season{Dives: 5})
	r := s.fit(t, nil)
	for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.TrimG, predict.LogDrag} {
		sum, most := 0.0, 0.0
		for d := range r.Dives {
			x := r.Departure(d, k).Value
			sum, most = sum+x, max(most, math.Abs(x))
		}
		assert.InDelta(t, 0, sum, 1e-6*most+1e-12, "parameter %d", k)
		assert.Positive(t, most)
	}
}

// Instruments that are half or twice as exact as the file says are found out,
// and the intervals are as true.
func TestInstrumentsAreFoundOut(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	for _, times := range []float64{0.5, 2} {
		var of tally
		ratio := 0.0
		const logs = 6
		for seed := range uint64(logs) {
			s := simulatedLog(seed+1, simulate.Season{Dives: 10})
			file := s.vehicle.Clone()
			file.Instruments.CurrentA /= times
			file.Instruments.BatteryV /= times
			file.Instruments.VehicleV /= times
			r := s.fit(t, file)
			for d := r.Baseline; d < len(r.Dives); d++ {
				for _, v := range varying[:4] {
					of.add(r.Departure(d, v.param), s.departure(r, d, v.param))
				}
				for _, c := range r.Dives[d].Cells {
					if c.Quantity == quantity.CurrentA {
						ratio += c.SD / s.vehicle.Instruments.CurrentA
						break
					}
				}
			}
		}
		ratio /= logs * 5
		t.Logf("%v times: %.3f held, instruments taken for %.2f of what they are", times, of.held/of.of, ratio)
		assert.Greater(t, of.held/of.of, 0.9, times)
		assert.InDelta(t, 0, math.Log(ratio), 0.85*math.Ln2, "nearer to the truth than to the file")
	}
}

// Without an ammeter and a pull, resistance and thrust hardly separate, and the
// intervals say so.
func TestWhatIsNotReadIsWide(t *testing.T) {
	s := simulatedLog(3, simulate.Season{Dives: 9})
	less := simulatedLog(3, simulate.Season{Dives: 9, Without: simulate.VoltsOnly})
	r, open := s.fit(t, nil), less.fit(t, nil)
	width := func(r *fit.Result, k int) float64 { x := r.Departure(8, k); return x.High - x.Low }
	assert.Greater(t, width(open, predict.LoopOhm), 1.5*width(r, predict.LoopOhm))
	assert.Greater(t, width(open, predict.LogThrust), 1.2*width(r, predict.LogThrust))
	assert.InDelta(t, width(r, predict.TrimG), width(open, predict.TrimG), 0.3*width(r, predict.TrimG))
}

// Of a battery that loses voltage as soon as anything runs, of which all readings are at about one load, the resistance is shown with
// that loss at that load, and known far better than the two parts: in the baseline, in later dives, and as the limit that follows.
func TestResistanceAtOneLoad(t *testing.T) {
	const volts, more = 0.2, 0.06
	v := simulate.Fleet(3)
	v.Thrusters = v.Thrusters[:1]
	v.Thrusters[0].ArmMM = 0
	log, _ := simulate.LogTruth(v, simulate.Season{Dives: 12, Seed: 11, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Drift: func(d int, p predict.Params) {
		if p[predict.SurfaceV] += volts; d > 8 {
			p[predict.BatteryOhm] += more
		}
	}})
	text := fmt.Sprintf("name = \"Newt\"\n[battery]\nnominal_v = %g\n[tether]\nlength_m = %g\n[tether.power]\narea_mm2 = %g\n[[thruster]]\nname = %q\naxis = \"surge\"\n", v.Battery.NominalV, v.Tether.LengthM, v.Tether.Power.AreaMM2, v.Thrusters[0].Name)
	file, err := vehicle.Read(strings.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	r, err := fit.Fit(file, log)
	require.NoError(t, err)

	require.Greater(t, r.LoadA, 2.0)
	cold := 1 + 0.008*predict.BelowCold(log.Dives[0].Lines[0].WaterC.X)
	sound := v.Battery.ResistanceOhm + volts/r.LoadA
	assert.InDelta(t, sound, r.SoundOf(predict.BatteryOhm), 0.1*sound)
	assert.InDelta(t, 2*sound, r.Model.Vehicle.Limits.BatteryResistanceOhm, 0.5*sound)
	i := r.Space.InStatic[r.Space.Place[predict.BatteryOhm]]
	for d, by := range map[int]float64{r.Baseline + 1: 0, 10: more} {
		x := r.Departure(d, predict.BatteryOhm)
		assert.InDelta(t, sound+by*cold, x.Value, 0.1*(sound+by), "dive %d", d+1)
		assert.Less(t, x.SD, math.Sqrt(r.Cov.At(i, i)), "the sum is known better than the part")
	}

	stated, err := vehicle.Read(strings.NewReader(strings.Replace(text, "[tether]", "resistance_ohm = 0.03\n[tether]", 1)), vehicle.FileName)
	require.NoError(t, err)
	r, err = fit.Fit(stated, log)
	require.NoError(t, err)
	assert.Zero(t, r.LoadA, "what the file states tells the parts")
	assert.InDelta(t, 0.03, r.SoundOf(predict.BatteryOhm), 0.01)
}
