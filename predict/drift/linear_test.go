package drift_test

import (
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"

	"sagline/predict"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// BenchmarkDives is one vehicle's log of 10², 10³ and 10⁴ dives, and with
// DIVES=100000 of as many more, its joint re-made every hundred: the time a
// dive stays the same where the cost is linear.
func BenchmarkDives(b *testing.B) {
	sizes := []int{100, 1_000, 10_000}
	if n, err := strconv.Atoi(os.Getenv("DIVES")); err == nil {
		sizes = append(sizes, n)
	}
	v := simulate.Fleet(3)
	for _, n := range sizes {
		s := simulate.Season{Dives: n, Start: time.Date(1990, 3, 1, 0, 0, 0, 0, time.UTC), Seed: 2, Service: map[int][]string{},
			Drift: func(d int, p predict.Params) { p[predict.LoopOhm] += 0.005 * max(0, float64(d%100-50)) }}
		for d := 100; d < n; d += 100 {
			s.Service[d] = []string{"joint"}
		}
		log := simulate.Log(v, s)
		var r *fit.Result
		each := func(name string, do func() error) {
			b.Run(fmt.Sprintf("%s/dives=%d", name, n), func(b *testing.B) {
				for b.Loop() {
					if err := do(); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n)/1000, "µs/dive")
			})
		}
		fitted := func() (err error) { r, err = fit.Fit(v, log, nil); return err }
		each("Fit", fitted)
		if r == nil {
			if err := fitted(); err != nil {
				b.Fatal(err)
			}
		}
		each("Analyse", func() error { drift.Analyse(r); return nil })
	}
}
