package locate

import (
	"fmt"
	"slices"
)

// A Test is one reading that could be made.
type Test struct {
	Name     string // as it is typed
	Minutes  float64
	Opens    []string // parts that have to be opened for it
	Leg      string
	From, To int // points of the chain
	method   *method
	covers   []bool // by spot: a fault there changes the reading
}

// Effort beside a method's own, minutes: common practice, no source.
const (
	openMinutes = 90 // to open a part that is sealed, and to seal it again
	farMinutes  = 3  // to bring both tips to points that lie farM or more apart
	farM        = 3
	moveMinutes = 0.5 // to move one more part
)

// allTests are the tests of the search's fault that its instruments allow; of
// those that read the same spots the same way, the one with least effort.
func (s *Search) allTests() []*Test {
	var out []*Test
	for _, t := range s.candidates() {
		if slices.ContainsFunc(t.method.needs, func(n string) bool { return slices.Contains(s.without, n) }) || !slices.Contains(t.covers, true) {
			continue
		}
		same := func(o *Test) bool { return o.method == t.method && slices.Equal(o.covers, t.covers) }
		switch i := slices.IndexFunc(out, same); {
		case i < 0:
			out = append(out, t)
		case t.Minutes < out[i].Minutes:
			out[i] = t
		}
	}
	return out
}

func (s *Search) candidates() (out []*Test) {
	n := len(s.parts)
	add := func(m *method, leg string, from, to int, points ...int) {
		out = append(out, s.test(m, leg, from, to, points))
	}
	each := func(f func(i, j int)) {
		for i := range n {
			for j := i + 1; j <= n; j++ {
				f(i, j)
			}
		}
	}
	switch s.Fault {
	case "intermittent_contact":
		each(func(i, j int) { add(&wiggle, "", i, j) })
	case "ingress":
		for i := range n {
			add(&hold, "", i, i+1)
		}
	case "insulation":
		each(func(i, j int) {
			add(&insulation, "", i, j)
			add(&insulation, plus, i, j, n)
			add(&insulation, minus, i, j, n)
		})
		add(&murray, "", 0, n, n)
	default:
		each(func(i, j int) {
			add(&millivolts, plus, i, j, i, j)
			add(&millivolts, minus, i, j, i, j)
		})
		for j := 2; j <= n && s.alone == ""; j++ {
			add(&ohmmeter, "", 1, j, 1, j)
		}
		if s.alone != "" {
			add(&oneThruster, "", 0, n)
		}
	}
	return out
}

// test is one test; points are where it touches conductors.
func (s *Search) test(m *method, leg string, from, to int, points []int) *Test {
	t := &Test{method: m, Leg: leg, From: from, To: to, Minutes: m.minutes, covers: make([]bool, len(s.spots))}
	for i := range s.spots {
		sp := &s.spots[i]
		t.covers[i] = sp.at >= from && sp.at < to && (leg == "" || sp.Leg == leg)
	}
	for _, p := range points {
		if name := s.closed(p); name != "" && !slices.Contains(t.Opens, name) {
			t.Opens = append(t.Opens, name)
		}
	}
	t.Minutes += openMinutes * float64(len(t.Opens))
	if m == &wiggle {
		t.Minutes += moveMinutes * float64(to-from-1)
	}
	if m == &millivolts && s.parts[to-1].to-s.parts[from].from >= farM {
		t.Minutes += farMinutes
	}
	t.Name = s.testName(t)
	return t
}

func (s *Search) testName(t *Test) string {
	switch t.method {
	case &murray:
		return t.method.name
	case &oneThruster:
		return t.method.name + " " + s.alone
	case &wiggle, &hold:
		return t.method.name + " " + s.stretch(t)
	case &ohmmeter:
		return fmt.Sprintf("%s shorted %s", t.method.name, s.pointName(t.To))
	}
	name := t.method.name
	if t.Leg != "" {
		name += " " + t.Leg
	}
	return fmt.Sprintf("%s %s .. %s", name, s.pointName(t.From), s.pointName(t.To))
}

// stretch is the parts of a test by name.
func (s *Search) stretch(t *Test) string {
	first, last := s.parts[t.From].name, s.parts[t.To-1].name
	if first == last {
		return first
	}
	return first + " to " + last
}
