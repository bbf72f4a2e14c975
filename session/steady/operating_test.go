package steady

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// BenchmarkCutting prints, for some loggers, how often a steady hour is cut
// and what share of switches of so many standard deviations of one sample is
// found. Least is 0 here, so that noise alone decides:
// go test -run=^$ -bench=Cutting -benchtime=1x ./session/steady
func BenchmarkCutting(b *testing.B) {
	for range b.N {
		fmt.Fprintf(os.Stderr, "%6s %6s %16s %s\n", "Hz", "phi", "false cuts/hour", "found of steps of 0.5 1 2 4 sd")
		for _, c := range []struct{ hz, phi float64 }{{1, 0}, {1, 0.5}, {10, 0}, {10, 0.8}, {100, 0}, {100, 0.95}, {1000, 0.99}} {
			rng := rand.New(rand.NewPCG(7, uint64(c.hz)))
			fmt.Fprintf(os.Stderr, "%6g %6g %16.3f", c.hz, c.phi, falseCuts(rng, c.hz, c.phi, 3600, hours(c.hz)))
			for _, k := range []float64{0.5, 1, 2, 4} {
				fmt.Fprintf(os.Stderr, " %.2f", found(rng, c.hz, c.phi, k, 60))
			}
			fmt.Fprintln(os.Stderr)
		}
	}
}

func hours(hz float64) int { return max(4, int(100/math.Sqrt(hz))) }

// falseCuts is how many cuts there are in a record of steady noise, a mean
// over so many.
func falseCuts(rng *rand.Rand, hz, phi, seconds float64, records int) float64 {
	n := 0
	for range records {
		r := noisy(rng, hz, []phase{{seconds, 12, 8}}, 0.03, 0.2, phi, 0, 0)
		r.Channels[0].Least, r.Channels[1].Least = 0, 0
		n += len(newBlock(r, 0, len(r.Time), 1/hz, Defaults).cuts(Defaults.Risk))
	}
	return float64(n) / float64(records)
}

// found is the share of switches in both channels by k standard deviations
// that are cut within a second or three samples.
func found(rng *rand.Rand, hz, phi, k float64, switches int) float64 {
	hit := 0
	for range switches {
		r := noisy(rng, hz, []phase{{30, 12, 8}, {30, 12 - k*0.03, 8 + k*0.2}}, 0.03, 0.2, phi, 0, 0)
		r.Channels[0].Least, r.Channels[1].Least = 0, 0
		b := newBlock(r, 0, len(r.Time), 1/hz, Defaults)
		for _, c := range b.cuts(Defaults.Risk) {
			if math.Abs(float64(c*b.each)/hz-30) <= max(1, 3/hz) {
				hit++
				break
			}
		}
	}
	return float64(hit) / float64(switches)
}
