package locate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// exact reads the fault's size, 1, where a test covers the spot, with hardly any
// error.
var exact = method{name: "exact", minutes: 1, slip: 1e3, where: between,
	model: func(_ *Search, t *Test, _ *circumstances, h *hypothesis) (float64, float64, []float64) {
		if t.covers[h.spot] {
			return 1, 1e-6, nil
		}
		return 0, 1e-6, nil
	}}

// row is a chain of parts in one leg with the weights given, read by m along
// every stretch; the last weight is that of none of them.
func row(m *method, weights ...float64) *Search {
	s := &Search{}
	total := 0.0
	for range weights[1:] {
		s.parts = append(s.parts, part{kind: &splice, name: string(rune('a' + len(s.parts))), legs: []string{""}, reached: true})
	}
	for i := range s.parts {
		s.spots = append(s.spots, Spot{Name: s.parts[i].name, Part: s.parts[i].name, part: &s.parts[i]})
		total += weights[i]
	}
	total += weights[len(weights)-1]
	s.spots = append(s.spots, Spot{Name: "none of these"})
	for i, w := range weights {
		s.hyps = append(s.hyps, s.hypothesis(i, w/total, size{}))
	}
	s.sumUp()
	s.stretches(func(i, j int) { s.add(m, "", i, j) })
	for _, t := range s.tests {
		t.Minutes = 1
	}
	return s
}

// again is a search as it stands, to be gone on with in two ways.
func (s *Search) again() *Search {
	c := *s
	c.hyps = append([]hypothesis(nil), s.hyps...)
	c.spots = append([]Spot(nil), s.spots...)
	c.taken = append([]Taken(nil), s.taken...)
	return &c
}

// after is the search once a test has answered; its probability comes with it.
func (s *Search) after(t *Test, y float64) (*Search, float64) {
	p := 0.0
	for i, o := range s.predictions(t, &s.typical) {
		if t.method.yesNo {
			p += s.hyps[i].weight * t.method.likelihood(o, y)
		} else if math.Abs(o.mean-y) < 0.5 {
			p += s.hyps[i].weight
		}
	}
	c := s.again()
	if p > 0 {
		c.learn(t, &c.typical, y)
		c.taken = append(c.taken, Taken{Test: t.Name})
	}
	return c, p
}

// In a cascade of n parts alike of which one has failed, a reading after the
// k-th leaves k/n·log2(k) + (1−k/n)·log2(n−k) bits, and the best is the middle:
// de Kleer and Williams (1987), the expected entropy of a probe where failures
// are single and equally likely; the half-split rule.
func TestHalfSplit(t *testing.T) {
	const n = 8
	w := make([]float64, n+1)
	for i := range n {
		w[i] = 1
	}
	s := row(&exact, w...)
	assert.InDelta(t, 3, s.entropy(), 1e-9)
	for _, x := range s.tests {
		if x.from == 0 && x.to < n {
			k := float64(x.to)
			assert.InDelta(t, k/n*math.Log2(k)+(1-k/n)*math.Log2(n-k), s.expectedEntropy(x), 1e-6, x.Name)
		}
	}
	next := s.Next()
	assert.Equal(t, 4, next.to-next.from)
}

// Ten lamps in series of which one has failed, found by a voltmeter: never more
// than four readings, the first along five of them (an exercise of measurement
// theory, its entropies recomputed: log2(10) = 3.32 bits).
func TestTenLamps(t *testing.T) {
	w := make([]float64, 11)
	for i := range 10 {
		w[i] = 1
	}
	s := row(&exact, w...)
	assert.Equal(t, 5, s.Next().to-s.Next().from)
	sum := 0
	for spot := range 10 {
		c, n := s.again(), 0
		for next := c.Next(); next != nil; next = c.Next() {
			y := 0.0
			if next.covers[spot] {
				y = 1
			}
			c, _ = c.after(next, y)
			n++
		}
		assert.Equal(t, c.Spots()[0].Name, s.spots[spot].Name)
		assert.LessOrEqual(t, n, 4)
		sum += n
	}
	assert.Equal(t, 34, sum, "3.4 on average, as the best plan needs")
}

// With instruments that do not err, the readings on average are those of the
// best plan of all, found backwards over all sets of spots, or hardly more.
func TestReadingsAgainstEveryPlan(t *testing.T) {
	ratios, drawn := 0.0, 0.0
	rapid.Check(t, func(rt *rapid.T) {
		w := rapid.SliceOfN(rapid.Float64Range(0.1, 5), 3, 8).Draw(rt, "weights")
		s := row(&exact, w...)
		plan := newFewest(s)
		best := plan.expected(1<<len(w) - 1)
		mean := expectedReadings(s)
		require.GreaterOrEqual(rt, mean, best-1e-6)
		require.LessOrEqual(rt, mean, best+1)
		ratios, drawn = ratios+mean/max(best, 1), drawn+1
	})
	assert.Less(t, ratios/drawn, 1.08, "eight in a hundred more readings at most")
}

// expectedReadings is how many readings a search takes on average.
func expectedReadings(s *Search) float64 {
	next := s.Next()
	if next == nil {
		return 0
	}
	sum := 1.0
	for _, y := range []float64{0, 1} {
		if c, p := s.after(next, y); p > 1e-9 {
			sum += p * expectedReadings(c)
		}
	}
	return sum
}

// With answers that err, four readings chosen one by one leave hardly more
// entropy on average than the best of all plans of four.
func TestChoiceAgainstEveryPlan(t *testing.T) {
	for _, w := range [][]float64{{1, 1, 1, 0.1}, {4, 2, 1, 0.2}, {1, 1, 1, 1, 0.1}, {5, 1, 1, 1, 0.5}} {
		s := row(&wiggle, w...)
		best, chosen := bestPlan(s, 4), chosenPlan(s, 4)
		assert.GreaterOrEqual(t, chosen, best-1e-9)
		assert.Less(t, chosen, best+0.06, "%v: %.3f bits left at best, %.3f", w, best, chosen)
	}
}

// bestPlan is the least expected entropy after a number of readings.
func bestPlan(s *Search, readings int) float64 {
	best := s.entropy()
	if readings == 0 {
		return best
	}
	for _, t := range s.tests {
		best = min(best, leftBy(s, t, readings, bestPlan))
	}
	return best
}

// chosenPlan is what the search's own choices leave, its end not heeded.
func chosenPlan(s *Search, readings int) float64 {
	if readings == 0 {
		return s.entropy()
	}
	var next *Test
	least := math.Inf(1)
	for _, t := range s.tests {
		if x := s.expectedEntropy(t); x < least-1e-12 {
			next, least = t, x
		}
	}
	return leftBy(s, next, readings, chosenPlan)
}

func leftBy(s *Search, t *Test, readings int, then func(*Search, int) float64) float64 {
	sum := 0.0
	for _, y := range []float64{0, 1} {
		if c, p := s.after(t, y); p > 0 {
			sum += p * then(c, readings-1)
		}
	}
	return sum
}
