package drift

import (
	"math"
	"math/bits"
	"slices"

	"sagline/predict/fit"
)

// found is the evidence for one fault, summed over when and how it began, and
// its best single explanation. The zero found has none.
type found struct {
	sum     float64 // in units of the best
	bestLog float64
	best    hypothesis
}

func (f *found) add(h hypothesis, log float64) {
	switch {
	case f.sum == 0:
		*f = found{1, log, h}
	case log > f.bestLog:
		*f = found{f.sum*math.Exp(f.bestLog-log) + 1, log, h}
	default:
		f.sum += math.Exp(log - f.bestLog)
	}
}

// total is the log of all the evidence.
func (f *found) total() float64 { return f.bestLog + math.Log(f.sum) }

// exact is how far back, in dives, every onset is weighed. Beyond, one in two
// is, beyond twice as far one in four: each speaks for those between, and the
// age of an onset is told to some three per cent; beyond old to some ten, but
// for the best, which is refined.
const (
	exact = 64
	old   = 256
)

// earlier is the onset to weigh next before dive d, at first or later.
func (s *scanner) earlier(d, first int) int {
	by, from := spacing(s.n-d+1), s.a.r.Baseline
	return max(from+(d-1-from)/by*by, first)
}

// spacing of the onsets of an age, a power of two.
func spacing(age int) int {
	step := exact / 2
	if age >= old {
		step /= 4
	}
	return 1 << (bits.Len(uint(max(age, step)/step)) - 1)
}

// scan weighs every fault that is not yet believed, beginning at every dive,
// against what is believed already (base). One more amplitude a borders base's
// information B by a column c and a corner s, so its evidence needs B⁻¹ alone;
// column and corner of each onset follow from those of the next dive.
func (s *scanner) scan(st state) []found {
	out := make([]found, len(s.a.faults))
	for f := range s.a.faults {
		switch {
		case st.has(f):
		case s.a.faults[f].param == within:
			s.within(&out[f], f)
		default:
			s.fault(&out[f], f)
		}
	}
	return out
}

// first is the first dive at which a fault may begin: after the baseline, or
// one dive after a service, whose own level needs a dive to be known.
func (a *analysis) first(f int) int {
	if e := a.epoch[f]; e > a.r.Baseline {
		return e + 1
	}
	return a.r.Baseline
}

// scanner is what the onsets of one scan share.
type scanner struct {
	a    *analysis
	base *posterior
	n    int // newest dive
	cols []column
	walk walk
	at   border
}

func (a *analysis) scanner(st state, base *posterior, n int) *scanner {
	cols := a.columns(st.active, n)
	dim := len(base.mean)
	return &scanner{a: a, base: base, n: n, cols: cols, walk: a.walk(st.active, cols),
		at: border{step: make([]float64, dim), ramp: make([]float64, dim)}}
}

// border is the column and corner of a step and of a ramp that begin at one
// dive, of one parameter.
type border struct {
	step, ramp                                    []float64
	stepInfo, stepLin, rampInfo, rampLin, rampSum float64
}

func (b *border) clear() {
	clear(b.step)
	clear(b.ramp)
	*b = border{step: b.step, ramp: b.ramp}
}

// take moves the onset to the beginning of the run before it: the steps stay,
// the ramps rise by the run's length.
func (b *border) take(run *sums, begin int, place int, worse float64, cols []column) {
	long := float64(run.dives)
	one, first, second := run.row(0, place), run.row(1, place), run.at(2, place, place)
	for i, x := range one {
		b.ramp[i] += long*b.step[i] + worse*x
		b.step[i] += worse * x
	}
	for i, x := range first {
		b.ramp[i] += worse * x
	}
	for c := range cols {
		col, i := &cols[c], len(one)+c
		x, slope := col.share(begin)
		m0, m1, m2 := one[col.place], run.at(1, place, col.place), run.at(2, place, col.place)
		sum, rise := worse*col.sign*(x*m0+slope*m1), worse*col.sign*(x*m1+slope*m2)
		b.ramp[i] += long*b.step[i] + sum + rise
		b.step[i] += sum
	}
	m0, m1 := one[place], run.at(1, place, place)
	b.rampInfo += long*(2*b.rampSum+long*b.stepInfo) + m0 + 2*m1 + second
	b.rampSum += long*b.stepInfo + m0 + m1
	b.stepInfo += m0
	b.rampLin += long*b.stepLin + worse*(run.linAt(0, place)+run.linAt(1, place))
	b.stepLin += worse * run.linAt(0, place)
}

