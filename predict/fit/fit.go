package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/parallel"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
)

// A Result is a logbook fitted: the calibration of the baseline dives and
// every dive against it.
type Result struct {
	mixture.Calibrated
	Model    *predict.Model // of the vehicle as it is now
	Base     predict.Params // the mean of the baseline dives
	Cov      *mat.SymDense  // of Base's static parameters
	UsualCov *mat.SymDense  // of Base + Usual
	Baseline int            // how many of the first dives count as sound
	Dives    []DiveFit
	Status   lsq.Status // of the calibration's fit

	Noise          *instrument.Noise
	Circumstances  circumstances.Usual
	OneWay         bool          // runs are timed one way
	Charge         float64       // share left at rest where the battery's resistance is known
	usualPrecision *mat.SymDense // inverse of UsualCov
	Eras           []vehicle.Era
	Models         []*predict.Model // of eras
}

// Upto is the result of the first n dives, of the same calibration.
func (r *Result) Upto(n int) *Result {
	out := *r
	out.Dives = r.Dives[:n]
	return &out
}

// A DiveFit is one dive's own estimates, which rest on its lines and the
// calibration alone.
type DiveFit struct {
	Log     *session.Dive
	Summary *Summary
	Cells   []Cell
	Era     int
	Battery string // label of the battery used

	d      dive
	alone  mixture.Alone
	jammed []int            // of which thrusters one looks jammed in it
	Own    []normal.Normal  // of a baseline dive, by place
	mix    *mixture.Mixture // of a later dive
	rest   normal.Normal    // of a later dive's rest voltage, less the baseline's

	raised []raise // of the battery's resistance

	scatter []float64 // variances of a baseline dive's, as the calibration has them

	compared []Compared // beside its own fit; nil until asked for
}

// Fit calibrates on the baseline dives and fits each dive of a log; of one
// without dives it knows the vehicle's file and how far vehicles differ from
// theirs. progress, when not nil, is called after each dive.
func Fit(v *vehicle.Vehicle, log *session.Log, progress func(done, all int)) (*Result, error) {
	f := fitting{log: log}
	if err := f.prepare(v); err != nil {
		return nil, err
	}
	if err := f.baseline(); err != nil {
		return nil, err
	}
	return f.r, f.dives(progress)
}

// Unfitted is what a log tells before it is fitted: how its dives are made.
func Unfitted(v *vehicle.Vehicle, log *session.Log) (*Result, error) {
	f := fitting{log: log}
	err := f.prepare(v)
	return f.r, err
}

// fitting is the work of Fit.
type fitting struct {
	r       *Result
	log     *session.Log
	matched []dive
	workers []worker
}

func (f *fitting) prepare(v *vehicle.Vehicle) error {
	if len(f.log.Dives) > 0 {
		v = v.Unlearnt()
	}
	eras, err := v.Eras(f.log.Labels())
	if err != nil {
		return err
	}
	r := &Result{Dives: make([]DiveFit, len(f.log.Dives)), Noise: instrument.NewNoise(v), Eras: eras}
	f.r = r
	for i := range eras {
		r.Models = append(r.Models, predict.NewModel(eras[i].Vehicle))
	}
	ofDive := make([]*predict.Model, len(r.Dives))
	for i := range r.Dives {
		r.Dives[i].Era, r.Dives[i].Battery = eraOf(eras, i), f.log.Dives[i].Battery
		ofDive[i] = r.Models[r.Dives[i].Era]
	}
	r.Model = r.Models[len(r.Models)-1]
	r.Calibrated = mixture.New(priors.New(r.Models[0], unneeded(f.log)...))
	if f.matched, r.Circumstances, err = match(ofDive, f.log, r.Noise); err != nil {
		return err
	}
	r.OneWay = slices.ContainsFunc(f.matched, func(d dive) bool { return d.streams() })
	r.Baseline = min(v.Baseline.Dives, len(r.Dives))
	f.spend()
	for i := range r.Dives {
		d, m := &r.Dives[i], &f.matched[i]
		d.raised = []raise{{predict.BatteryPerK, m.belowCold()}, {predict.BatteryPerSpent, m.spent}}
	}
	f.workers = newWorkers(r.Models, f.matched)
	return nil
}

