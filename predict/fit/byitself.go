package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// byItself fits dive i against the calibration and expands it about its mixture's mean. If a cell
// stays unexplained, or several are set aside, it tries again with others set aside; if readings
// scatter more than their instruments do, as read with less care. It keeps the likeliest attempt:
// least squares alone explain a slip, or two exchanged lines, by as many changes as that takes.
func (f *fitting) byItself(i int, w worker, scatter []float64) error {
	d, m := &f.r.Dives[i], &f.matched[i]
	if err := f.fitOnce(i, w, scatter, nil); err != nil {
		return err
	}
	best := d.attempt(m, d.Summary.likeliest())
	best = f.recalibrated(i, w, scatter, best)
	d.restore(m, best)
	if m.unexplained(w.models[d.Era], d.Summary.Params, w.sc) || m.setAside() > 1 {
		best = f.withSlips(i, w, scatter, best)
		d.restore(m, best)
	}
	if d.Summary.likeliest() == d.Summary.turning { // no thruster fails
		best = f.withLessCare(i, w, scatter, best)
		d.restore(m, best)
	}
	return nil
}

// recalibrated tries dive i about the vehicle that its uncalibrated readings imply, if best leaves
// one of them unexplained. It returns that attempt if no thruster fails in it, else best.
func (f *fitting) recalibrated(i int, w worker, scatter []float64, best attempt) attempt {
	d, m := &f.r.Dives[i], &f.matched[i]
	fit := f.diver(i, w, scatter)
	resting := fit.resting(m)
	cells := fit.uncalibrated(m, resting)
	m.residuals(fit.m, d.Summary.Params, perLine{}, w.sc, false)
	if !slices.ContainsFunc(cells, func(k int) bool { return m.cells[k].Outlier || math.Abs(w.sc.r[k]) > hopeless }) {
		return best
	}
	m.setAnew()
	m.steps = max(m.steps, fewest)
	about := fit.recalibrate(m, resting, cells)
	if about == nil {
		return best
	}
	about[predict.OpenCircuitV], about[predict.SagVPerMinute] = f.r.Base[predict.OpenCircuitV], f.r.Base[predict.SagVPerMinute]
	if f.fitOnce(i, w, scatter, about) == nil && d.Summary.likeliest() == d.Summary.turning {
		return d.attempt(m, d.Summary.turning)
	}
	return best
}

// withSlips returns the likeliest of best and the attempts at dive i with 1, 2, … of the cells
// farthest from a sound vehicle set aside. It stops once no cell is unexplained.
func (f *fitting) withSlips(i int, w worker, scatter []float64, best attempt) attempt {
	d, m := &f.r.Dives[i], &f.matched[i]
	far := f.farthest(i, w)
	for n := range far {
		if m.steps <= 0 && len(m.cells) > manyCells {
			break
		}
		m.setAnew()
		for _, k := range far[:n+1] {
			m.cells[k].Outlier, m.cells[k].slip = true, true
		}
		if f.fitOnce(i, w, scatter, best.summary.recalibrated) != nil {
			break
		}
		best = best.or(d.attempt(m, d.Summary.turning))
		if !m.unexplained(w.models[d.Era], d.Summary.Params, w.sc) {
			break
		}
	}
	return best
}

// withLessCare returns the likeliest of best and the attempts at dive i as read with less care.
func (f *fitting) withLessCare(i int, w worker, scatter []float64, best attempt) attempt {
	d, m := &f.r.Dives[i], &f.matched[i]
	for _, times := range m.carelessly(w.models[d.Era], d.Summary.Params, w.sc) {
		m.setAnew()
		for k := range m.cells {
			m.cells[k].noisier = times
		}
		m.steps = max(m.steps, fewest)
		if f.fitOnce(i, w, scatter, best.summary.recalibrated) != nil {
			break
		}
		best = best.or(d.attempt(m, d.Summary.turning))
	}
	return best
}

// An attempt is one way to fit a dive: the summary, the dive and its cells after the fit, and its
// log-likelihood.
type attempt struct {
	summary *Summary
	dive    dive
	cells   []Cell
	log     float64
}

// attempt records the fit that a dive has just had, with log-likelihood log less the charge for
// slips.
func (d *DiveFit) attempt(m *dive, log float64) attempt {
	return attempt{d.Summary, *m, slices.Clone(m.cells), log - chargeOfSlips(m.cells)}
}

