package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
)

// posterior solves for the static parameters g and every baseline dive's scatter θ together, then
// moves Base to the baseline's mean g* = g + M·mean(θ), to which every estimate is relative. Later
// sound dives scatter about g itself.
func (r *Result) posterior() error {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	dim := ns + nd*nb
	base := make([]float64, ns)
	for i, at := range sp.Static {
		base[i] = r.Base[sp.All[at]]
	}
	variance := normal.Rows(nb, nd)
	for b := range variance {
		for i, at := range sp.Scatter {
			variance[b][i] = sq(sp.Known(at).Scatter)
		}
		if r.Dives[b].Battery != r.Dives[0].Battery {
			for _, f := range r.OtherBattery() {
				variance[b][slices.Index(sp.Scatter, f.Place)] += sq(f.SD)
			}
		}
	}
	var cov *mat.SymDense
	var x mat.VecDense
	scatters := make([]diveScatter, nd)
	solve := func() bool {
		sum := normal.NewInformation(dim)
		sp.Prior.Add(&sum, base)
		for b := range nb {
			for i := range nd {
				sum.Prior(ns+b*nd+i, 0, math.Sqrt(variance[b][i]))
			}
			r.addDive(&sum, &r.Dives[b].Summary.Quadratic, ns+b*nd)
		}
		var ok bool
		if cov, ok = normal.Invert(sum.Info); !ok {
			return false
		}
		x.MulVec(cov, mat.NewVecDense(dim, sum.Lin))
		for i, at := range sp.Scatter {
			scatters[i] = diveScatter{sp.Known(at), cov, x.RawVector().Data, sp.InStatic[at], variance, i, func(b int) int { return ns + b*nd + i }}
		}
		return true
	}
	for changed := true; changed; {
		if changed = false; !solve() {
			return normal.ErrNotDefinite
		}
		for i := range scatters {
			changed = scatters[i].inflate() || changed
		}
	}
	narrowed := false
	for i := range scatters {
		if scatters[i].stepped() { // package drift weighs steps; it needs these dives with the usual variance
			scatters[i].deflate()
			narrowed = true
		}
	}
	if narrowed && !solve() {
		return normal.ErrNotDefinite
	}
	for b := range nb {
		r.Dives[b].scatter = variance[b]
	}
	r.recentre(cov, &x)
	return nil
}

// recentre moves Base to the baseline's mean. It stores the covariance of that mean, of the level
// about which sound dives scatter, and the departures of each baseline dive.
func (r *Result) recentre(cov *mat.SymDense, x *mat.VecDense) {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	dim := ns + nd*nb
	toMean := mat.NewDense(ns, dim, nil)
	for i := range ns {
		toMean.Set(i, i, 1)
	}
	for i, at := range sp.Scatter {
		if s := sp.InStatic[at]; s >= 0 {
			for b := range nb {
				toMean.Set(s, ns+b*nd+i, 1/float64(nb))
			}
		}
	}
	r.Cov = normal.Congruent(toMean, cov)
	var shift mat.VecDense
	shift.MulVec(toMean, x)
	r.SoundOffset, r.SoundCov = make([]float64, ns), mat.NewSymDense(ns, nil)
	moved := make([]float64, len(sp.All))
	for i, at := range sp.Static {
		moved[at] = shift.AtVec(i)
		r.Base[sp.All[at]] += shift.AtVec(i)
		r.SoundOffset[i] = x.AtVec(i) - shift.AtVec(i)
		for j := i; j < ns; j++ {
			r.SoundCov.SetSym(i, j, cov.At(i, j))
		}
	}
	r.Apart = make([]float64, nd)
	for i := range nd {
		for b := range nb {
			for e := range nb {
				r.Apart[i] += cov.At(ns+b*nd+i, ns+e*nd+i) / sq(float64(nb))
			}
		}
	}
	for b := range nb {
		r.Dives[b].Departures = r.ofBaseline(b, cov, x)
	}
	for b := range nb {
		s := r.Dives[b].Summary
		s.Firm.Move(moved)
		s.Quadratic = s.Firm
	}
}

// addDive adds one dive's quadratic in (g, θ), p = g + M·θ, with θ from index o on.
func (r *Result) addDive(sum *normal.Information, q *normal.Quadratic, o int) {
	sp := r.Space
	add := func(i, j int, x float64) { sum.Info.SetSym(i, j, sum.Info.At(i, j)+x) }
	for a, pa := range sp.Static {
		sum.Lin[a] += q.Lin[pa]
		for b := a; b < len(sp.Static); b++ {
			add(a, b, q.Info.At(pa, sp.Static[b]))
		}
		for i, pi := range sp.Scatter {
			add(a, o+i, q.Info.At(pa, pi))
		}
	}
	for i, pi := range sp.Scatter {
		sum.Lin[o+i] += q.Lin[pi]
		for j := i; j < len(sp.Scatter); j++ {
			add(o+i, o+j, q.Info.At(pi, sp.Scatter[j]))
		}
	}
}