// unneeded are the parameters of what a log never has: lights on, or water whose temperature was not read.
func unneeded(log *session.Log) []int {
	lit, read := false, true
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[i]
			lit, read = lit || l.Lights, read && l.WaterC.Measured()
		}
	}
	var out []int
	if !lit {
		out = append(out, predict.LightsA, predict.UnlitA)
	}
	if read {
		out = append(out, predict.YearCosK, predict.YearSinK)
	}
	return out
}

func eraOf(eras []vehicle.Era, dive int) int {
	at := 0
	for i := range eras {
		if eras[i].First <= dive {
			at = i
		}
	}
	return at
}

func (f *fitting) model(dive int) *predict.Model { return f.r.Models[f.r.Dives[dive].Era] }

// asBuilt is the vehicle as it is assumed to be before any reading.
func (r *Result) asBuilt() predict.Params {
	p := r.Models[0].NewParams()
	for k := range p {
		p[k] += r.Space.Of[k].Mean
	}
	return p
}

// baseline calibrates on the first dives.
func (f *fitting) baseline() error {
	r, n := f.r, f.r.Baseline
	r.Base = r.asBuilt()
	sc := f.workers[0].sc
	base, models := make([]*dive, n), make([]*predict.Model, n)
	prior := func(_ *Cell, _ float64, slopes []float64) float64 { return r.Space.Spread(slopes) }
	for i := range base {
		base[i], models[i] = &f.matched[i], f.model(i)
		at := r.asBuilt()
		at[predict.OpenCircuitV] = base[i].rest
		base[i].markSlips(models[i], r.Noise, at, sc, prior)
	}
	r.markFar(base, models, sc)
	if n == 0 {
		return r.withoutDives()
	}
	c := newCalibration(models, r.Space, base, r.Noise, sc)
	for b := range base {
		if r.Dives[b].Battery != r.Dives[0].Battery {
			c.otherBattery(b)
		}
	}
	before := c.save()
	for {
		own, status, err := c.fit()
		for err == nil && c.leaveOut(func(b int) bool { return base[b].disagree(models[b], own[b], sc) }) {
			before.restore()
			own, status, err = c.fit()
		}
		if err != nil {
			return orAbsurd(err, f.log, base[0])
		}
		r.Status = status
		if err := f.calibrate(own); err != nil || n < 2 || !c.leaveOut(f.looksJammed) {
			return err
		}
		before.restore()
	}
}

// calibrate makes the calibration of the baseline's dives as fitted.
func (f *fitting) calibrate(own []predict.Params) error {
	r, sc := f.r, f.workers[0].sc
	r.Base = mean(own)
	for _, k := range priors.OfOneDive {
		r.Base[k] = r.Space.Of[k].Mean
	}
	r.Base[predict.StreamMS] = 0
	for i := range own {
		d := &f.matched[i]
		sum := &Summary{Params: own[i], Contradicts: d.contradicts, LeftOut: d.leftOut}
		if err := d.summarise(f.model(i), r.Space, r.Base, sum, sc); err != nil {
			return absurd(f.log, d)
		}
		r.Dives[i].Summary = sum
	}
	if err := r.posterior(); err != nil || !r.invert() {
		return absurd(f.log, &f.matched[0])
	}
	return nil
}

