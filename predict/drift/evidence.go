package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/causes"
	"sagline/predict/findings"
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
	case math.IsInf(log, -1), w.sum > 0 && log < w.bestLog-lost:
	case w.sum == 0:
		*w = weights{1, log, h}
	case log > w.bestLog:
		*w = weights{w.sum*math.Exp(w.bestLog-log) + 1, log, h}
	default:
		w.sum += math.Exp(log - w.bestLog)
	}
}

// lost is how far a log weight lies below the best one's where its part is lost in rounding: 2⁻⁵⁷.
const lost = 40.0

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
// and how, that it acted in one dive alone, by dive, and that it looks so in all dives since the first.
type evidenceOf struct {
	stays, always weights
	onsets, once  []weighed
}

// bySize is a log evidence for each of causes.Sizes.
type bySize [len(causes.Sizes)]float64

// add adds a hypothesis in each size that its cause may have, by its prior but for that of the size.
func (s *scanner) add(out *evidenceOf, h hypothesis, prior float64, evidence bySize) {
	for size, log := range evidence {
		if s.a.causes[h.cause].MaySize(size, h.way) {
			h.size = size
			out.add(h, prior+logSize[size]+log)
		}
	}
}

// logSize is the log of the sizes' priors.
var logSize = func() (out bySize) {
	for i, size := range causes.Sizes {
		out[i] = math.Log(size.P)
	}
	return out
}()

// doubt takes from each onset the share that it looks so in all dives alike, and returns the log of what it took: of
// that nothing has changed.
func (e *evidenceOf) doubt() (taken float64) {
	if e.always.sum == 0 {
		return math.Inf(-1)
	}
	e.stays = weights{}
	var all weights
	always := e.always.total()
	for i := range e.onsets {
		o := &e.onsets[i]
		share := logAdd(0, always-o.log)
		all.add(hypothesis{}, always-share)
		o.log -= share
		e.stays.add(o.h, o.log)
	}
	return all.total()
}

func (e *evidenceOf) add(h hypothesis, log float64) {
	if h.pattern == findings.Once {
		e.once = append(e.once, weighed{h, log})
		return
	}
	e.stays.add(h, log)
	e.onsets = append(e.onsets, weighed{h, log})
}

// evidence is the base's with amplitudes of some columns integrated out.
func (s *scanner) evidence(cols []column, at []crossTerms, corner *mat.SymDense) (out bySize) {
	if len(cols) == 1 {
		return s.one(&at[0], corner.At(0, 0), cols[0].sd, s.a.bounds(&cols[0]))
	}
	for size := range out {
		out[size] = s.several(cols, at, corner, causes.Sizes[size].Times)
	}
	return out
}

// several is the base's evidence with amplitudes of some columns integrated out,
// whose prior deviations are so many times the columns'.
func (s *scanner) several(cols []column, at []crossTerms, corner *mat.SymDense, times float64) float64 {
	left := &s.left
	left.reset(len(cols), s.base.log)
	for i := range cols {
		for j := i; j < left.n; j++ {
			left.info[i*left.n+j] = corner.At(i, j) - blas64.Dot(vector(at[i].white), vector(at[j].white))
		}
		sd := times * cols[i].sd
		left.info[i*left.n+i] += 1 / sq(sd)
		left.lin[i] = at[i].lin
		left.log -= math.Log(sd)
	}
	if !left.solve() {
		return math.Inf(-1)
	}
	return left.log
}

func (s *scanner) rampEvidence(o *onsets, onset int, sd float64) bySize {
	c := o.cols[0]
	c.pattern, c.onset = findings.Ramp, onset
	return s.one(&o.ramp, o.ramp2, sd, s.a.bounds(&c))
}

// one is the base's evidence with one more amplitude, of usual size sd,
// integrated out, within its bounds.
func (s *scanner) one(b *crossTerms, corner, sd float64, in bounds) (out bySize) {
	info := corner - blas64.Dot(vector(b.white), vector(b.white))
	for size := range out {
		out[size] = s.base.log + marginal(info, b.lin, sd*causes.Sizes[size].Times, in)
	}
	return out
}

// marginal is the log of what the data say of an amplitude of information info and
// linear term lin, of normal prior of deviation sd, integrated out within its bounds.
func marginal(info, lin, sd float64, in bounds) float64 {
	all := info + 1/(sd*sd)
	if !(all > 0) { // rounding
		return math.Inf(-1)
	}
	root := math.Sqrt(all)
	z := lin / root
	return 0.5*z*z + in.log(lin/all, 1/root, sd*root)
}

// crossTerms are one amplitude's column of information beside the base, whitened, and its linear term, the base's mean taken off.
type crossTerms struct {
	white []float64
	lin   float64
}

func newCrossTerms(n int) crossTerms { return crossTerms{white: make([]float64, n)} }

