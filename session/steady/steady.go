// Package steady cuts a record of samples into stretches in which nothing was
// switched, and says what each one's mean is worth. It believes that a change
// counts only when two neighbouring windows differ by more than noise explains
// and by more than matters; that the seconds after a change are no part of
// what follows; and that neighbouring samples repeat each other, so that a
// mean of a thousand may be worth no more than one of thirty.
package steady

import (
	"math"
	"slices"
)

// A Record is samples of some channels at common times.
type Record struct {
	Time     []float64 // s, never falling
	Breaks   []int     // samples before which the record was interrupted, rising
	Channels []Channel
}

// A Channel is one instrument's samples.
type Channel struct {
	X     []float64 // NaN: not read
	Least float64   // a smaller change is none, however sure it is
}

// Settings are how a record is cut; zeros mean those of Defaults.
type Settings struct {
	WindowS float64 // s, length of the two windows that are compared
	LeastS  float64 // s, of the shortest stretch that is kept
	SettleS float64 // s, left out after a change at the least
	Risk    float64 // that a record in which nothing changes is cut
}

// Defaults of Settings. That the seconds and the risk suit small thrusters on
// a long tether is common practice, no source.
var Defaults = Settings{WindowS: 2, LeastS: 5, SettleS: 1, Risk: 0.01}

// A Stretch is samples From up to but without To, in which nothing changed.
type Stretch struct {
	From, To int
	Means    []Mean // one a channel
}

// binsPerWindow is how finely a window is resolved, and fewestBins the least
// that a window may have where samples are slow.
const (
	binsPerWindow = 20
	fewestBins    = 8
)

// Cut finds the steady stretches of a record, in order. s gives the defaults
// where it is zero. It takes time linear in the samples.
func Cut(r *Record, s Settings) []Stretch {
	s = s.filled()
	var out []Stretch
	edges := slices.Concat([]int{0}, r.Breaks, []int{len(r.Time)})
	interval := Interval(r)
	for i := 1; i < len(edges); i++ {
		if from, to := edges[i-1], edges[i]; to > from {
			out = append(out, cutBlock(r, from, to, interval, s)...)
		}
	}
	return out
}

func (s Settings) filled() Settings {
	or := func(x *float64, otherwise float64) {
		if *x <= 0 {
			*x = otherwise
		}
	}
	or(&s.WindowS, Defaults.WindowS)
	or(&s.LeastS, Defaults.LeastS)
	or(&s.SettleS, Defaults.SettleS)
	or(&s.Risk, Defaults.Risk)
	return s
}

// Interval is the median time between samples, s; 0 for fewer than two.
func Interval(r *Record) float64 {
	if len(r.Time) < 2 {
		return 0
	}
	const most = 20001 // enough for a median
	step := max(1, len(r.Time)/most)
	gaps := make([]float64, 0, len(r.Time)/step+1)
	for i := step; i < len(r.Time); i += step {
		gaps = append(gaps, r.Time[i]-r.Time[i-1])
	}
	if len(gaps) == 0 {
		return r.Time[1] - r.Time[0]
	}
	return median(gaps)
}

// cutBlock cuts samples between two interruptions.
func cutBlock(r *Record, from, to int, interval float64, s Settings) []Stretch {
	b := newBlock(r, from, to, interval, s)
	cuts := b.cuts(s.Risk)
	var out []Stretch
	edges := slices.Concat([]int{0}, cuts, []int{b.n})
	for i := 1; i < len(edges); i++ {
		a, z := edges[i-1], edges[i]
		if i > 1 {
			a = b.settled(a, z, s.SettleS)
		}
		if i < len(edges)-1 {
			z -= b.blur()
		}
		if st, ok := b.stretch(r, a, z, s.LeastS); ok {
			out = append(out, st)
		}
	}
	return out
}

// stretch is bins a up to z as samples with their means, unless they are too
// short to keep.
func (b *block) stretch(r *Record, a, z int, least float64) (Stretch, bool) {
	if z <= a {
		return Stretch{}, false
	}
	st := Stretch{From: b.from + a*b.each, To: min(b.from+z*b.each, b.to)}
	if z == b.n {
		st.To = b.to
	}
	if r.Time[st.To-1]-r.Time[st.From]+b.interval < least*(1-1e-9) {
		return Stretch{}, false
	}
	for c := range r.Channels {
		st.Means = append(st.Means, meanOf(r.Time[st.From:st.To], r.Channels[c].X[st.From:st.To], r.Channels[c].Least))
	}
	return st, true
}

// median reorders x; NaN for none.
func median(x []float64) float64 {
	n := len(x)
	if n == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return (x[n/2-1] + x[n/2]) / 2
}