// looksJammed says whether dive b of the baseline looks as if a thruster were jammed, were it a later dive. It
// asks only of those that do not fit in with the others.
func (f *fitting) looksJammed(b int) bool {
	r, d, m := f.r, &f.r.Dives[b], &f.matched[b]
	if !m.contradicts && slices.Equal(d.scatter, r.expectedScatter()) && !slices.ContainsFunc(m.cells, func(c Cell) bool { return c.Outlier }) {
		return false
	}
	own, was, cells := d.Summary, *m, slices.Clone(m.cells)
	defer func() { d.Summary, *m = own, was; copy(m.cells, cells) }()
	m.leftOut = false
	for k := range m.cells {
		m.cells[k].Outlier, m.cells[k].slip, m.cells[k].weight = false, false, 1
	}
	d.jammed = nil
	if f.byItself(b, f.workers[0], r.expectedScatter()) == nil {
		_, d.jammed, _ = r.likeliest(d.Summary, r.expectedScatter())
	}
	return d.jammed != nil
}

// withoutDives is what the vehicle's file alone tells.
func (r *Result) withoutDives() error {
	ns := len(r.Space.Static)
	r.Cov, r.Usual = r.Space.Prior.Cov, make([]float64, ns)
	r.UsualCov = r.Cov
	r.Apart = make([]float64, len(r.Space.Scatter))
	r.invert()
	return nil
}

// invert keeps the inverses of the calibration's covariances; ok is false where
// there is none.
func (r *Result) invert() (ok bool) {
	if r.Precision, ok = normal.Invert(r.Cov); ok {
		r.usualPrecision, ok = normal.Invert(r.UsualCov)
	}
	return ok
}

// dives fits every dive against the calibration.
func (f *fitting) dives(progress func(done, all int)) error {
	r := f.r
	done := parallel.Counter(progress, len(r.Dives))
	expected := r.expectedScatter()
	if err := parallel.Each(f.workers, len(r.Dives), func(i int, w worker) error {
		defer done()
		return f.dive(i, w, expected)
	}); err != nil {
		return err
	}
	learnt := r.Scatter(len(r.Dives))
	return parallel.Each(f.workers, len(r.Dives), func(i int, w worker) error {
		d := &r.Dives[i]
		if i >= r.Baseline {
			var err error
			if d.mix, err = r.Mixture(d.alone, learnt); err != nil {
				return absurd(f.log, &f.matched[i])
			}
		}
		if !r.credible(d) {
			return absurd(f.log, &f.matched[i])
		}
		return nil
	})
}

// dive fits dive i and gathers what it says by itself.
func (f *fitting) dive(i int, w worker, scatter []float64) error {
	r, d, m := f.r, &f.r.Dives[i], &f.matched[i]
	d.Log = m.log
	if i >= r.Baseline {
		if err := f.byItself(i, w, scatter); err != nil {
			return err
		}
	}
	a, jammed, err := r.likeliest(d.Summary, scatter)
	if err != nil {
		return absurd(f.log, m)
	}
	if d.alone = a; i >= r.Baseline {
		d.jammed = jammed
	}
	d.rest = r.Freed(d.alone, scatter)[r.ScatterAt(r.Space.Place[predict.OpenCircuitV])]
	d.Cells, d.d = m.cells, *m
	return nil
}

// byItself fits dive i against the calibration and expands it about its mixture's mean.
func (f *fitting) byItself(i int, w worker, scatter []float64) error {
	r, d, m := f.r, &f.r.Dives[i], &f.matched[i]
	model := w.models[d.Era]
	fit := diver{was: w.models[0], m: model, sp: r.Space, free: r.Free, base: r.Base, noise: r.Noise, cov: r.Cov, sc: w.sc}
	sum, err := fit.fit(m)
	if err != nil {
		return orAbsurd(err, f.log, m)
	}
	d.Summary, sum.Fitted = sum, slices.Clone(sum.Params)
	if err := r.expandAgain(w.models[0], model, d, m, w.sc, scatter); err != nil {
		return absurd(f.log, m)
	}
	return nil
}

