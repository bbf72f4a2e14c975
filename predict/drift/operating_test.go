package drift_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

const (
	seasonDives = 28
	missed      = 99 // the delay of an alarm that never came
)

// scenario is one kind of season with what is at fault in it.
type scenario struct {
	name     string
	quantity []string // own alarms
	season   func(onset int, v *vehicle.Vehicle) simulate.Season
}

func added(param int, size float64, ramp bool) func(onset int, v *vehicle.Vehicle) simulate.Season {
	return func(onset int, _ *vehicle.Vehicle) simulate.Season {
		return simulate.Season{Drift: func(d int, p predict.Params) {
			if d >= onset {
				k := 1.0
				if ramp {
					k = float64(d - onset + 1)
				}
				p[param] += k * size
			}
		}}
	}
}

func with(change func(*simulate.Season), base func(int, *vehicle.Vehicle) simulate.Season) func(int, *vehicle.Vehicle) simulate.Season {
	return func(onset int, v *vehicle.Vehicle) simulate.Season {
		s := base(onset, v)
		change(&s)
		return s
	}
}

func sound(int, *vehicle.Vehicle) simulate.Season { return simulate.Season{} }

func scenarios() []scenario {
	loop, volts := []string{"excess_resistance_ohm"}, func(s *simulate.Season) { s.Without = simulate.VoltsOnly }
	slips, sites := func(s *simulate.Season) { s.Slips = 0.01 }, func(s *simulate.Season) { s.Sites = true }
	return []scenario{
		{"sound", nil, sound}, {"sound, slips", nil, with(slips, sound)}, {"sound, sites", nil, with(sites, sound)}, {"sound, volts only", nil, with(volts, sound)},
		{"loop +20 mΩ a dive", loop, added(predict.LoopOhm, 0.02, true)},
		{"loop +20 mΩ a dive, slips", loop, with(slips, added(predict.LoopOhm, 0.02, true))},
		{"loop +40 mΩ a dive, volts only", loop, with(volts, added(predict.LoopOhm, 0.04, true))},
		{"loop step +0.15 Ω", loop, added(predict.LoopOhm, 0.15, false)},
		{"contact comes and goes", loop, func(onset int, _ *vehicle.Vehicle) simulate.Season {
			return simulate.Season{LineDrift: func(d int, rng *rand.Rand, p predict.Params) {
				if d >= onset && rng.Float64() < 0.35 {
					p[predict.LoopOhm] += 0.1 + 0.3*rng.Float64()
				}
			}}
		}},
		{"thrust −2 % a dive", []string{"thrust_factor"}, added(predict.LogThrust, -0.02, true)},
		{"thrust step −15 %", []string{"thrust_factor"}, added(predict.LogThrust, -0.16, false)},
		{"friction +30 mA a dive", []string{"friction_a"}, added(predict.FrictionA, 0.03, true)},
		{"leak 4 g a dive", []string{"ingress_g"}, added(predict.TrimG, -4, true)},
		{"leak step 40 g", []string{"ingress_g"}, added(predict.TrimG, -40, false)},
		{"battery +2 mΩ a dive", []string{"battery_resistance_ohm"}, added(predict.BatteryOhm, 0.002, true)},
		{"branch step +0.2 Ω", []string{"branch_excess_ohm:starboard"}, added(predict.FirstBranch+1, 0.2, false)},
		{"loop +25 mΩ and leak 8 g a dive", []string{"excess_resistance_ohm", "ingress_g"}, both(added(predict.LoopOhm, 0.025, true), added(predict.TrimG, -8, true))},
		{"sound, a bad dive in the baseline", nil, func(int, *vehicle.Vehicle) simulate.Season {
			return simulate.Season{Drift: func(d int, p predict.Params) {
				if d == 3 {
					p[predict.LoopOhm], p[predict.TrimG], p[predict.LogThrust] = p[predict.LoopOhm]+0.15, p[predict.TrimG]-40, p[predict.LogThrust]-0.15
				}
			}}
		}},
	}
}

// both is a season with the drifts of two.
func both(one, two func(int, *vehicle.Vehicle) simulate.Season) func(int, *vehicle.Vehicle) simulate.Season {
	return func(onset int, v *vehicle.Vehicle) simulate.Season {
		a, b := one(onset, v).Drift, two(onset, v).Drift
		return simulate.Season{Drift: func(d int, p predict.Params) { a(d, p); b(d, p) }}
	}
}

// tally is what a scenario's seasons showed.
type tally struct {
	logs, wrong int
	delays      []int
	inside, all map[string]int
	said        *reliability
}

// reliability counts what the trends said had changed, on a day picked at
// random in each season, by the probability stated and whether it was true.
type reliability struct{ said, right [len(probabilities)]int }

// probabilities are the lower ends of the reliability table's rows.
var probabilities = [...]float64{0.5, 0.8, 0.95, 0.99}

