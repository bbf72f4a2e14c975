package locate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
)

// A trial is a kind of search whose operating figures are wanted.
type trial struct {
	what, fault string
	found       bool // a finding with the fault's size comes before it
	without     []string
	size        func(z float64) float64 // by a standard normal number
	nothing     bool                    // the chain is sound
}

func around(median, sd float64) func(float64) float64 {
	return func(z float64) float64 { return median * math.Exp(sd*z) }
}

var trials = []trial{
	{what: "power loop +0.2 Ω", fault: "power_loop", found: true, size: around(0.2, 0.5)},
	{what: "the same without an ohmmeter", fault: "power_loop", found: true, size: around(0.2, 0.5), without: []string{"ohmmeter"}},
	{what: "the same without a clamp meter", fault: "power_loop", found: true, size: around(0.2, 0.5), without: []string{"clamp"}},
	{what: "the same, nothing found before", fault: "power_loop", size: around(0.2, 0.5)},
	{what: "nothing wrong, nothing found before", fault: "power_loop", size: around(0.2, 0), nothing: true},
	{what: "one thruster's branch +0.3 Ω", fault: "branch:port", found: true, size: around(0.3, 0.5)},
	{what: "a contact that comes and goes", fault: "intermittent_contact", found: true, size: around(1, 0)},
	{what: "a leak to the water", fault: "insulation", found: true, size: func(z float64) float64 { return -5 + 0.5*z }},
	{what: "a tube of three that weeps", fault: "ingress", found: true, size: around(5, 0.7)},
}

// figures are how some searches of a trial went.
type figures struct {
	trial         trial
	counts, plans []int
	right, faults int
	minutes       float64
}

func (f *figures) median(x []int) int { return slices.Sorted(slices.Values(x))[len(x)/2] }
func (f *figures) nineInTen() int     { return slices.Sorted(slices.Values(f.counts))[len(f.counts)*9/10] }

// try searches for faults of a trial. The optimum is the best plan of all for
// instruments that do not err.
func (tr trial) try(t testing.TB, r *fit.Result, faults int) *figures {
	out := &figures{trial: tr, faults: faults}
	rng := rand.New(rand.NewPCG(1, 2))
	var plan *fewest
	for range faults {
		size := tr.size(rng.NormFloat64())
		measured := size * math.Exp(0.08*rng.NormFloat64())
		if tr.fault == "insulation" {
			measured = 100 * math.Exp(size+0.3*rng.NormFloat64())
		}
		rep := finding(r, tr.fault, measured, 0.08*size)
		if !tr.found {
			rep = &findings.Report{}
		}
		s, err := Begin(r, rep, tr.fault, tr.without)
		require.NoError(t, err)
		if plan == nil {
			plan = newFewest(s)
		}
		b := newBench(s, size, rng, tr.nothing)
		o := b.run(t)
		out.counts, out.plans = append(out.counts, o.readings), append(out.plans, plan.readings(b.spot))
		out.minutes += o.minutes / float64(faults)
		if o.right {
			out.right++
		}
	}
	return out
}

// invented is a vehicle whose tether has a slip ring, a splice and one more
// under a sealed sleeve, and three tubes.
func invented(t testing.TB) *fit.Result {
	no := false
	return pond(t, []vehicle.Joint{{Name: "slip ring"}, {Name: "splice", AtM: 12}, {Name: "old splice", AtM: 20, Accessible: &no}},
		[]vehicle.Tube{{Name: "port float"}, {Name: "starboard float"}, {Name: "camera tube"}})
}

// The spot is right and the readings are few. FAULTS=500 prints README's table.
func TestOperating(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	faults, long := 10, false
	if n, err := strconv.Atoi(os.Getenv("FAULTS")); err == nil {
		faults, long = n, true
	}
	r := invented(t)
	var table strings.Builder
	for _, tr := range trials {
		f := tr.try(t, r, faults)
		fmt.Fprintf(&table, "| %s | %d | %d (%d) | %d | %.0f |\n", tr.what, 100*f.right/faults, f.median(f.counts), f.nineInTen(), f.median(f.plans), f.minutes)
		least, more := 0.95, 1
		if !long { // so few scatter
			least, more = 0.8, 2
		}
		assert.GreaterOrEqual(t, float64(f.right)/float64(faults), least, tr.what)
		if tr.found {
			assert.LessOrEqual(t, f.median(f.counts), f.median(f.plans)+more, tr.what)
		}
	}
	if long {
		fmt.Print(table.String())
	}
}
