package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/parallel"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// baseline calibrates on the baseline dives. Dives that contradict the calibration, or that look as
// if a thruster failed, are left out and the calibration is fitted again.
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
	keepMany(base)
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
	c.before = c.save()
	f.file = r.Space.Prior
	for {
		fitted, err := f.fromStart(c)
		for err == nil && c.leaveOut(func(b int) bool { return base[b].disagree(models[b], fitted[b], sc) }) {
			fitted, err = f.fromStart(c)
		}
		if err != nil {
			return orAbsurd(err, f.log, base[0])
		}
		if err := f.calibrate(fitted); err != nil || n < 2 {
			return err
		}
		failed := f.lookFailed()
		if !c.leaveOut(func(b int) bool { return failed[b] }) {
			return nil
		}
	}
}

// calibrate computes the posterior of the calibration about fitted, each baseline
// dive's parameters.
func (f *fitting) calibrate(fitted []predict.Params) error {
	r, sc := f.r, f.workers[0].sc
	r.Base = mean(fitted)
	for _, k := range priors.OfOneDive {
		r.Base[k] = r.Space.Of[k].Mean
	}
	r.Base[predict.StreamMS] = 0
	for i := range fitted {
		d := &f.matched[i]
		sum := &Summary{Params: fitted[i], Contradicts: d.contradicts, LeftOut: d.leftOut}
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

// lookFailed reports for each baseline dive whether it looks as if a thruster failed.
func (f *fitting) lookFailed() []bool {
	out := make([]bool, f.r.Baseline)
	_ = parallel.Each(f.workers, len(out), func(b int, w worker) error {
		out[b] = f.looksFailed(b, w)
		return nil
	})
	return out
}

// looksFailed reports whether baseline dive b, fitted as a later dive is, looks as if a thruster
// failed, and stores the failures in its DiveFit. It tries only dives that do not agree with the
// others: those that contradict themselves, were widened or have an outlier.
func (f *fitting) looksFailed(b int, w worker) bool {
	r, d, m := f.r, &f.r.Dives[b], &f.matched[b]
	if !m.contradicts && slices.Equal(d.scatter, r.expectedScatter()) && !slices.ContainsFunc(m.cells, func(c Cell) bool { return c.Outlier }) {
		return false
	}
	summary, before, cells := d.Summary, *m, slices.Clone(m.cells)
	defer func() { d.Summary, *m = summary, before; copy(m.cells, cells) }()
	m.leftOut = false
	m.setAnew()
	d.failed = nil
	if f.byItself(b, w, r.expectedScatter()) == nil {
		_, d.failed, _ = r.likeliest(d.Summary)
	}
	return d.failed != nil
}

// withoutDives is the calibration of a log without dives: what the vehicle's file alone says.
func (r *Result) withoutDives() error {
	ns := len(r.Space.Static)
	r.Cov, r.SoundOffset = r.Space.Prior.Cov, make([]float64, ns)
	r.SoundCov = r.Cov
	r.Apart = make([]float64, len(r.Space.Scatter))
	r.invert()
	return nil
}

// invert stores the inverse of the calibration's covariance; ok is false if it is singular.
func (r *Result) invert() (ok bool) {
	r.Precision, ok = normal.Invert(r.Cov)
	return ok
}

// saved holds the state that a fit changes beside its parameters.
type saved struct {
	c        *calibration
	cells    [][]Cell
	obs      [][]observation
	variance [][]float64
	noise    instrument.Noise
}

func (c *calibration) save() saved {
	s := saved{c: c, noise: *c.noise}
	for b, d := range c.dives {
		s.cells, s.obs = append(s.cells, slices.Clone(d.cells)), append(s.obs, slices.Clone(d.obs))
		s.variance = append(s.variance, slices.Clone(c.variance[b]))
	}
	return s
}

func (s *saved) restore() {
	*s.c.noise = s.noise
	s.c.sc.predicted.d = nil // predictions may be of other conditions
	for b, d := range s.c.dives {
		copy(d.cells, s.cells[b])
		copy(d.obs, s.obs[b])
		copy(s.c.variance[b], s.variance[b])
	}
}

// ofLeftOut is the factor on the residuals of a dive that is left out.
const ofLeftOut = 1e-3

// leaveOut leaves out of the next calibration the dives that contradict this one, unless all do. It
// reports whether the set of dives left out has changed.
func (c *calibration) leaveOut(contradicts func(dive int) bool) (another bool) {
	sound := false
	for b, d := range c.dives {
		d.contradicts = contradicts(b) || d.contradicts
		sound = sound || !d.contradicts
	}
	for _, d := range c.dives {
		out := d.contradicts && sound
		another = another || out != d.leftOut
		d.leftOut = out
	}
	return another
}

// leastIngressG is the least limit of the water taken in that is set for a file without one: a vehicle
// that floats by less is trimmed before each dive. Common practice, no source.
const leastIngressG = 10.0

// limitIngress sets the limit of the water taken in, if the file does not state it, to what the
// sound vehicle floats by at the surface with the newest ballast where that is less: it then sinks.
// What it floats by must be stated or read.
func (f *fitting) limitIngress() {
	r := f.r
	m := r.Model
	read := slices.ContainsFunc(f.matched, func(d dive) bool {
		return slices.ContainsFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.Trim })
	})
	if r.Baseline == 0 || !m.Vehicle.IngressLimitGuessed() || !read && m.Vehicle.Belief("hull.trim_g").Origin == vehicle.Prior {
		return
	}
	c := predict.Condition{Sign: make([]int8, len(m.Vehicle.Thrusters)), WaterC: 15, Salinity: f.log.NewestSalinityPSU(), BallastG: f.log.LastBallastG()}
	floats := m.NetBuoyancyG(&c, r.Base)
	for _, m := range r.Models { // whose vehicles are this result's own
		if v := m.Vehicle; floats > 0 {
			v.Limits.IngressG = min(v.Limits.IngressG, max(math.Floor(floats), leastIngressG))
		}
	}
}

// limitBattery sets the resistance limit of a battery for which the file gives neither a limit nor
// a resistance: twice the most that its sound dives leave open, not twice a guess, and never
// less than twice the lowest usual one.
func (r *Result) limitBattery() {
	if r.Baseline == 0 {
		return
	}
	i := r.Space.InStatic[r.Space.Place[predict.BatteryOhm]]
	variance := r.SoundCov.At(i, i)
	if r.LoadA > 0 {
		j := r.Space.InStatic[r.Space.Place[predict.SurfaceV]]
		variance += 2*r.SoundCov.At(i, j)/r.LoadA + r.SoundCov.At(j, j)/sq(r.LoadA)
	}
	doubt := vehicle.Z95 * math.Sqrt(variance)
	for _, m := range r.Models { // whose vehicles are this result's own
		if v := m.Vehicle; v.BatteryLimitGuessed() {
			v.Limits.BatteryResistanceOhm = 2 * max(v.Battery.ResistanceOhm+r.Base[predict.BatteryOhm]+r.surfaceOhm(r.Base)+doubt, v.Belief("battery.resistance_ohm").Low)
		}
	}
}