// reach takes in the dives from onset up to end.
func (s *scanner) reach(f, end, onset int) {
	for end > onset {
		run, begin := s.walk.before(end, onset)
		s.at.take(run, begin, s.a.place[f], s.a.faults[f].worse, s.cols)
		end = begin
	}
}

// fault weighs fault f from the newest onset to the oldest.
func (s *scanner) fault(out *found, f int) {
	s.at.clear()
	first := s.a.first(f)
	for end := s.n + 1; end > first; {
		d := s.earlier(end, first)
		s.reach(f, end, d)
		prior := share(end - d)
		out.add(hypothesis{f, Step, d}, prior+s.weigh(f, Step))
		if d < s.n {
			out.add(hypothesis{f, Ramp, d}, prior+s.weigh(f, Ramp))
		}
		end = d
	}
}

// share is the log of the prior probability of so many onsets, of one pattern.
func share(onsets int) float64 {
	if onsets == 1 {
		return logHalfHazard
	}
	return logHalfHazard + math.Log(float64(onsets))
}

var logHalfHazard = math.Log(hazard / 2)

// weigh is the log evidence for fault f of a pattern that begins where the
// border stands.
func (s *scanner) weigh(f int, pattern string) float64 {
	fl, b := &s.a.faults[f], &s.at
	if pattern == Ramp {
		return s.evidence(b.ramp, b.rampInfo, b.rampLin, fl.ramp)
	}
	return s.evidence(b.step, b.stepInfo, b.stepLin, fl.step)
}

// refine moves the best onset to the best of those near it that were passed
// over.
func (s *scanner) refine(out *found) {
	h := out.best
	by := spacing(s.n-h.onset) / 2
	if h.pattern == Intermittent || by == 0 {
		return
	}
	weigh := func(onset int) float64 {
		s.at.clear()
		s.reach(h.fault, s.n+1, onset)
		return logHalfHazard + s.weigh(h.fault, h.pattern)
	}
	best := weigh(h.onset)
	for by > 0 {
		moved := false
		for _, d := range []int{h.onset - by, h.onset + by} {
			if d < s.a.first(h.fault) || d >= s.n {
				continue
			}
			if log := weigh(d); log > best {
				h.onset, best, moved = d, log, true
			}
		}
		if !moved {
			by /= 2
		}
	}
	if best > out.bestLog {
		out.add(h, best)
	}
	out.best = h // found to be best, though it does not speak for others
}

// evidence is base's with one more amplitude, of prior deviation sd and one
// sign only, integrated out.
func (s *scanner) evidence(c []float64, info, lin, sd float64) float64 {
	raw := s.base.cov.RawSymmetric()
	var quadratic float64
	for i, ci := range c {
		row := raw.Data[i*raw.Stride : i*raw.Stride+len(c)]
		x := row[i] * ci / 2
		for j := i + 1; j < len(c); j++ {
			x += row[j] * c[j]
		}
		quadratic += 2 * ci * x
		lin -= ci * s.base.mean[i]
	}
	p := info + 1/(sd*sd) - quadratic
	root := math.Sqrt(p)
	z := lin / root
	return s.base.log + 0.5*z*z + math.Log(oneWay(z)/(sd*root))
}

// within weighs a contact that comes and goes since each dive, averaged over
// the sizes tried.
func (s *scanner) within(out *found, f int) {
	var sums [len(fit.WithinSizes)]float64
	first := s.a.first(f)
	for end := s.n + 1; end > first; {
		d := s.earlier(end, first)
		for at := end; at > d; {
			run, begin := s.a.firm.before(at, d)
			for i, x := range run.within {
				sums[i] += x
			}
			at = begin
		}
		out.add(hypothesis{f, Intermittent, d}, s.base.log+slices.Max(sums[:])-math.Log(float64(len(sums)))+math.Ln2+share(end-d))
		end = d
	}
}

// withinFloor bounds what one quiet dive says against a contact that comes and
// goes: it may not have come.
const withinFloor = -2