// ofBaseline returns a baseline dive's departure from the baseline's mean, mean and variance, for
// each parameter of the space. A parameter without a static level (a stream) departs from zero.
func (r *Result) ofBaseline(b int, cov *mat.SymDense, x *mat.VecDense) []normal.Normal {
	sp, nb := r.Space, r.Baseline
	ns, nd := len(sp.Static), len(sp.Scatter)
	out := make([]normal.Normal, len(sp.All))
	w := mat.NewVecDense(ns+nd*nb, nil)
	for i, at := range sp.Scatter {
		w.Zero()
		absolute := absolute(sp, at)
		for e := range nb {
			if sp.InStatic[at] >= 0 && !absolute {
				w.SetVec(ns+e*nd+i, -1/float64(nb))
			}
		}
		w.SetVec(ns+b*nd+i, w.AtVec(ns+b*nd+i)+1)
		if absolute {
			w.SetVec(sp.InStatic[at], 1)
		}
		out[at].Mean = mat.Dot(w, x)
		if sp.All[at] == predict.BatteryOhm { // a higher coefficient of the cold goes with a lower resistance
			ohm, d := r.Model.Vehicle.Battery.ResistanceOhm+r.Base[predict.BatteryOhm], &r.Dives[b]
			for _, by := range d.raised {
				w.SetVec(sp.InStatic[sp.Place[by.param]], ohm*by.x/r.raisedBy(d))
			}
		}
		out[at].Variance = mat.Inner(w, cov, w)
		if absolute { // x is about the Base before recentre
			out[at].Mean += r.Base[sp.All[at]] - r.shiftOf(sp.InStatic[at], x)
		}
	}
	return out
}

// shiftOf is how far recentre moved Base in static parameter i.
func (r *Result) shiftOf(i int, x *mat.VecDense) float64 {
	return x.AtVec(i) - r.SoundOffset[i]
}

// absolute reports whether a parameter of the space is shown as the sound vehicle's value plus the
// departure.
func absolute(s *priors.Space, at int) bool {
	k := s.All[at]
	return k == predict.BatteryOhm || k == predict.LogInsulation
}

// Departure returns how far a dive's parameter lies from the baseline's mean, with its interval.
// The battery's resistance and the insulation are absolute, the former at that dive's cold and
// charge.
func (r *Result) Departure(dive, param int) normal.Interval {
	return r.departure(dive, param, r.Dives[dive].mix, &r.Calibrated, &Since{})
}

// Departures returns Departure as a function of the parameter, by what other dives say: since is what
// is known of the sound vehicle from that dive on, of no parameter if nothing is, and odds are the log
// odds that causes act, by index, of which they tell more than how common they are. The departures are
// from the baseline's mean all the same. If its numbers are singular, neither counts.
func (r *Result) Departures(dive int, since *Since, odds map[int]float64) func(param int) normal.Interval {
	if len(since.Params)+len(odds) > 0 && r.Dives[dive].Departures == nil {
		levels := since.OfSound()
		for _, k := range since.Params {
			if r.Space.InStatic[r.Space.Place[k]] < 0 { // which dives do not share
				levels = levels.Without(k)
			}
		}
		if c, mix, err := r.mixtureSince(&r.Dives[dive], &levels, odds); err == nil {
			return func(param int) normal.Interval { return r.departure(dive, param, mix, c, since) }
		}
	}
	return func(param int) normal.Interval { return r.Departure(dive, param) }
}

// mixtureSince returns the calibration with the levels of some parameters in place of the baseline's
// and with the odds of causes, and a dive's mixture about it.
func (r *Result) mixtureSince(d *DiveFit, levels *Joint, odds map[int]float64) (*mixture.Calibrated, *mixture.Mixture, error) {
	c, ok := r.calibratedSince(levels)
	if !ok {
		return nil, nil, normal.ErrNotDefinite
	}
	c.Odds = odds
	q := d.Summary.Quadratic
	if how := d.Summary.likeliestOf(d.failed); how.Thruster > 0 {
		f := d.Summary.Failed[how]
		q = *r.withFailure(&f, how)
	}
	q.Lin = slices.Clone(q.Lin)
	moved := make([]float64, len(r.Space.All))
	for i, k := range levels.Params {
		moved[r.Space.Place[k]] = levels.Sound[i]
	}
	q.Move(moved)
	alone, err := c.Alone(&q)
	if err != nil {
		return nil, nil, err
	}
	mix, err := c.Mixture(alone, r.learnt)
	return c, mix, err
}

