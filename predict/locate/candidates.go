package locate

import (
	"cmp"
	"fmt"
	"slices"
)

// A Test is one reading that could be made.
type Test struct {
	Name     string // as it is typed
	Minutes  float64
	Opens    []string // parts that have to be opened for it
	leg      string
	from, to int // points of the chain
	method   *method
	covers   []bool // by spot: a fault there changes the reading
}

// Effort besides a method's own, minutes: common practice, no source.
const (
	openMinutes = 90  // to open a part that is sealed, and to seal it again
	moveMinutes = 0.5 // to move one part more
	farMinutes  = 3   // to bring both tips to points that lie farM or more apart
	farM        = 3
)

func (s *Search) loopTests() {
	s.alongLegs()
	for j := 2; j <= len(s.parts); j++ {
		s.add(&ohmmeter, "", 1, j, 1, j)
	}
}

func (s *Search) branchTests() {
	s.alongLegs()
	s.add(&oneThruster, "", 0, len(s.parts))
}

func (s *Search) alongLegs() {
	s.stretches(func(i, j int) {
		s.add(&millivolts, plus, i, j, i, j)
		s.add(&millivolts, minus, i, j, i, j)
	})
}

func (s *Search) movingTests() { s.stretches(func(i, j int) { s.add(&wiggle, "", i, j) }) }

func (s *Search) leakTests() {
	end := len(s.parts)
	s.stretches(func(i, j int) {
		s.add(&insulation, "", i, j)
		s.add(&insulation, plus, i, j, end)
		s.add(&insulation, minus, i, j, end)
	})
	s.add(&murray, "", 0, end, end)
}

func (s *Search) holdTests() {
	for i := range s.parts {
		s.add(&hold, "", i, i+1)
	}
}

// stretches calls f with every pair of points, the nearer to the battery first.
func (s *Search) stretches(f func(i, j int)) {
	for i := range s.parts {
		for j := i + 1; j <= len(s.parts); j++ {
			f(i, j)
		}
	}
}

// add adds a test if its instruments are at hand. Of tests by one method that cover the same spots
// it keeps the one of least effort, then of fewest parts. points are those of the chain where the
// test touches conductors.
func (s *Search) add(m *method, leg string, from, to int, points ...int) {
	t := &Test{method: m, leg: leg, from: from, to: to, Minutes: m.minutes, covers: make([]bool, len(s.spots))}
	for i := range s.spots[:len(s.spots)-1] {
		sp := &s.spots[i]
		for k := from; k < to; k++ {
			t.covers[i] = t.covers[i] || sp.part == &s.parts[k] && (leg == "" || sp.Leg == leg)
		}
	}
	for _, p := range points {
		if name := s.closed(p); name != "" && !slices.Contains(t.Opens, name) {
			t.Opens = append(t.Opens, name)
			t.Minutes += openMinutes
		}
	}
	switch {
	case m == &wiggle:
		t.Minutes += moveMinutes * float64(to-from-1)
	case m == &millivolts && s.parts[to-1].to-s.parts[from].from >= farM:
		t.Minutes += farMinutes
	}
	t.Name = m.name + m.where(s, t)
	missing := func(n string) bool { return slices.Contains(s.without, n) }
	same := slices.IndexFunc(s.tests, func(o *Test) bool { return o.method == m && slices.Equal(o.covers, t.covers) })
	switch {
	case slices.ContainsFunc(m.needs, missing) || !slices.Contains(t.covers, true):
	case same < 0:
		s.tests = append(s.tests, t)
	case cmp.Or(cmp.Compare(t.Minutes, s.tests[same].Minutes), to-from-s.tests[same].to+s.tests[same].from) < 0:
		s.tests[same] = t
	}
}

// between words the two points between which a test is made.
func between(s *Search, t *Test) string {
	leg := ""
	if t.leg != "" {
		leg = " " + t.leg
	}
	return fmt.Sprintf("%s %s .. %s", leg, s.pointName(t.from), s.pointName(t.to))
}

// stretch words the parts that a test is made on.
func stretch(s *Search, t *Test) string {
	first, last := s.parts[t.from].name, s.parts[t.to-1].name
	if first == last {
		return " " + first
	}
	return " " + first + " to " + last
}
