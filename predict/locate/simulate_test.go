package locate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
)

// bench is an invented vehicle's chain with a fault in one spot: what its
// instruments would read there.
type bench struct {
	s       *Search
	spot    int
	size    float64
	copper  float64 // factor on the copper's resistance
	touch   []float64
	copperC float64
	rand    *rand.Rand
}

// pond is an example vehicle before its first dive, with other joints and tubes.
func pond(t testing.TB, joints []vehicle.Joint, tubes []vehicle.Tube) *fit.Result {
	v, err := vehicle.Open("../../examples/joint")
	require.NoError(t, err)
	v.Joints, v.Tubes = joints, tubes
	r, err := fit.Fit(v, &session.Log{})
	require.NoError(t, err)
	return r
}

// finding is a report that has found one fault of a size.
func finding(r *fit.Result, name string, size, sd float64) *findings.Report {
	for _, c := range causes.Table(r.Model.Vehicle) {
		if c.Name == name {
			level := findings.Estimate{Value: size, Low: size - 2*sd, High: size + 2*sd}
			return &findings.Report{Trends: []findings.Trend{{Quantity: c.Quantity, Level: level, Cause: &c}},
				Findings: []findings.Finding{{Fault: name, Probability: 0.97, SinceDive: "9", Cause: &c}}}
		}
	}
	panic(name)
}

// newBench draws a spot of the chain by the search's own probabilities; with
// nothing wrong it is none of them.
func newBench(s *Search, size float64, rng *rand.Rand, nothing bool) *bench {
	b := &bench{s: s, size: size, rand: rng, copper: 1 + copperSD*rng.NormFloat64(), copperC: typicalC + typicalCSD*rng.NormFloat64()}
	for range s.spots {
		b.touch = append(b.touch, math.Exp(0.6*rng.NormFloat64()))
	}
	last := len(s.spots) - 1
	if nothing {
		b.spot = last
	}
	for x := rng.Float64() * (1 - s.spots[last].Probability); b.spot < last-1; b.spot++ {
		if x -= s.spots[b.spot].Probability; x < 0 {
			break
		}
	}
	return b
}

// read is what an instrument shows of a test, as a person writes it down; one
// in a hundred has its decimal point astray.
func (b *bench) read(t *Test) string {
	s, rng := b.s, b.rand
	ohm := 0.0
	for i := range s.spots {
		if t.covers[i] {
			ohm += s.spots[i].copper*b.copper*(1+vehicle.CopperPerK*(b.copperC-20)) + s.spots[i].contact*b.touch[i]
		}
	}
	hit := t.covers[b.spot]
	slip := 1.0
	if rng.Float64() < 0.01 {
		slip = 10
	}
	if hit {
		ohm += b.size
	}
	switch t.method {
	case &millivolts:
		amps := s.typical.amps * (1 + 0.05*rng.NormFloat64())
		return fmt.Sprintf("%.1f mV, %.2f A", slip*(1000*ohm*amps*(1+voltmeterShare*rng.NormFloat64())+tipsMV*rng.NormFloat64()), amps+s.v.Instruments.CurrentA*rng.NormFloat64())
	case &ohmmeter:
		return fmt.Sprintf("%.2f Ω, %.0f °C", slip*max(ohm+s.v.Instruments.LoopOhm*rng.NormFloat64(), 0), b.copperC+rng.NormFloat64())
	case &oneThruster:
		excess := 0.0
		if hit {
			excess = b.size
		}
		return fmt.Sprintf("%.1f A", slip*s.amps(excess)*(1+0.02*rng.NormFloat64())+s.v.Instruments.CurrentA*rng.NormFloat64())
	case &insulation:
		ln := s.leakLn + 0.7*rng.NormFloat64()
		if hit {
			ln = s.leakLn + b.size + 0.5*rng.NormFloat64()
		}
		return fmt.Sprintf("%.3g MΩ", math.Exp(ln))
	case &murray:
		ratio, _ := s.loopRatio(b.spot)
		return fmt.Sprintf("%.3f", min(max(ratio+ratioSD*rng.NormFloat64(), 0), 1))
	case &hold:
		fell, from, warm := 0.0, 18.0, 18+rng.NormFloat64()
		if hit {
			fell = b.size
		}
		end := (airKPa-holdKPa+fell)*(273.15+warm)/(273.15+from) - airKPa
		return fmt.Sprintf("-20 to %.1f kPa, 10 min, %.1f to %.1f °C", end+gaugeKPa*rng.NormFloat64(), from, warm)
	}
	p := movedElse
	if hit {
		p = moved
	}
	if rng.Float64() < p {
		return "yes"
	}
	return "no"
}

// outcome is how a search went.
type outcome struct {
	readings int
	minutes  float64
	right    bool // the likeliest spot is the faulty one
	named    bool // it is among those that the search ended with
	spots    int
}

func (b *bench) run(t testing.TB) (out outcome) {
	for next := b.s.Next(); next != nil; next = b.s.Next() {
		require.NoError(t, b.s.Take(next.Name, b.read(next)), next.Name)
		out.readings++
		out.minutes += next.Minutes
		require.Less(t, out.readings, 40)
	}
	res := b.s.result()
	for _, name := range res.Spots {
		out.named = out.named || name == b.s.spots[b.spot].Name
	}
	out.right, out.spots = res.Spots[0] == b.s.spots[b.spot].Name, len(res.Spots)
	return out
}

// fewest is the least expected number of readings to a spot with instruments
// that never err: worked out backwards over all sets of spots that may be left.
type fewest struct {
	weight []float64
	masks  []uint32
	memo   map[uint32]int // best test of a set, −1: ended
	cost   map[uint32]float64
}

func newFewest(s *Search) *fewest {
	f := &fewest{memo: map[uint32]int{}, cost: map[uint32]float64{}}
	for i := range s.spots {
		f.weight = append(f.weight, s.spots[i].Probability)
	}
	for _, t := range s.tests {
		if len(t.Opens) > 0 {
			continue
		}
		m := uint32(0)
		for i, c := range t.covers {
			if c {
				m |= 1 << i
			}
		}
		f.masks = append(f.masks, m)
	}
	return f
}

func (f *fewest) mass(set uint32) (sum, top float64) {
	for i, w := range f.weight {
		if set>>i&1 == 1 {
			sum, top = sum+w, max(top, w)
		}
	}
	return sum, top
}

func (f *fewest) expected(set uint32) float64 {
	if c, ok := f.cost[set]; ok {
		return c
	}
	sum, top := f.mass(set)
	f.memo[set] = -1
	best := math.Inf(1)
	if top < found*sum {
		for i, m := range f.masks {
			in, out := set&m, set&^m
			if in == 0 || out == 0 {
				continue
			}
			a, _ := f.mass(in)
			if c := 1 + a/sum*f.expected(in) + (1-a/sum)*f.expected(out); c < best-1e-12 {
				best, f.memo[set] = c, i
			}
		}
	}
	if f.memo[set] < 0 {
		best = 0
	}
	f.cost[set] = best
	return best
}

// readings is how many that plan takes to a spot.
func (f *fewest) readings(spot int) int {
	set, n := uint32(1)<<len(f.weight)-1, 0
	for {
		f.expected(set)
		i := f.memo[set]
		if i < 0 {
			return n
		}
		n++
		if f.masks[i]>>spot&1 == 1 {
			set &= f.masks[i]
		} else {
			set &^= f.masks[i]
		}
	}
}