// restore puts a dive back to its state after an attempt.
func (d *DiveFit) restore(m *dive, to attempt) {
	d.Summary, *m = to.summary, to.dive
	copy(m.cells, to.cells)
	m.spreadUneven()
}

// or returns the likelier of two attempts, the first if they are equal.
func (t attempt) or(other attempt) attempt {
	if other.log > t.log {
		return other
	}
	return t
}

// farthest returns the cells of dive i beyond hopeless from the calibrated vehicle, farthest first,
// at most a share fewFar of all and fewer than fewestOff of one quantity that are off the same way.
func (f *fitting) farthest(i int, w worker) (cells []int) {
	r, m := f.r, &f.matched[i]
	at := slices.Clone(r.Dives[i].Summary.about(r))
	at[predict.OpenCircuitV] = m.rest
	m.predict(w.models[r.Dives[i].Era], at, perLine{}, w.sc, true)
	z := make([]float64, len(m.cells))
	for k := range m.cells {
		c, want := &m.cells[k], w.sc.predicted.want[k]
		if z[k] = math.Abs(c.Value-want) / math.Hypot(c.noiseAt(r.Noise, want), m.obs[c.obs].Doubt(w.sc.predicted.slope[k])); z[k] > hopeless {
			cells = append(cells, k)
		}
	}
	slices.SortStableFunc(cells, func(a, b int) int { return cmp.Compare(z[b], z[a]) })
	var off [quantity.Count][2]int // low and high; so many that are off the same way are no slips
	for n, k := range cells {
		c, way := &m.cells[k], 0
		if c.Value > w.sc.predicted.want[k] {
			way = 1
		}
		if off[c.Quantity][way]++; off[c.Quantity][way] == fewestOff {
			cells = cells[:n]
			break
		}
	}
	return cells[:min(len(cells), int(math.Ceil(fewFar*float64(len(m.cells)))))]
}

// diver returns a diver that fits dive i against the calibration.
func (f *fitting) diver(i int, w worker, scatter []float64) *diver {
	r := f.r
	return &diver{baseline: w.models[0], m: w.models[r.Dives[i].Era], sp: r.Space, free: r.Free, base: r.Base, origin: r.Base, noise: r.Noise, cov: r.Cov, precision: r.Precision, sc: w.sc, scatter: scatter}
}

// fitOnce fits dive i against the calibration, or against recalibrated if that is not nil, and
// expands it about its mixture's mean.
func (f *fitting) fitOnce(i int, w worker, scatter []float64, recalibrated predict.Params) error {
	r, d, m := f.r, &f.r.Dives[i], &f.matched[i]
	fit := f.diver(i, w, scatter)
	if recalibrated != nil {
		fit.base = recalibrated
	}
	sum, err := fit.fit(m)
	if err != nil {
		return orAbsurd(err, f.log, m)
	}
	d.Summary, sum.Fitted, sum.recalibrated = sum, slices.Clone(sum.Params), recalibrated
	if err := r.expandAgain(w.models[0], fit.m, d, m, w.sc, scatter); err != nil {
		return absurd(f.log, m)
	}
	if err := r.weighFailures(sum, scatter); err != nil {
		return absurd(f.log, m)
	}
	return nil
}

// setAside counts the cells set aside.
func (d *dive) setAside() (n int) {
	for k := range d.cells {
		if d.cells[k].Outlier {
			n++
		}
	}
	return n
}

// unexplained reports whether a cell that counts lies beyond hopeless from p, about which the dive
// is expanded.
func (d *dive) unexplained(m *predict.Model, p predict.Params, sc *scratch) bool {
	d.residuals(m, p, perLine{}, sc, false)
	for k := range d.cells {
		if math.Abs(sc.r[k]) > hopeless && !d.cells[k].Outlier {
			return true
		}
	}
	return false
}