func (r *reliability) add(sc scenario, onset int, result *fit.Result, seed uint64) {
	first := result.Baseline + 1
	day := first + rand.New(rand.NewPCG(seed, 3)).IntN(seasonDives-first+1)
	then := *result
	then.Dives = result.Dives[:day]
	for _, tr := range drift.Analyse(&then).Trends {
		if tr.Pattern == drift.Steady {
			continue
		}
		row := len(probabilities) - 1
		for tr.Probability < probabilities[row] && row > 0 {
			row--
		}
		r.said[row]++
		if day >= onset && slices.Contains(sc.quantity, tr.Quantity) {
			r.right[row]++
		}
	}
}

func (r *reliability) String() string {
	out := "\nprobability stated: how often right\n"
	for i, p := range probabilities {
		out += fmt.Sprintf("from %.2f: %4d of %4d\n", p, r.right[i], r.said[i])
	}
	return out
}

// truths are the quantities of a dive, against the baseline's mean.
func truths(truth []predict.Params, d, baseline int, v *vehicle.Vehicle) map[string]float64 {
	rel := func(k int) float64 {
		mean := 0.0
		for b := range baseline {
			mean += truth[b][k] / float64(baseline)
		}
		return truth[d][k] - mean
	}
	return map[string]float64{"excess_resistance_ohm": rel(predict.LoopOhm), "thrust_factor": math.Exp(rel(predict.LogThrust)),
		"ingress_g": -rel(predict.TrimG), "battery_resistance_ohm": v.Battery.ResistanceOhm + truth[d][predict.BatteryOhm], "friction_a": rel(predict.FrictionA)}
}

func (t *tally) add(tb testing.TB, sc scenario, seed uint64, rough bool) {
	v := simulate.Fleet(seed)
	onset := 9 + int(seed%6)
	s := sc.season(onset, v)
	s.Dives, s.Seed, s.Start, s.Rough = seasonDives, seed*31+1, time.Date(2025, 3, 8, 0, 0, 0, 0, time.UTC), rough
	s.Scatter, _ = strconv.ParseFloat(os.Getenv("SCATTER"), 64)
	log, truth := simulate.LogTruth(v, s)
	r, err := fit.Fit(v, log, nil)
	if err != nil {
		tb.Fatal(sc.name, seed, err)
	}
	rep := drift.Analyse(r)
	t.logs++
	t.said.add(sc, onset, r, seed)
	own, wrong := map[string]int{}, false
	for _, a := range rep.Alarms {
		raised, _ := strconv.Atoi(a.RaisedDive)
		if slices.Contains(sc.quantity, a.Quantity) && raised >= onset {
			if _, ok := own[a.Quantity]; !ok {
				own[a.Quantity] = raised - onset
			}
			continue
		}
		wrong = true
		if os.Getenv("SHOW") != "" {
			fmt.Fprintln(os.Stderr, "  ", sc.name, seed, a.Quantity, a.RaisedDive, a.Pattern)
		}
	}
	if wrong {
		t.wrong++
	}
	for _, q := range sc.quantity {
		delay, ok := own[q]
		if !ok {
			delay = missed
		}
		t.delays = append(t.delays, delay)
	}
	if s.LineDrift != nil || strings.HasPrefix(sc.name, "branch") {
		return
	}
	for d := range rep.Dives {
		for q, x := range truths(truth, d, r.Baseline, v) {
			e := rep.Dives[d].Estimates[q]
			t.all[q]++
			if e.Low <= x && x <= e.High {
				t.inside[q]++
			}
		}
	}
}

// BenchmarkOperating prints how the alarms, the intervals and the stated
// probabilities do on simulated seasons of invented vehicles: SEASONS of each kind (default 40), with
// ROUGH=1 effects that the model leaves out, with SCATTER=1.5 half as much
// scatter again from dive to dive, and with KIND=sound those kinds alone.
//
//	go test -run=^$ -bench=Operating -benchtime=1x ./predict/drift
func BenchmarkOperating(b *testing.B) {
	n, err := strconv.Atoi(os.Getenv("SEASONS"))
	if err != nil {
		n = 40
	}
	for b.Loop() {
		fmt.Printf("\n%-32s %5s %6s %6s  %s\n", "season", "logs", "missed", "wrong", "median (90 %) delay in dives; intervals that hold")
		inside, all := map[string]int{}, map[string]int{}
		var said reliability
		for _, sc := range scenarios() {
			if k := os.Getenv("KIND"); !strings.Contains(sc.name, k) {
				continue
			}
			t := &tally{inside: inside, all: all, said: &said}
			for seed := range n {
				t.add(b, sc, uint64(seed+1000), os.Getenv("ROUGH") != "")
			}
			unnoticed, delay := 0, "-"
			if len(t.delays) > 0 {
				sort.Ints(t.delays)
				delay = fmt.Sprintf("%d (%d)", t.delays[len(t.delays)/2], t.delays[len(t.delays)*9/10])
				for _, d := range t.delays {
					if d == missed {
						unnoticed++
					}
				}
			}
			fmt.Printf("%-32s %5d %6d %6d  %s\n", sc.name, t.logs, unnoticed, t.wrong, delay)
		}
		for q, k := range all {
			fmt.Printf("%s %.3f\n", q, float64(inside[q])/float64(k))
		}
		fmt.Print(&said)
	}
}
