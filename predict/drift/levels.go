package drift

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
)

// Levels returns those that services, rebuilds and other batteries have left the sound vehicle at,
// oldest first.
func Levels(r *fit.Result) []fit.Since {
	a := &analysis{r: r}
	for n := r.Baseline + 1; n < len(r.Dives); n++ {
		if a.setsAnew(n, a.services(n)) {
			return Analyse(r).Levels
		}
	}
	return nil
}

// statics returns the posterior of the sound vehicle's static parameters from the baseline and all
// later dives, with the changes found since then as further unknowns.
func (a *analysis) statics(now *explanation) fit.Statics {
	last, n := len(a.r.Dives)-1, len(a.r.Space.Static)
	if last >= a.r.Baseline {
		if s, _, ok := a.solve(now.hypotheses()); ok {
			lapack64.Potri(s.triangle())
			cov := mat.NewSymDense(n, nil)
			for i := range n {
				for j := i; j < n; j++ {
					cov.SetSym(i, j, s.info[i*s.n+j])
				}
			}
			return fit.Statics{Mean: s.lin[:n], Cov: cov}
		}
	}
	return a.r.OfBaseline()
}

// ofHover are the parameters of the hover weight. What a dive says of them is known of their sum.
var ofHover = []int{predict.TrimG, predict.TrimPerM, predict.LogDisplaced, predict.HullPerK, predict.BallastLift}

// readLater is to which share later dives must lower the variance that the baseline left to a
// parameter of a thruster to count instead of the baseline: half the standard deviation. Common
// practice, no source.
const readLater = 0.25

// readLate reports whether later dives tell far more of any thruster than the baseline does, whose
// dives may never have run it, or only with others. Of a log on several batteries it is false: what
// is predicted may be on another than the newest dive's.
func (a *analysis) readLate(now *explanation) bool {
	if slices.ContainsFunc(a.r.Dives, func(d fit.DiveFit) bool { return d.Battery != a.battery }) {
		return false
	}
	all := a.statics(now).Cov
	for j, at := range a.r.Space.Static {
		if a.r.Space.All[at] >= predict.FirstThruster && all.At(j, j) < readLater*a.r.Cov.At(j, j) {
			return true
		}
	}
	return false
}

// posterior returns what all dives say together of the parameters of the hover weight and, once levels
// have been set anew or if the baseline hardly tells some thruster, of all that dives share. What
// instruments have wrong and what was not written down is left out.
func (a *analysis) posterior(now *explanation) (out fit.Posterior) {
	last := len(a.r.Dives) - 1
	if last < a.r.Baseline {
		return out
	}
	places, _ := a.setAnewWithOthers()
	late := a.readLate(now)
	held := places != nil && !late
	if places == nil && late {
		places = slices.Clone(a.r.Space.Static)
	}
	for _, k := range ofHover {
		if at := a.r.Space.Place[k]; !slices.Contains(places, at) {
			places = append(places, at)
		}
	}
	places = slices.DeleteFunc(places, func(at int) bool { return at < 0 })
	for _, at := range places {
		out.Params = append(out.Params, a.r.Space.All[at])
	}
	hs := now.hypotheses()
	out.Sound, out.SoundCov = a.moments(places, hs, summed{true, func(c *column) bool { return c.setAnew() }, held})
	if c := slices.IndexFunc(a.causes, func(c causes.Cause) bool { return c.Param() == predict.TrimG }); a.active(c, now) == nil && !a.renewed[c] {
		hs = append(hs, hypothesis{cause: c, pattern: findings.Step, onset: a.r.Baseline}) // as in level
	}
	out.Now, out.Cov = a.moments(places, hs, summed{shared: true, held: held, counts: func(c *column) bool {
		return c.setAnew() || c.of >= 0 && !c.offLevel && a.causes[hs[c.of].cause].Kind == causes.Vehicle
	}})
	if out.Sound == nil || out.Now == nil {
		return fit.Posterior{}
	}
	for _, h := range hs { // a circuit that is open and a lost propeller have no amplitude
		if c := a.reportedAs(h.cause); c != h.cause && h.stays() && h.pattern != findings.Turns {
			terms := a.causes[c].Amplitudes[0].Terms
			if a.causes[h.cause].Fails.How == causes.Lost {
				terms = lostTerms(a.causes[c].Param())
			}
			for _, t := range terms {
				if i := out.Index(t.Param); i >= 0 {
					out.Now[i] = a.failedBy(h).Value
				}
			}
		}
	}
	return out
}

// setsAnew reports whether services, a rebuild or another battery may set levels anew at dive n.
func (a *analysis) setsAnew(n int, services []string) bool {
	d, before := &a.r.Dives[n], &a.r.Dives[n-1]
	return len(services) > 0 || d.Era != before.Era || d.Battery != before.Battery
}

