package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
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
	taken = math.Inf(-1)
	if e.always.sum == 0 {
		return taken
	}
	e.stays = weights{}
	for i := range e.onsets {
		o, always := &e.onsets[i], e.always.total()
		share := logAdd(0, always-o.log)
		taken = logAdd(taken, always-share)
		o.log -= share
		e.stays.add(o.h, o.log)
	}
	return taken
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
func (s *scanner) evidence(cols []column, at []border, corner *mat.SymDense) (out bySize) {
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
func (s *scanner) several(cols []column, at []border, corner *mat.SymDense, times float64) float64 {
	left := &s.left
	left.reset(len(cols), s.base.log)
	for i := range cols {
		for j := i; j < left.n; j++ {
			left.info[i*left.n+j] = corner.At(i, j) - blas64.Dot(vector(at[i].v), vector(at[j].cv))
		}
		sd := times * cols[i].sd
		left.info[i*left.n+i] += 1 / sq(sd)
		left.lin[i] = at[i].lin - blas64.Dot(vector(at[i].v), vector(s.base.lin))
		left.log -= math.Log(sd)
	}
	if _, ok := left.evidence(); !ok {
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
func (s *scanner) one(b *border, corner, sd float64, in bounds) (out bySize) {
	info := corner - blas64.Dot(vector(b.v), vector(b.cv))
	lin := b.lin - blas64.Dot(vector(b.v), vector(s.base.lin))
	for size := range out {
		out[size] = s.base.log + marginal(info, lin, sd*causes.Sizes[size].Times, in)
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

// overdispersed is the prior probability that what no scatter is expected of, the gain of a meter, differs from
// dive to dive, by one of extraShares of its cause's usual size: common practice, no source.
const overdispersed = 0.05

var extraShares = [...]float64{1. / 16, 1. / 8, 1. / 4, 1. / 2, 1}

// allowOverdispersion shares the probability of the parts of an explanation that stay with that nothing has
// changed and dives differ more than is known, and drops those that are then no longer likelier
// than not. Without it, of 24 sound seasons of the model's own world whose battery's resistance differs by 5 mΩ from dive
// to dive, thrice what is expected, 8 raised an alarm, with it 3; whose propellers' torque does by 5 %, 10 and 5; whose
// vehicle's voltage by 1 %, 13 and 3.
func (a *analysis) allowOverdispersion(e explanation) explanation {
	hs := e.hypotheses()
	var staying []int
	var others []hypothesis
	for i, h := range hs {
		if h.stays() && len(a.causes[h.cause].Amplitudes) > 0 {
			staying = append(staying, i)
		} else {
			others = append(others, h)
		}
	}
	if len(staying) == 0 {
		return e
	}
	worth, odds := a.worth(hs), make([]float64, len(hs))
	for _, i := range staying {
		odds[i] = a.overdispersion(slices.Delete(slices.Clone(hs), i, i+1), e.parts[i:i+1], worth)
	}
	if len(staying) > 1 {
		all := a.overdispersion(others, e.parts, worth)
		for _, i := range staying {
			odds[i] += all
		}
	}
	var out explanation
	for i, p := range e.parts {
		if p = p.against(odds[i]); p.none <= 0.5 {
			out.parts = append(out.parts, p)
		}
	}
	return out
}

// against is a part beside something else that is likelier than all of it by some odds.
func (e explained) against(odds float64) explained {
	share := 1 / (1 + odds)
	e.none, e.once, e.stays = 1-(1-e.none)*share, e.once*share, slices.Clone(e.stays)
	for i := range e.stays {
		e.stays[i] *= share
	}
	return e
}

// overdispersion are the odds of that only some hypotheses are true, and what the causes of some parts change differs more from
// dive to dive than is known, against all hypotheses of an explanation of some worth.
func (a *analysis) overdispersion(hs []hypothesis, parts []explained, worth float64) (odds float64) {
	s, ok := a.scanner(hs)
	if !ok {
		return 0
	}
	left, none := s.residuals(), s.base.log+a.prior(hs)-worth
	done := make([]bool, len(a.causes))
	for i := range parts {
		p := &parts[i]
		share := p.shareOfOnset()
		for c, stays := range p.stays {
			if stays < listed || done[c] || !a.mayDiffer(c) {
				continue
			}
			done[c] = true
			if more := s.moreScatter(c, left); more > 0 { // as much as is known is in none already
				odds += share * (math.Exp(none+more) - math.Exp(none))
			}
		}
	}
	return odds
}

// mayDiffer says whether what a cause changes may differ from dive to dive with nothing wrong: a load that no line mentions does so
// only where there is one.
func (a *analysis) mayDiffer(c int) bool {
	of := &a.causes[c]
	return len(of.Amplitudes) > 0 && (of.Kind != causes.NotLogged || a.r.ScatterAt(a.r.Space.Place[of.Param()]) >= 0)
}

// shareOfOnset is that of the likeliest onset among all that its cause may have.
func (e *explained) shareOfOnset() float64 {
	for _, o := range e.onsets {
		if o.h == e.hypothesis {
			return o.log
		}
	}
	return 1
}

// A residual is a dive with the slope of its likelihood at a solution.
type residual struct {
	*block
	slope []float64
}

// residuals are the dives held one by one at the base's solution.
func (s *scanner) residuals() (out []residual) {
	for _, blocks := range [][]block{s.a.before, s.view} {
		for i := range blocks {
			b := &blocks[i]
			if b.dives > 1 {
				continue
			}
			slope := slices.Clone(b.lin[0])
			blas64.Gemv(blas.NoTrans, -1, general(b.info[0], len(slope)), vector(s.a.departure(s.base, s.cols, b.first, nil)), 1, vector(slope))
			out = append(out, residual{b, slope})
		}
	}
	return out
}

// moreScatter is by how many nats dives are likelier where what a cause changes differs from each to the next by any of the amounts that
// it may, than where it does by what is known.
func (s *scanner) moreScatter(cause int, dives []residual) float64 {
	col := &s.a.ofCause(hypothesis{cause: cause, pattern: findings.Step})[0]
	extra, prior := s.a.extraVariance(col)
	by := make([]float64, len(s.a.r.Space.All))
	log, all := math.Inf(-1), math.Inf(-1)
	like := slices.Clone(prior)
	for _, d := range dives {
		apply(by, d.info[0], len(by), col.terms)
		slope, info := col.dot(d.slope), col.dot(by)
		for i, v := range extra {
			like[i] += 0.5*sq(slope)*v/(1+info*v) - 0.5*math.Log1p(info*v)
		}
	}
	for i := range extra {
		log, all = logAdd(log, like[i]), logAdd(all, prior[i])
	}
	return log - all
}

// extraVariance are the variances by which a column's amplitude may differ from dive to dive beyond what is known, with the
// logs of their prior, not normalised.
func (a *analysis) extraVariance(col *column) (extra, log []float64) {
	if i := a.r.ScatterAt(col.terms[0].at); i >= 0 {
		extra, log = a.r.Scatters(i)
		for k := range extra {
			extra[k] = (extra[k] - a.variance[i]) / sq(col.terms[0].per)
		}
		return extra, log
	}
	extra, log = []float64{0}, []float64{math.Log(1 - overdispersed)}
	for _, share := range extraShares {
		extra, log = append(extra, sq(share*col.sd)), append(log, math.Log(overdispersed/float64(len(extraShares))))
	}
	return extra, log
}