// calibratedSince returns the calibration with the levels of some parameters in place of the
// baseline's; false if it is singular.
func (r *Result) calibratedSince(levels *Joint) (*mixture.Calibrated, bool) {
	c := r.Calibrated
	c.SoundOffset, c.Apart = slices.Clone(c.SoundOffset), slices.Clone(c.Apart)
	static := make([]int, len(levels.Params))
	for i, k := range levels.Params {
		at := r.Space.Place[k]
		static[i] = r.Space.InStatic[at]
		c.SoundOffset[static[i]] = 0
		if s := r.ScatterAt(at); s >= 0 {
			c.Apart[s] = 0
		}
	}
	cov := mat.NewSymDense(len(r.Space.Static), nil)
	cov.CopySym(r.Cov)
	for i, a := range static {
		for b := range r.Space.Static {
			if !slices.Contains(static, b) {
				cov.SetSym(a, b, 0)
			}
		}
		for j, b := range static {
			cov.SetSym(a, b, levels.SoundCov.At(i, j))
		}
	}
	var ok bool
	c.Precision, ok = normal.Invert(cov)
	return &c, ok
}

// departure is Departure by the mixture of a dive about the calibration c, of levels since.
func (r *Result) departure(dive, param int, mix *mixture.Mixture, c *mixture.Calibrated, since *Since) normal.Interval {
	d, at := &r.Dives[dive], r.Space.Place[param]
	sound, factor, extra := 0.0, 1.0, 0.0
	if param == predict.BatteryOhm {
		sound, factor, extra = r.Model.Vehicle.Battery.ResistanceOhm, r.raisedBy(d), sq(recoveryOhm)
	}
	if d.Departures != nil {
		x := d.Departures[at]
		return normal.Of(factor*(sound+x.Mean), math.Sqrt(sq(factor)*max(x.Variance, 0)+extra))
	}
	if i := since.Index(param); i >= 0 && !absolute(r.Space, at) {
		extra += sq(since.AnewSD[i])
	}
	w, constant := r.formOf(d, param, sound, factor, c, since)
	x := mix.Interval(w, constant, extra)
	for _, by := range d.by {
		if by.Param == param { // which the mixture does not include
			x = normal.Of(x.Value+by.X, math.Hypot(x.SD, by.SD))
		}
	}
	return x
}

// anew returns how far a parameter was set anew, of an absolute one the level there is since.
func (r *Result) anew(param int, since *Since) float64 {
	switch i := since.Index(param); {
	case i < 0:
		return 0
	case absolute(r.Space, r.Space.Place[param]):
		return since.Sound[i]
	default:
		return since.Anew[i]
	}
}

// SoundIn returns what Departure of a sound vehicle scatters within in a dive.
func (r *Result) SoundIn(dive, param int, since *Since) normal.Interval {
	at, sound, factor, scatter := r.Space.Place[param], 0.0, 1.0, 0.0
	if absolute(r.Space, at) {
		sound = r.SoundOf(param)
	}
	if param == predict.BatteryOhm {
		factor = r.raisedBy(&r.Dives[dive])
	}
	if s := r.ScatterAt(at); s >= 0 {
		scatter = math.Sqrt(r.learnt[s])
	}
	return normal.Of(factor*(sound+r.anew(param, since)), factor*scatter)
}

// formOf returns a later dive's departure in a parameter as a linear form of the unknowns of a
// mixture about c, and a constant; factor multiplies the sound value in that dive.
func (r *Result) formOf(d *DiveFit, param int, sound, factor float64, c *mixture.Calibrated, since *Since) (w []float64, constant float64) {
	at, level := r.Space.Place[param], r.anew(param, since)
	w = make([]float64, len(c.Free)+len(c.Keep))
	kept := func(at int) *float64 { return &w[len(c.Free)+slices.Index(c.Keep, r.Space.InStatic[at])] }
	w[slices.Index(c.Free, at)], constant = factor, factor*level
	if absolute(r.Space, at) {
		constant += factor * (sound + r.Base[param])
		*kept(at) = factor
	}
	if param == predict.BatteryOhm {
		for _, by := range d.raised {
			*kept(r.Space.Place[by.param]) = by.x * (sound + r.Base[param] + level)
		}
	}
	return w, constant
}

// A raise multiplies the battery's resistance in a dive by 1 + x times a parameter: the cold, or
// the charge spent.
type raise struct {
	param int
	x     float64
}

// raisedBy is the factor on the battery's resistance in a dive.
func (r *Result) raisedBy(d *DiveFit) float64 {
	factor := 1.0
	for _, by := range d.raised {
		factor += r.Base[by.param] * by.x
	}
	return factor
}

// recoveryOhm is one standard deviation of what a battery's slow recovery from a load, which the
// model leaves out, reads as: four millivolts at ten amperes; common practice, no source. Further
// dives would not reduce it.
const recoveryOhm = 0.0004