// addLevels adds the sound levels that services, rebuilds or another battery have left by the newest
// dive taken in, if any.
func (a *analysis) addLevels(all []fit.Since, now *explanation) []fit.Since {
	places, from := a.setAnewWithOthers()
	if places == nil || a.n < a.r.Baseline {
		return all
	}
	of := fit.Since{From: from}
	for _, at := range places {
		of.Params = append(of.Params, a.r.Space.All[at])
	}
	anew, held := func(c *column) bool { return c.setAnew() }, !a.readLate(now)
	if of.Sound, of.SoundCov = a.moments(places, now.hypotheses(), summed{true, anew, held}); of.Sound == nil {
		return all
	}
	var cov *mat.SymDense
	of.Anew, cov = a.moments(places, now.hypotheses(), summed{counts: anew, held: held})
	for i := range of.Anew {
		if at := places[i]; a.levels[at].sd > 0 && a.isNewZero(at, a.levels[at].since) {
			of.Anew[i] = 0
		}
		of.AnewSD = append(of.AnewSD, math.Sqrt(max(cov.At(i, i), 0)))
	}
	return append(all, of)
}

// setAnewWithOthers returns the places whose levels have been set anew, with all other places that
// dives share, and the dive since which; nil if there are none. Of drag and thrust, where no pull was
// ever read, a log tells the difference alone: a level of one of them holds with the other's.
func (a *analysis) setAnewWithOthers() (places []int, from int) {
	from = a.r.Baseline
	for at, l := range a.levels {
		if l.sd > 0 {
			places, from = append(places, at), max(from, l.since)
		}
	}
	if places == nil {
		return nil, from
	}
	for _, at := range a.r.Space.Static {
		if !slices.Contains(places, at) && !slices.Contains(fit.OwnOfDive, a.r.Space.All[at]) {
			places = append(places, at)
		}
	}
	return places, from
}

// summed is what moments counts: all that dives share, and columns.
type summed struct {
	shared bool
	counts func(*column) bool
	held   bool // whether what dives share is held where the baseline has it
}

// moments returns the mean and covariance of some places at the newest dive under hypotheses, which
// may bend. They are nil if there is no solution, or no place.
//
// What dives share is held where the dives' quadratics would move it along a ridge, such as that of thrust
// and drag: each says a little of it that is not so, and they add up to drag of 1.8 times its own. The
// mean is then the conditional one; the covariance stays that of all. The hover weight is never held, nor
// is anything where the baseline hardly tells some thruster (readLate).
func (a *analysis) moments(places []int, hs []hypothesis, of summed) (mean []float64, cov *mat.SymDense) {
	static, n := len(a.r.Space.Static), len(places)
	if n == 0 {
		return nil, nil
	}
	all, _ := a.bending(hs, a.n, anyColumn)
	if len(all) == 0 {
		return nil, nil
	}
	mean, cov = make([]float64, n), mat.NewSymDense(n, nil)
	for _, b := range all {
		x, rows := mat.NewVecDense(n, nil), normal.Rows(n, b.n)
		var back []float64
		if of.held {
			back = a.offBaseline(b.state)
		}
		for i, at := range places {
			if j := a.r.Space.InStatic[at]; of.shared && j >= 0 {
				rows[i][j] = 1
			}
			for c := range b.cols {
				for _, t := range b.cols[c].terms {
					if t.at == at && of.counts(&b.cols[c]) {
						rows[i][static+c] += t.per * b.cols[c].profile(a.n)
					}
				}
			}
			x.SetVec(i, blas64.Dot(vector(rows[i]), vector(b.lin)))
			b.whiten(row(rows[i]))
			if of.held && !slices.Contains(ofHover, a.r.Space.All[at]) {
				x.SetVec(i, x.AtVec(i)-blas64.Dot(vector(rows[i]), vector(back)))
			}
			mean[i] += b.weight * x.AtVec(i)
			for j := range i + 1 {
				cov.SetSym(i, j, cov.At(i, j)+b.weight*blas64.Dot(vector(rows[i]), vector(rows[j])))
			}
		}
		cov.SymRankOne(cov, b.weight, x)
	}
	cov.SymRankOne(cov, -1, mat.NewVecDense(n, mean))
	return mean, cov
}

// offBaseline returns what to take off a solved state's unknowns, whitened, for what all dives share to stay
// where the baseline has it: with x those unknowns, C·Cₛₛ⁻¹·(xₛ − m₀).
func (a *analysis) offBaseline(s *state) []float64 {
	var held []int // of the static parameters
	for i, at := range a.r.Space.Static {
		if !slices.Contains(ofHover, a.r.Space.All[at]) {
			held = append(held, i)
		}
	}
	n := len(held)
	rows, cov, out := normal.Rows(n, s.n), mat.NewSymDense(n, nil), make([]float64, s.n)
	for i, k := range held {
		rows[i][k] = 1
		s.whiten(row(rows[i]))
		for j := range i + 1 {
			cov.SetSym(i, j, blas64.Dot(vector(rows[i]), vector(rows[j])))
		}
	}
	inverse, ok := normal.Invert(cov)
	if !ok {
		return out
	}
	by, from := mat.NewVecDense(n, nil), a.r.OfBaseline().Mean
	for i, k := range held {
		by.SetVec(i, s.lin[k]-from[k])
	}
	by.MulVec(inverse, by)
	for i := range n {
		blas64.Axpy(by.AtVec(i), vector(rows[i]), vector(out))
	}
	return out
}