// plus adds f times those of another amplitude.
func (b *crossTerms) plus(f float64, o *crossTerms) {
	add(b.white, f, o.white)
	b.lin += f * o.lin
}

// along adds those of a direction, given those of places.
func (b *crossTerms) along(places []crossTerms, terms []placed) {
	for _, t := range terms {
		b.plus(t.per, &places[t.at])
	}
}

// A blockCrossTerms is a block with the cross terms that a unit of each place has for it: one that steps, and one that ramps
// from its first dive on, of several dives alone.
type blockCrossTerms struct {
	*block
	step, ramp []crossTerms
	room       []float64
}

// fillCrossTerms sets o to those of a block, of the places that any cause reaches.
func (s *scanner) fillCrossTerms(o *blockCrossTerms, b *block) {
	n, rows := s.base.n, len(s.a.reached)
	if o.block = b; o.step == nil {
		o.step, o.ramp = make([]crossTerms, len(b.lin[0])), make([]crossTerms, len(b.lin[0]))
	}
	if b.dives > 1 {
		rows *= 2
	}
	o.room = slices.Grow(o.room[:0], rows*n)[:rows*n]
	s.work.profiles(b, s.cols)
	for i, at := range s.a.reached {
		col := column{terms: []placed{{at, 1}}}
		s.work.of(b, &col)
		o.step[at] = s.unit(o.room[i*n:(i+1)*n], b, &col, 0)
		if b.dives > 1 {
			i += len(s.a.reached)
			o.ramp[at] = s.unit(o.room[i*n:(i+1)*n], b, &col, 1)
		}
	}
	s.base.whiten(general(o.room, n))
	for _, at := range s.a.reached {
		o.step[at].lin -= blas64.Dot(vector(o.step[at].white), vector(s.base.white))
		if b.dives > 1 {
			o.ramp[at].lin -= blas64.Dot(vector(o.ramp[at].white), vector(s.base.white))
		}
	}
}

// unit are the cross terms, in row and before it is whitened, of a unit of a column, whose product with the block is in s.work, that grows
// by slope a dive.
func (s *scanner) unit(row []float64, b *block, col *column, slope float64) crossTerms {
	static := s.a.r.Space.Static
	s.work.under(b, 1, slope)
	for i, p := range static {
		row[i] = s.work.still[p]
	}
	for c := range s.cols {
		row[len(static)+c] = s.work.with(b, s.cols, c)
	}
	return crossTerms{row, b.linear(col, 1, slope)}
}

// onsets is what a cause's steps, and the ramp of its only amplitude, have
// gathered from the newest dive back to an onset.
type onsets struct {
	cols         []column
	ramps        bool
	step, one    []crossTerms
	ramp         crossTerms
	steps        *mat.SymDense // corners of the steps
	single       *mat.SymDense // of the last block taken in
	ramp1, ramp2 float64       // Σ t·i and Σ t²·i of the first amplitude, t from 1 at the onset
}

func newOnsets(cols []column, ramps bool, n int) *onsets {
	o := &onsets{cols: cols, ramps: ramps, step: make([]crossTerms, len(cols)), one: make([]crossTerms, len(cols)), ramp: newCrossTerms(n),
		steps: mat.NewSymDense(len(cols), nil), single: mat.NewSymDense(len(cols), nil)}
	for j := range cols {
		o.step[j], o.one[j] = newCrossTerms(n), newCrossTerms(n)
	}
	return o
}

// take moves the onset back over a block.
func (o *onsets) take(b *blockCrossTerms) {
	if o.ramps {
		by := float64(b.dives)
		o.ramp.plus(by, &o.step[0]) // later dives are further up the ramp
		o.ramp2 += by * (2*o.ramp1 + by*o.steps.At(0, 0))
		o.ramp1 += by * o.steps.At(0, 0)
	}
	for j := range o.cols {
		one := &o.one[j]
		clear(one.white)
		one.lin = 0
		one.along(b.step, o.cols[j].terms)
		for i := range j + 1 {
			x := b.form(0, &o.cols[i], &o.cols[j])
			o.single.SetSym(i, j, x)
			o.steps.SetSym(i, j, o.steps.At(i, j)+x)
		}
		o.step[j].plus(1, one)
	}
	if o.ramps {
		o.climb(b)
	}
}

// climb adds a block whose dives lie at 1, 2, … on the ramp.
func (o *onsets) climb(b *blockCrossTerms) {
	still := o.single.At(0, 0)
	o.ramp1 += still
	o.ramp2 += still
	if b.dives == 1 {
		o.ramp.plus(1, &o.one[0])
		return
	}
	first, second := b.form(1, &o.cols[0], &o.cols[0]), b.form(2, &o.cols[0], &o.cols[0])
	o.ramp1 += first
	o.ramp2 += 2*first + second
	o.ramp.along(b.ramp, o.cols[0].terms)
}