// expandAgain expands a dive's likelihood about its mixture's mean: where a
// dive alone cannot tell causes apart, its best fit lies far out.
func (r *Result) expandAgain(baseline, m *predict.Model, d *DiveFit, matched *dive, sc *scratch, variance []float64) error {
	sum := d.Summary
	a, err := r.Alone(&sum.Quadratic)
	if err != nil {
		return err
	}
	mix, err := r.Mixture(a, variance)
	if err != nil {
		return err
	}
	if sum.turning = mix.Log; sum.IsIntermittent() {
		return nil // expanded where it fits, with the contact loose
	}
	free := mix.Mean()
	for i, x := range free {
		k := r.Space.All[r.Free[i]]
		sum.Params[k] = r.Base[k] + x
	}
	if sum.recalibrated != nil {
		static, err := r.StaticGiven(&sum.Quadratic, free)
		if err != nil {
			return err
		}
		for i, at := range r.Space.Static {
			k := r.Space.All[at]
			switch {
			case k == predict.OpenCircuitV:
			case slices.Contains(r.Free, at):
				sum.Params[k] += static[i]
			default:
				sum.Params[k] = r.Base[k] + static[i]
			}
		}
	}
	matched.allowInexact(baseline, m, sum.Params, soundOn(sum.about(r), sum), sc)
	return matched.summarise(m, r.Space, r.Base, sum, sc)
}

// mayHaveFailed is the least probability, among the failures of a dive, of one that is named.
const mayHaveFailed = 0.05

// farFromFailed is the log odds, in nats, against all else below which a failure is dropped from a
// dive. Such dives together would take the vehicle's levels farther than their quadratics hold. Of
// 590 dives with jams and open circuits, simulated with other physics, the least likely had 8 nats
// against it.
const farFromFailed = 10.0

// likeliest returns what a dive says of its departures, and the failures it looks like. If the
// failures together are likelier than all else that may act in one dive, the departures are those
// with the likeliest of them; otherwise no failure is returned.
func (r *Result) likeliest(s *Summary) (mixture.Alone, []causes.Failure, error) {
	all, best := 0.0, causes.Failure{}
	var failed []causes.Failure
	for c := range r.Space.Causes {
		how := r.Space.Causes[c].Fails
		f, ok := s.Failed[how]
		if !ok {
			continue
		}
		all += math.Exp(f.worth)
		failed = append(failed, how)
		if best.Thruster == 0 || f.worth > s.Failed[best].worth {
			best = how
		}
	}
	if all <= 1 {
		out, err := r.Alone(&s.Quadratic)
		return out, nil, err
	}
	return s.Failed[best].alone, slices.DeleteFunc(failed, func(how causes.Failure) bool { return math.Exp(s.Failed[how].worth) < mayHaveFailed*all }), nil
}

// about is the sound vehicle about which a dive was fitted.
func (s *Summary) about(r *Result) predict.Params {
	if s.recalibrated != nil {
		return s.recalibrated
	}
	return r.Base
}

// likeliest is the log-likelihood of a dive without a failure, or with its likeliest failure if
// higher.
func (s *Summary) likeliest() float64 {
	worth := 0.0
	for _, f := range s.Failed {
		worth = max(worth, f.worth)
	}
	return s.turning + worth
}

// likeliestOf returns the likeliest of the failures, none of none.
func (s *Summary) likeliestOf(failed []causes.Failure) (best causes.Failure) {
	most := math.Inf(-1)
	for _, how := range failed {
		if f := s.Failed[how]; f.worth > most {
			best, most = how, f.worth
		}
	}
	return best
}

// weighFailures sets each failure's worth, its log odds against all else that may act in the dive,
// at any level that the vehicle may have by its baseline. It drops failures below −farFromFailed.
func (r *Result) weighFailures(s *Summary, variance []float64) error {
	for c := range r.Space.Causes {
		how := r.Space.Causes[c].Fails
		f, ok := s.Failed[how]
		if !ok {
			continue
		}
		var err error
		if f.alone, err = r.Alone(r.withFailure(&f, how)); err != nil {
			return err
		}
		mix, err := r.Mixture(f.alone, variance)
		if err != nil {
			return err
		}
		f.worth = mix.Log + mixture.Acting(&r.Space.Causes[c]) - math.Log(float64(f.tried)) - s.turning
		if s.Failed[how] = f; f.worth < -farFromFailed {
			delete(s.Failed, how)
		}
	}
	return nil
}

// withFailure returns what a dive says with a failure. For a jam, the standing motor's resistance is
// integrated out with its scatter StallOhm.
func (r *Result) withFailure(f *Failed, how causes.Failure) *normal.Quadratic {
	if !how.Jam() {
		return f.exact
	}
	i := how.Thruster - 1
	l := f.exact.Integrate([]int{r.Space.Place[predict.OfThruster(i, predict.BranchOhm)]}, []float64{sq(r.StallOhm(i))}, normal.Likelihood{})
	return &normal.Quadratic{Info: mat.NewSymDense(len(l.Lin), l.Info), Lin: l.Lin, Log: l.Log}
}
