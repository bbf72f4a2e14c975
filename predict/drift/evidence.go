package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// weights sums weights given by their logs, and keeps the best one. The zero value is empty.
type weights struct {
	sum     float64 // in units of exp(bestLog)
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

// lost is how far below the best one a log weight is lost in rounding: at 2⁻⁵⁷ of it.
const lost = 40.0

// total returns the log of the sum, −Inf if empty.
func (w *weights) total() float64 {
	if w.sum == 0 {
		return math.Inf(-1)
	}
	return w.bestLog + math.Log(w.sum)
}

// A weighed is one onset in one pattern of a cause, with its log weight.
type weighed struct {
	h   hypothesis
	log float64
}

// A probable is one onset of one pattern of a cause, with its probability.
type probable struct {
	h hypothesis
	p float64
}

// evidenceOf holds the log weights of one cause: that it has begun and stays, in total and by onset
// and pattern; that it acts alike in all dives (always); and that it acted in one dive alone, by
// dive.
type evidenceOf struct {
	stays, always weights
	onsets, once  []weighed
}

// bySize is a log evidence for each of causes.Sizes.
type bySize [len(causes.Sizes)]float64

// add adds a hypothesis in each size that its cause may have. prior is its log prior without that
// of the size.
func (s *scanner) add(out *evidenceOf, h hypothesis, prior float64, evidence bySize) {
	for size, log := range evidence {
		if s.a.causes[h.cause].MaySize(size, h.way) {
			h.size = size
			out.add(h, prior+logSize[size]+log)
		}
	}
}

// logSize is the log prior of each size.
var logSize = func() (out bySize) {
	for i, size := range causes.Sizes {
		out[i] = math.Log(size.P)
	}
	return out
}()

// doubt takes from each onset's weight the share of the rival that the cause acts alike in all
// dives. It returns the log of the weight taken, which belongs to "nothing has changed".
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

// evidence returns, for each size, the base's log evidence with the amplitudes of some columns
// integrated out; at are their cross terms, corner is their own information.
func (s *scanner) evidence(cols []column, at []crossTerms, corner *mat.SymDense) (out bySize) {
	if len(cols) == 1 {
		return s.one(&at[0], corner.At(0, 0), cols[0].sd, s.a.boundsOf(&cols[0]))
	}
	for size := range out {
		out[size] = s.several(cols, at, corner, causes.Sizes[size].Times)
	}
	return out
}

// several returns the base's log evidence with the amplitudes of some columns integrated out. Their
// prior standard deviations are times the columns' own.
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
	return s.one(&o.ramp, o.ramp2, sd, s.a.boundsOf(&c))
}

// one returns, for each size, the base's log evidence with one more amplitude of usual size sd
// integrated out within its bounds.
func (s *scanner) one(b *crossTerms, corner, sd float64, in bounds) (out bySize) {
	info := corner - blas64.Dot(vector(b.white), vector(b.white))
	for size := range out {
		out[size] = s.base.log + marginal(info, b.lin, sd*causes.Sizes[size].Times, in)
	}
	return out
}

// marginal returns the log marginal likelihood of an amplitude x with log-likelihood lin·x −
// ½·info·x² and a normal prior of standard deviation sd, integrated within its bounds.
func marginal(info, lin, sd float64, in bounds) float64 {
	all := info + 1/(sd*sd)
	if !(all > 0) { // rounding
		return math.Inf(-1)
	}
	root := math.Sqrt(all)
	z := lin / root
	return 0.5*z*z + in.log(lin/all, 1/root, sd*root)
}

// crossTerms are one amplitude's column of information with the base's unknowns, whitened, and its
// linear term less what the base's mean accounts for.
type crossTerms struct {
	white []float64
	lin   float64
}

func newCrossTerms(n int) crossTerms { return crossTerms{white: make([]float64, n)} }

// plus adds f times the cross terms of another amplitude.
func (b *crossTerms) plus(f float64, o *crossTerms) {
	add(b.white, f, o.white)
	b.lin += f * o.lin
}

// along adds the cross terms of a direction, given those of single places.
func (b *crossTerms) along(places []crossTerms, terms []placed) {
	for _, t := range terms {
		b.plus(t.per, &places[t.at])
	}
}

// A blockCrossTerms is a block with the cross terms of a unit of each place: of a step and, if the
// block has several dives, of a ramp that is 1 at its first dive.
type blockCrossTerms struct {
	*block
	step, ramp []crossTerms
	room       []float64
}

// fillCrossTerms sets o to the cross terms of a block, for the places that any cause reaches. work
// is scratch.
func (s *scanner) fillCrossTerms(o *blockCrossTerms, b *block, work *product) {
	n, rows := s.base.n, len(s.a.reached)
	if o.block = b; o.step == nil {
		o.step, o.ramp = make([]crossTerms, len(b.lin[0])), make([]crossTerms, len(b.lin[0]))
	}
	if b.dives > 1 {
		rows *= 2
	}
	o.room = slices.Grow(o.room[:0], rows*n)[:rows*n]
	work.profiles(b, s.cols)
	for i, at := range s.a.reached {
		col := column{terms: []placed{{at, 1}}}
		work.of(b, &col)
		o.step[at] = s.unit(o.room[i*n:(i+1)*n], b, &col, 0, work)
		if b.dives > 1 {
			i += len(s.a.reached)
			o.ramp[at] = s.unit(o.room[i*n:(i+1)*n], b, &col, 1, work)
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

// unit returns the cross terms, in row and not yet whitened, of a column that is 1 at the block's
// first dive and grows by slope a dive. work holds the column's product with the block.
func (s *scanner) unit(row []float64, b *block, col *column, slope float64, work *product) crossTerms {
	static := s.a.r.Space.Static
	work.under(b, 1, slope)
	for i, p := range static {
		row[i] = work.still[p]
	}
	for c := range s.cols {
		row[len(static)+c] = work.with(b, s.cols, c)
	}
	return crossTerms{row, b.linear(col, 1, slope)}
}

// onsets accumulates a cause's steps, and the ramp of its only amplitude, from the newest dive back
// to an onset.
type onsets struct {
	cols         []column
	ramps        bool
	step, one    []crossTerms
	ramp         crossTerms
	steps        *mat.SymDense // own information of the steps
	single       *mat.SymDense // of the last block taken
	ramp1, ramp2 float64       // Σ t·i and Σ t²·i over dives: i is the information on the first amplitude, t is 1 at the onset
}

func newOnsets(cols []column, ramps bool, n int) *onsets {
	o := &onsets{cols: cols, ramps: ramps, step: make([]crossTerms, len(cols)), one: make([]crossTerms, len(cols)), ramp: newCrossTerms(n),
		steps: mat.NewSymDense(len(cols), nil), single: mat.NewSymDense(len(cols), nil)}
	for j := range cols {
		o.step[j], o.one[j] = newCrossTerms(n), newCrossTerms(n)
	}
	return o
}

// take moves the onset back to the first dive of a block.
func (o *onsets) take(b *blockCrossTerms) {
	if o.ramps {
		by := float64(b.dives)
		o.ramp.plus(by, &o.step[0]) // later dives move further up the ramp
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
