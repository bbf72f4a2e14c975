package locate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
)

var _ = sort.Ints

func TestOperating(t *testing.T) {
	n := 60
	if x, err := strconv.Atoi(os.Getenv("FAULTS")); err == nil {
		n = x
	}
	no := false
	r := pond(t, vehicle.Joint{Name: "reel"}, vehicle.Joint{Name: "splice", AtM: 12}, vehicle.Joint{Name: "old splice", AtM: 20, Accessible: &no})
	for _, c := range []struct {
		name, fault string
		found       bool
		without     []string
		size        func(z float64) float64
	}{
		{"found", "power_loop", true, nil, func(z float64) float64 { return 0.2 * math.Exp(0.5*z) }},
		{"found, noohm", "power_loop", true, []string{"ohmmeter"}, func(z float64) float64 { return 0.2 * math.Exp(0.5*z) }},
		{"found, noclamp", "power_loop", true, []string{"clamp"}, func(z float64) float64 { return 0.2 * math.Exp(0.5*z) }},
		{"not found", "power_loop", false, nil, func(z float64) float64 { return 0.2 * math.Exp(0.8*z) }},
		{"branch", "branch:port", true, nil, func(z float64) float64 { return 0.3 * math.Exp(0.5*z) }},
		{"interm", "intermittent_contact", true, nil, func(z float64) float64 { return 1 }},
		{"insul", "insulation", true, nil, func(z float64) float64 { return -5 + 0.5*z }},
	} {
		rng := rand.New(rand.NewPCG(1, 2))
		var counts, best []int
		right, named, minutes, spots := 0, 0, 0.0, 0
		var plan *fewest
		for range n {
			size := c.size(rng.NormFloat64())
			rep := finding(r, c.fault, size*math.Exp(0.08*rng.NormFloat64()), 0.08*size)
			if c.fault == "insulation" {
				rep = finding(r, c.fault, 100*math.Exp(size+0.3*rng.NormFloat64()), 0)
			}
			if !c.found {
				rep.Findings = nil
			}
			s, err := Begin(r, rep, c.fault, c.without)
			require.NoError(t, err)
			if plan == nil {
				plan = newFewest(s)
			}
			b := newBench(s, size, rng)
			o := b.run(t)
			counts = append(counts, o.readings)
			best = append(best, plan.readings(b.spot))
			if o.right {
				right++
			} else if n < 100 {
				fmt.Println("  wrong:", s.spots[b.spot].Name, size, s.taken, s.result())
			}
			if o.named {
				named++
			}
			spots += o.spots
			minutes += o.minutes
		}
		sort.Ints(counts)
		sort.Ints(best)
		fmt.Printf("%s: right %d named %d of %d (spots %.2f) readings median %d (optimum %d) nine in ten %d (%d) minutes %.0f\n", c.name, right, named, n, float64(spots)/float64(n), counts[n/2], best[n/2], counts[n*9/10], best[n*9/10], minutes/float64(n))
	}
}
