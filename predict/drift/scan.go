package drift

import (
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// weights are log weights gathered: their sum, and the best single one. The zero
// weights have none.
type weights struct {
	sum     float64 // in units of the best
	bestLog float64
	best    hypothesis
}

func (w *weights) add(h hypothesis, log float64) {
	switch {
	case w.sum == 0:
		*w = weights{1, log, h}
	case log > w.bestLog:
		*w = weights{w.sum*math.Exp(w.bestLog-log) + 1, log, h}
	default:
		w.sum += math.Exp(log - w.bestLog)
	}
}

// total is the log of the sum, −Inf without any.
func (w *weights) total() float64 {
	if w.sum == 0 {
		return math.Inf(-1)
	}
	return w.bestLog + math.Log(w.sum)
}

// A weighed is one onset of one pattern of a cause.
type weighed struct {
	h   hypothesis
	log float64
}

// evidenceOf is what a cause has for it: that it has begun and stays, over when
// and how, and that it acted in one dive alone.
type evidenceOf struct {
	stays, once weights
	onsets      []weighed // of stays
}

// exact is how far back, in dives, every onset is weighed. Beyond, one in two
// is, beyond twice as far one in four: each speaks for those between.
const exact = 24

// spacing of the onsets of an age, a power of two.
func spacing(age int) int { return 1 << (bits.Len(uint(max(age, exact)/exact)) - 1) }

// earlier is the onset to weigh next before dive d, at first or later.
func (s *scanner) earlier(d, first int) int {
	by, from := spacing(s.n-d+1), s.a.r.Baseline
	return max(from+(d-1-from)/by*by, first)
}

// first is the first dive at which a cause may begin: after the baseline, or
// one dive after a service, whose own level needs a dive to be known.
func (a *analysis) first(cause int) int {
	if e := a.epoch[cause]; e > a.r.Baseline {
		return e + 1
	}
	return a.r.Baseline
}

// A scanner weighs causes that begin at every dive against a state that holds
// what explains the dives so far. One more amplitude borders the state's
// information by a column and a corner, so its evidence needs the covariance
// alone; column and corner of each onset follow from those of the next dive.
type scanner struct {
	a    *analysis
	hs   []hypothesis
	cols []column
	base *state
	n    int // newest dive

	by []float64 // work
}

func (a *analysis) scanner(hs []hypothesis, n int) (*scanner, bool) {
	base, cols, ok := a.solve(hs, n)
	if !ok {
		return nil, false
	}
	return &scanner{a: a, hs: hs, cols: cols, base: base, n: n, by: make([]float64, a.r.Places())}, true
}

// scan weighs every cause.
func (s *scanner) scan() []evidenceOf {
	out := make([]evidenceOf, len(s.a.causes))
	for c := range out {
		if s.has(c) {
			continue
		}
		if len(s.a.causes[c].Amplitudes) > 0 {
			s.amplitudes(&out[c], c)
		} else {
			s.regimes(&out[c], c)
		}
	}
	return out
}

// single says whether a dive is explained by itself already.
func (s *scanner) single(d int) bool {
	for _, h := range s.hs {
		if h.pattern == Once && h.onset == d {
			return true
		}
	}
	return false
}

// has says whether a cause explains something already, to stay.
func (s *scanner) has(cause int) bool {
	for _, h := range s.hs {
		if h.cause == cause && h.pattern != Once {
			return true
		}
	}
	return false
}

// A border is one amplitude's column of information beside a state, the
// covariance times it, and its linear term.
type border struct {
	v, cv []float64
	lin   float64
}

func newBorder(n int) border { return border{v: make([]float64, n), cv: make([]float64, n)} }

// plus adds another border, its covariance's part too where that is wanted.
func (b *border) plus(o *border, cv bool) {
	blas64.Axpy(1, vector(o.v), vector(b.v))
	if cv {
		blas64.Axpy(1, vector(o.cv), vector(b.cv))
	}
	b.lin += o.lin
}

// of sets b to the border of a unit amplitude of a column's direction in dive d
// alone, but for the covariance's part.
func (s *scanner) of(b *border, col *column, d int) {
	a := s.a
	info, lin := a.view(s.hs, d)
	col.apply(s.by, info, a.r.Places())
	static := a.r.Static()
	for i, p := range static {
		b.v[i] = s.by[p]
	}
	for c := range s.cols {
		b.v[len(static)+c] = s.cols[c].profile(d) * s.cols[c].dot(s.by)
	}
	b.lin = 0
	for _, t := range col.terms {
		b.lin += t.per * lin[t.at]
	}
}

// onsets is what a cause's steps, and the ramp of its only amplitude, have
// gathered from the newest dive back to an onset.
type onsets struct {
	cols         []column
	step, one    []border
	ramp         border
	steps        *mat.SymDense // corners of the steps
	single       *mat.SymDense // of the last dive taken in
	ramp1, ramp2 float64       // Σ t·i and Σ t²·i of the first amplitude, t from 1 at the onset
}

func newOnsets(cols []column, n int) *onsets {
	o := &onsets{cols: cols, step: make([]border, len(cols)), one: make([]border, len(cols)), ramp: newBorder(n),
		steps: mat.NewSymDense(len(cols), nil), single: mat.NewSymDense(len(cols), nil)}
	for j := range cols {
		o.step[j], o.one[j] = newBorder(n), newBorder(n)
	}
	return o
}

// take moves the onset to dive k, the one before. alone says whether the dive
// is a run by itself, of which the covariance's parts follow one by one.
func (s *scanner) take(o *onsets, k int, alone bool) {
	for j := range o.cols {
		s.of(&o.one[j], &o.cols[j], k)
		for i := range j + 1 { // s.by is the direction j in dive k
			x := o.cols[i].dot(s.by)
			o.single.SetSym(i, j, x)
			o.steps.SetSym(i, j, o.steps.At(i, j)+x)
		}
		if alone {
			s.base.times(o.one[j].cv, o.one[j].v)
		}
		o.step[j].plus(&o.one[j], alone)
	}
	all := o.steps.At(0, 0)
	o.ramp2 += 2*o.ramp1 + all
	o.ramp1 += all
	o.ramp.plus(&o.step[0], alone)
}

// amplitudes weighs a cause with amplitudes from the newest onset to the
// oldest.
func (s *scanner) amplitudes(out *evidenceOf, cause int) {
	c := &s.a.causes[cause]
	o := newOnsets(s.a.ofCause(hypothesis{cause: cause, pattern: Step}), s.base.n)
	first := s.a.first(cause)
	for end := s.n + 1; end > first; {
		d := s.earlier(end, first)
		alone := end-d == 1
		for k := end - 1; k >= d; k-- {
			s.take(o, k, alone)
		}
		if !alone {
			for j := range o.step {
				s.base.times(o.step[j].cv, o.step[j].v)
			}
			s.base.times(o.ramp.cv, o.ramp.v)
		}
		count := math.Log(float64(end - d))
		s.add(out, hypothesis{cause, Step, d}, math.Log(c.Step)+count+s.evidence(o.cols, o.step, o.steps))
		if c.Ramp > 0 && d < s.n {
			s.add(out, hypothesis{cause, Ramp, d}, math.Log(c.Ramp)+count+s.rampEvidence(o, c.Amplitudes[0].Ramp))
		}
		if c.Once > 0 && alone && !s.single(d) {
			s.add(out, hypothesis{cause, Once, d}, math.Log(c.Once)+s.evidence(o.cols, o.one, o.single))
		}
		end = d
	}
}

func (s *scanner) add(out *evidenceOf, h hypothesis, log float64) {
	if h.pattern == Once {
		out.once.add(h, log)
		return
	}
	out.stays.add(h, log)
	out.onsets = append(out.onsets, weighed{h, log})
}

// evidence is the base's with amplitudes of some columns integrated out.
func (s *scanner) evidence(cols []column, at []border, corner *mat.SymDense) float64 {
	if len(cols) == 1 {
		return s.one(&at[0], corner.At(0, 0), cols[0].sd, s.a.causes[cols[0].cause].Worse)
	}
	m := len(cols)
	left, lin := mat.NewSymDense(m, nil), mat.NewVecDense(m, nil)
	log := s.base.log
	for i := range cols {
		for j := i; j < m; j++ {
			left.SetSym(i, j, corner.At(i, j)-blas64.Dot(vector(at[i].v), vector(at[j].cv)))
		}
		left.SetSym(i, i, left.At(i, i)+1/sq(cols[i].sd))
		lin.SetVec(i, at[i].lin-blas64.Dot(vector(at[i].v), vector(s.base.lin)))
		log -= math.Log(cols[i].sd)
	}
	var c mat.Cholesky
	if !c.Factorize(left) {
		return math.Inf(-1)
	}
	var x mat.VecDense
	if c.SolveVecTo(&x, lin) != nil {
		return math.Inf(-1)
	}
	return log + 0.5*mat.Dot(lin, &x) - 0.5*c.LogDet()
}

func (s *scanner) rampEvidence(o *onsets, sd float64) float64 {
	return s.one(&o.ramp, o.ramp2, sd, s.a.causes[o.cols[0].cause].Worse)
}

// one is the base's evidence with one more amplitude, of prior deviation sd,
// integrated out: of one sign only where one is worse.
func (s *scanner) one(b *border, corner, sd, worse float64) float64 {
	left := corner + 1/(sd*sd) - blas64.Dot(vector(b.v), vector(b.cv))
	if !(left > 0) { // rounding
		return math.Inf(-1)
	}
	root := math.Sqrt(left)
	z := (b.lin - blas64.Dot(vector(b.v), vector(s.base.lin))) / root
	log := s.base.log + 0.5*z*z - math.Log(sd*root)
	if worse != 0 {
		log += math.Log(oneWay(worse * z))
	}
	return log
}

// regimes weighs a cause without amplitudes since each dive that suggests it, or
// in one of them alone: a jam while all dives since suggest it, a contact that
// comes and goes though some are quiet. The dives are read otherwise then, so
// each takes a state of its own.
func (s *scanner) regimes(out *evidenceOf, cause int) {
	c := &s.a.causes[cause]
	if s.regimeTaken() {
		return
	}
	pattern := Step
	if c.Within {
		pattern = Intermittent
	}
	weigh := func(h hypothesis, prior float64) {
		if prior == 0 {
			return
		}
		if with, _, ok := s.a.solve(append(slices.Clip(s.hs), h), s.n); ok {
			s.add(out, h, math.Log(prior)+with.log)
		}
	}
	unbroken := true
	for d := s.n; d >= s.a.first(cause) && s.n-d < farBack; d-- {
		if !s.a.otherwiseRead(d, cause) {
			unbroken = false
			continue
		}
		if unbroken || c.Within {
			weigh(hypothesis{cause, pattern, d}, c.Step)
		}
		if s.n-d < exact {
			weigh(hypothesis{cause, Once, d}, c.Once)
		}
	}
}

// farBack is how many dives back a cause without amplitudes is looked for: by
// then it has been mended or given up.
const farBack = 100

// regimeTaken says whether dives are read under a regime already: no two at once.
func (s *scanner) regimeTaken() bool {
	for _, h := range s.hs {
		if len(s.a.causes[h.cause].Amplitudes) == 0 {
			return true
		}
	}
	return false
}

func sq(x float64) float64 { return x * x }
