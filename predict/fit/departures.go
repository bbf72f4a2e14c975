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
func (r *Result) mixtureSince(d *DiveFit, levels *Posterior, odds map[int]float64) (*mixture.Calibrated, *mixture.Mixture, error) {
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
func (r *Result) calibratedSince(levels *Posterior) (*mixture.Calibrated, bool) {
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
	sound, surface, factor, extra := 0.0, 0.0, 1.0, 0.0
	if param == predict.BatteryOhm {
		sound, surface, factor, extra = r.Model.Vehicle.Battery.ResistanceOhm, r.surfaceOhm(r.Base), r.raisedBy(d), sq(recoveryOhm)
	}
	if d.Departures != nil {
		x := d.Departures[at]
		return normal.Of(factor*(sound+x.Mean)+surface, math.Sqrt(sq(factor)*max(x.Variance, 0)+extra))
	}
	if i := since.Index(param); i >= 0 && !absolute(r.Space, at) {
		extra += sq(since.AnewSD[i])
	}
	w, constant := r.formOf(d, param, sound, factor, c, since)
	x := mix.Interval(w, constant+surface, extra)
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
	at, sound, surface, factor, scatter := r.Space.Place[param], 0.0, 0.0, 1.0, 0.0
	if absolute(r.Space, at) {
		sound = r.SoundOf(param)
	}
	if param == predict.BatteryOhm {
		surface, factor = r.surfaceOhm(r.Base), r.raisedBy(&r.Dives[dive])
	}
	if s := r.ScatterAt(at); s >= 0 {
		scatter = math.Sqrt(r.learnt[s])
	}
	return normal.Of(factor*(sound-surface+r.anew(param, since))+surface, factor*scatter)
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
		if s := r.Space.Place[predict.SurfaceV]; r.LoadA > 0 {
			*kept(s), w[slices.Index(c.Free, s)] = 1/r.LoadA, 1/r.LoadA
		}
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