// expandAgain expands a dive's likelihood about its mixture's mean: where a
// dive alone cannot tell causes apart, its best fit lies far out.
func (r *Result) expandAgain(was, m *predict.Model, d *DiveFit, own *dive, sc *scratch, variance []float64) error {
	sum := d.Summary
	a, err := r.Alone(&sum.Quadratic)
	if err != nil {
		return err
	}
	mix, err := r.Mixture(a, variance)
	if err != nil {
		return err
	}
	if sum.turning = mix.Log; sum.Intermittent() {
		return nil // expanded where it fits, with the contact loose
	}
	for i, x := range mix.Mean() {
		k := r.Space.All[r.Free[i]]
		sum.Params[k] = r.Base[k] + x
	}
	own.allowInexact(was, m, sum.Params, soundOn(r.Base, sum), sc)
	return own.summarise(m, r.Space, r.Base, sum, sc)
}

// belowCold is how many kelvins below which a battery's resistance rises a
// dive's water was, on average.
func (d *dive) belowCold() float64 {
	sum, n := 0.0, 0.0
	for i := range d.obs {
		sum, n = sum+predict.BelowCold(d.obs[i].Cond.WaterC), n+1
	}
	return sum / max(n, 1)
}

func mean(ps []predict.Params) predict.Params {
	out := make(predict.Params, len(ps[0]))
	for _, p := range ps {
		for k, x := range p {
			out[k] += x / float64(len(ps))
		}
	}
	return out
}

// Departure is how far a dive's parameter lies from the baseline's mean, with
// its interval: of the battery's resistance and the insulation what the vehicle
// has, the former as it was in that dive's cold and at its charge.
func (r *Result) Departure(dive, param int) normal.Interval {
	d, at := &r.Dives[dive], r.Space.Place[param]
	sound, factor := 0.0, 1.0
	if param == predict.BatteryOhm {
		sound = r.Model.Vehicle.Battery.ResistanceOhm
		factor = r.raisedBy(d)
	}
	extra := 0.0
	if param == predict.BatteryOhm {
		extra = sq(recoveryOhm)
	}
	if d.Own != nil {
		x := d.Own[at]
		return normal.Of(factor*(sound+x.Mean), math.Sqrt(sq(factor)*max(x.Variance, 0)+extra))
	}
	w, constant := r.formOf(d, param, sound, factor)
	return d.mix.Interval(w, constant, extra)
}

// formOf is a later dive's departure in a parameter as a linear form of what its mixture is of, and a constant;
// what is sound is factor times itself in that dive.
func (r *Result) formOf(d *DiveFit, param int, sound, factor float64) (w []float64, constant float64) {
	at := r.Space.Place[param]
	w = make([]float64, len(r.Free)+len(r.Keep))
	w[slices.Index(r.Free, at)] = factor
	if absolute(r.Space, at) {
		constant = factor * (sound + r.Base[param])
		w[len(r.Free)+slices.Index(r.Keep, r.Space.InStatic[at])] = factor
	}
	if param == predict.BatteryOhm {
		for _, by := range d.raised {
			w[len(r.Free)+slices.Index(r.Keep, r.Space.InStatic[r.Space.Place[by.param]])] = by.x * (sound + r.Base[param])
		}
	}
	return w, constant
}

// A raise is what the battery's resistance is higher by of itself in a dive, per unit of a parameter: the cold, and its
// charge spent.
type raise struct {
	param int
	x     float64
}

// raisedBy is how many times itself the battery's resistance is in a dive.
func (r *Result) raisedBy(d *DiveFit) float64 {
	factor := 1.0
	for _, by := range d.raised {
		factor += r.Base[by.param] * by.x
	}
	return factor
}

// recoveryOhm is what a battery's slow recovery from a load, which the model
// leaves out, reads as, one standard deviation: four millivolts at ten amperes;
// common practice, no source. It stands for what no further dive would tell.
const recoveryOhm = 0.0004
