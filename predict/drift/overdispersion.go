package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"

	"sagline/predict/causes"
	"sagline/predict/findings"
)

// overdispersed is the prior probability that a quantity without expected scatter, such as the gain
// of a meter, differs from dive to dive, by one of extraShares of its cause's usual size: common
// practice, no source.
const overdispersed = 0.05

var extraShares = [...]float64{1. / 16, 1. / 8, 1. / 4, 1. / 2, 1}

// allowOverdispersion weighs the staying components of an explanation against the rival that
// nothing has changed and dives differ more than is known, and drops those no longer likelier than
// not. Of 24 sound seasons of the model's own world whose battery resistance differs by 5 mΩ from
// dive to dive, three times what is expected, 8 raised an alarm without it and 3 with it; with
// propeller torque that differs by 5 %, 10 and 5; with vehicle voltage by 1 %, 13 and 3.
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
		odds[i] = a.overdispersion(slices.Delete(slices.Clone(hs), i, i+1), e.components[i:i+1], worth)
	}
	if len(staying) > 1 {
		all := a.overdispersion(others, e.components, worth)
		for _, i := range staying {
			odds[i] += all
		}
	}
	var out explanation
	for i, p := range e.components {
		if p = p.withRival(odds[i]); p.none <= 0.5 {
			out.components = append(out.components, p)
		}
	}
	return out
}

// withRival returns a component beside a rival that has the given odds against all of it.
func (e component) withRival(odds float64) component {
	share := 1 / (1 + odds)
	e.none, e.once, e.stays = 1-(1-e.none)*share, e.once*share, slices.Clone(e.stays)
	for i := range e.stays {
		e.stays[i] *= share
	}
	return e
}

// overdispersion returns the odds that only the hypotheses hs are true, and what the causes of the
// rivals change differs more from dive to dive than is known, against the explanation whose log
// worth is given.
func (a *analysis) overdispersion(hs []hypothesis, rivals []component, worth float64) (odds float64) {
	s, ok := a.scanner(hs)
	if !ok {
		return 0
	}
	left, none := s.residuals(), s.base.log+a.prior(hs)-worth
	done := make([]bool, len(a.causes))
	for i := range rivals {
		p := &rivals[i]
		share := p.shareOfOnset()
		for c, stays := range p.stays {
			if stays < listed || done[c] || !a.mayDiffer(c) {
				continue
			}
			done[c] = true
			if more := s.moreScatter(c, left); more > 0 { // the known scatter is in none already
				odds += share * (math.Exp(none+more) - math.Exp(none))
			}
		}
	}
	return odds
}

// mayDiffer reports whether what a cause changes may differ from dive to dive with nothing wrong.
// What was not written down does so only if its parameter is known to scatter.
func (a *analysis) mayDiffer(c int) bool {
	of := &a.causes[c]
	return len(of.Amplitudes) > 0 && (of.Kind != causes.NotLogged || a.r.ScatterAt(a.r.Space.Place[of.Param()]) >= 0)
}

// shareOfOnset returns the share of the component's own onset and pattern in all weighed for its
// cause.
func (e *component) shareOfOnset() float64 {
	for _, o := range e.onsets {
		if o.h == e.hypothesis {
			return o.p
		}
	}
	return 1
}

// A residual is a dive with the slope of its log-likelihood at a solution.
type residual struct {
	*block
	slope []float64
}

// residuals returns the dives that stand alone, at the base's solution.
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

// moreScatter returns by how many nats the dives are likelier if what a cause changes differs from
// dive to dive by any of the amounts possible, than if it does by what is known.
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

// extraVariance returns the variances by which a column's amplitude may differ from dive to dive
// beyond what is known, and their log priors, not normalised.
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
