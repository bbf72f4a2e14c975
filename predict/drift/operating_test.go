package drift_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/drift"
	"sagline/predict/simulate"
)

const manyDives = 28

// sparse are cases of which few readings are taken.
func sparse() (out []caseOf) {
	for _, c := range cases {
		switch c.cause {
		case "power_loop", "thrust", "drag":
			c.cause, c.season = c.cause+", sparse readings", func(s *simulate.Season) { s.Sparse = true }
			out = append(out, c)
		}
	}
	return append(out, caseOf{cause: "instrument:speed, sparse readings", scenario: scenario{change: at(predict.LogSpeed, -0.13), season: func(s *simulate.Season) { s.Sparse = true }}})
}

// A tally is what the logs of one kind show.
type tally struct {
	logs, blamed, named int
	delays              []float64
}

// A claim is a finding's probability, and whether it was right.
type claim struct {
	p     float64
	right bool
}

// BenchmarkOperating measures false alarms, delays, names and what probabilities
// are worth, each iteration on another vehicle in every circumstance and with
// every cause. -benchtime=100x takes some minutes a world.
func BenchmarkOperating(b *testing.B) {
	for _, world := range []string{"design", "rough", "measured"} {
		b.Run(world, func(b *testing.B) {
			kinds := append(slices.Clone(cases), sparse()...)
			for _, name := range slices.Sorted(maps.Keys(circumstances)) {
				kinds = append(kinds, caseOf{cause: "sound, " + name, scenario: circumstances[name]})
			}
			tallies, claims, seed := make([]tally, len(kinds)), []claim{}, uint64(0)
			var mu sync.Mutex
			for b.Loop() {
				seed++
				all(len(kinds), func(i int) {
					k := kinds[i]
					k.world = world
					r, said := k.season28(b, seed)
					mu.Lock()
					defer mu.Unlock()
					tallies[i].add(&k, r)
					claims = append(claims, said...)
				})
			}
			fmt.Printf("\n%s\n%s", table(kinds, tallies), calibration(claims)) // more than a log of a benchmark holds
		})
	}
}

// season28 is a long log, with what is claimed on a day picked at random.
func (c *caseOf) season28(t testing.TB, seed uint64) (*result, []claim) {
	v, log, truth := c.simulated(seed, manyDives, onset)
	r := &result{vehicle: v, log: log, truth: truth}
	r.fit = fitOf(t, r, manyDives)
	r.Report = drift.Analyse(r.fit)
	n := 6 + int(seed*31%(manyDives-6))
	var claims []claim
	for _, f := range r.until(t, n).Findings {
		claims = append(claims, claim{f.Probability, n >= onset && c.isRight(f.Fault)})
	}
	return r, claims
}

// isRight says whether a fault is the cause or a case of it, or what it is a case
// of.
func (c *caseOf) isRight(fault string) bool {
	cause, _, _ := strings.Cut(c.cause, ",")
	return isCase(fault, append([]string{cause}, c.right...)) || strings.HasPrefix(cause, fault+":")
}

func (s *tally) add(c *caseOf, r *result) {
	s.logs++
	first, blamed := math.Inf(1), false
	for _, a := range r.Alarms {
		var raised int
		_, _ = fmt.Sscan(a.RaisedDive, &raised)
		right := raised >= onset && (c.isRight(a.Cause.Name) || isCase(a.Cause.Name, c.besides))
		if right {
			first = min(first, float64(raised-onset))
		}
		blamed = blamed || !right && a.Cause.Kind == causes.Vehicle
	}
	s.delays = append(s.delays, first)
	if blamed {
		s.blamed++
	}
	if len(r.Findings) > 0 && c.isRight(r.Findings[0].Fault) {
		s.named++
	}
}

// table is README's: of each kind of log in how many the vehicle is blamed
// wrongly, the cause is named, and the dives until the alarm.
func table(kinds []caseOf, tallies []tally) string {
	var b strings.Builder
	b.WriteString("| simulated logs | vehicle blamed wrongly | cause named | dives to the alarm: median (nine in ten) |\n|---|---|---|---|\n")
	for i, k := range kinds {
		s := &tallies[i]
		slices.Sort(s.delays)
		delay, n := "", len(s.delays)
		if k.change != nil || k.pattern != "" {
			delay = fmt.Sprintf("%.0f (%.0f)", s.delays[n/2], s.delays[n*9/10])
		}
		fmt.Fprintf(&b, "| %s | %d of %d | %d | %s |\n", strings.TrimSpace(k.cause+" "+k.pattern), s.blamed, s.logs, s.named, delay)
	}
	return b.String()
}

// calibration is how often what is claimed with a probability is right.
func calibration(claims []claim) string {
	var b strings.Builder
	for _, of := range [][2]float64{{0.5, 0.8}, {0.8, 0.95}, {0.95, 0.99}, {0.99, 1.01}} {
		var s share
		mean := 0.0
		for _, c := range claims {
			if of[0] <= c.p && c.p < of[1] {
				s.add(c.right)
				mean += c.p
			}
		}
		fmt.Fprintf(&b, "claims of %.2f to %.2f: right %d of %d, mean claim %.3f\n", of[0], min(of[1], 1), s.held, s.of, mean/float64(max(s.of, 1)))
	}
	return b.String()
}

// What a finding says with a probability is as often right, in a world of other
// physics too.
func TestProbabilitiesMeanWhatTheySay(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	var near, sure share
	claims := make([][]claim, len(cases))
	all(len(cases)/2, func(i int) {
		i *= 2
		k := cases[i]
		k.world = "measured"
		v, log, _ := k.simulated(uint64(40+i), onset+3, onset)
		for _, f := range (&result{vehicle: v, log: log}).until(t, onset+i/2%4).Findings {
			claims[i] = append(claims[i], claim{f.Probability, k.isRight(f.Fault)})
		}
	})
	for _, c := range slices.Concat(claims...) {
		if c.p > 0.96 {
			sure.add(c.right)
		} else {
			near.add(c.right)
		}
	}
	sure.atLeast(t, 0.9, "surely")
	near.atLeast(t, 0.5, "likely")
	assert.Greater(t, sure.of, 5)
	assert.Greater(t, near.of, 5)
}
