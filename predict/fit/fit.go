package fit

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/parallel"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A Result is a fitted logbook: the calibration on the baseline dives and every dive against it.
type Result struct {
	mixture.Calibrated
	Model    *predict.Model // the vehicle as built for the next dive
	Base     predict.Params // the mean of the baseline dives
	Cov      *mat.SymDense  // of Base's static parameters
	SoundCov *mat.SymDense  // of Base + SoundOffset
	Baseline int            // how many of the first dives count as sound
	Dives    []DiveFit
	Status   lsq.Status // of the calibration's fit

	FromStart []FromStart // most probable first; none if the vehicle is likelier as its file says

	Noise         *instrument.Noise // the newest learnt from the dives
	noises        []knownNoise      // all that were learnt, in the dives' order
	Circumstances circumstances.Typical
	OneWay        bool      // runs are timed one way
	Charge        float64   // share left at rest at which the battery's resistance is known
	LoadA         float64   // current at which what the battery loses as soon as anything runs counts in its resistance; 0: it loses nothing, or the file states the resistance
	learnt        []float64 // Scatter of the first learntFrom dives
	learntFrom    int
	Eras          []vehicle.Era
	Later         []string         // in words: rebuilds after the next dive, which no era has
	Models        []*predict.Model // by era
}

// Upto returns the result of the first n dives, with the same calibration.
func (r *Result) Upto(n int) *Result {
	out := *r
	if out.Dives = r.Dives[:n]; n < len(r.Dives) {
		out.Later = nil
	}
	for _, k := range r.noises {
		if k.before <= n {
			out.Noise = k.Noise
		}
	}
	return &out
}

// A DiveFit holds one dive's own estimates, which rest on its lines and the calibration alone.
type DiveFit struct {
	Log     *session.Dive
	Summary *Summary
	Cells   []Cell
	Era     int
	Battery string // label of the battery used
	OfDay   int    // how many dives have its day; 1 if it has none

	d          dive
	alone      mixture.Alone
	given      mixture.Alone    // the same with the static parameters known, unless a thruster failed
	failed     []causes.Failure // those that it looks like
	by         []Departure      // of the likeliest of them
	Departures []normal.Normal  // departures of a baseline dive, by place
	mix        *mixture.Mixture // of a later dive
	rest       normal.Normal    // its rest voltage, less the baseline's

	raised []raise // what raises the battery's resistance

	scatter []float64 // variances of a baseline dive, as the calibration widened them

	compared []Compared // cells beside its own fit; nil until asked for
}

// Fit calibrates on the baseline dives and fits each dive of a log. Without dives the result rests
// on the vehicle's file and on how far vehicles differ from their files.
func Fit(v *vehicle.Vehicle, log *session.Log) (*Result, error) {
	f := fitting{log: log}
	if err := f.prepare(v); err != nil {
		return nil, err
	}
	if err := f.baseline(); err != nil {
		return nil, err
	}
	f.setLoad()
	f.r.limitBattery()
	f.limitIngress()
	return f.r, f.dives()
}

// Unfitted returns what a log tells before it is fitted: how its dives are made.
func Unfitted(v *vehicle.Vehicle, log *session.Log) (*Result, error) {
	f := fitting{log: log}
	err := f.prepare(v)
	return f.r, err
}

// fitting is the state of Fit.
type fitting struct {
	r       *Result
	log     *session.Log
	matched []dive
	workers []worker
	file    priors.Prior // prior of a vehicle as its file says

	factors  *instrument.Factors // learnt from dives after the baseline
	lastRead map[alike]meanOf
}

func (f *fitting) prepare(v *vehicle.Vehicle) error {
	if len(f.log.Dives) > 0 {
		v = v.Unlearnt()
	}
	eras, err := v.Eras(f.log.Labels())
	if err != nil {
		return err
	}
	r := &Result{Dives: make([]DiveFit, len(f.log.Dives)), Noise: instrument.NewNoise(v), Eras: eras, Later: v.Later(f.log.Labels())}
	f.r = r
	for i := range eras {
		r.Models = append(r.Models, predict.NewModel(eras[i].Vehicle))
	}
	ofDive, onDay := make([]*predict.Model, len(r.Dives)), map[string]int{}
	for i := range f.log.Dives {
		onDay[f.log.Dives[i].Day()]++
	}
	onDay[""] = 1
	for i := range r.Dives {
		r.Dives[i].Era, r.Dives[i].Battery, r.Dives[i].OfDay = eraOf(eras, i), f.log.Dives[i].Battery, onDay[f.log.Dives[i].Day()]
		ofDive[i] = r.Models[r.Dives[i].Era]
	}
	r.Model = r.Models[len(r.Models)-1]
	if f.matched, r.Circumstances, err = match(ofDive, f.log, r.Noise); err != nil {
		return err
	}
	r.Baseline = min(v.Baseline.Dives, len(r.Dives))
	r.Calibrated = mixture.New(priors.New(r.Models[0], priors.Log{Unneeded: unneeded(r.Models[0], f.log, f.matched), Unread: f.unread(r.Baseline)}))
	r.OneWay = slices.ContainsFunc(f.matched, func(d dive) bool { return d.streams() })
	f.setSpentCharge()
	for i := range r.Dives {
		d, m := &r.Dives[i], &f.matched[i]
		d.raised = []raise{{predict.BatteryPerK, m.belowCold()}, {predict.BatteryPerSpent, m.spent}}
	}
	f.workers = newWorkers(r.Models, f.matched)
	return nil
}

// unneeded returns the parameters of what a log never has: a battery read with all off, lights on, an
// ohmmeter, readings that depend on buoyancy, hover weights before and after a run, water of unread temperature, thrusters in reverse, runs
// before the first depth or the first length of tether out, climbs that nobody timed.
func unneeded(m *predict.Model, log *session.Log, dives []dive) []int {
	lit, read, paidOut, rests := false, true, false, false
	var has [quantity.Count]bool
	for d := range log.Dives {
		for i := range log.Dives[d].Lines {
			l := &log.Dives[d].Lines[i]
			rests = rests || l.Electrical && !l.Lights && len(l.Drives) == 0 && l.Readings[quantity.BatteryV].Measured()
			lit, read, paidOut = lit || l.Lights, read && l.WaterC.Measured(), paidOut || l.TetherOut.Measured()
			for q := range quantity.Count {
				has[q] = has[q] || l.Readings[q].Measured()
			}
		}
	}
	var out []int
	if !lit {
		out = append(out, predict.LightsA, predict.UnlitA)
	}
	if !rests {
		out = append(out, predict.SurfaceV)
	}
	if !slices.ContainsFunc(dives, func(d dive) bool { return d.weighsAgain() }) {
		out = append(out, predict.WithinDiveG)
	}
	if !has[quantity.LoopOhm] {
		out = append(out, predict.LoopMeterOhm)
	}
	if !has[quantity.Trim] && !has[quantity.Climb] {
		out = append(out, predict.HullPerK, predict.TrimPerM)
	}
	if read {
		out = append(out, predict.YearCosK, predict.YearSinK, predict.MagnetYearCos, predict.MagnetYearSin)
	}
	for i := range m.Vehicle.Thrusters {
		if !slices.ContainsFunc(dives, func(d dive) bool { return d.reverses(i) }) {
			out = append(out, predict.OfThruster(i, predict.ReverseOhm))
		}
	}
	if !slices.ContainsFunc(dives, func(d dive) bool { return d.assumesDepth() }) {
		out = append(out, predict.AssumedDepthM)
	}
	if !slices.ContainsFunc(dives, func(d dive) bool { return d.climbsUntimed(m) }) {
		out = append(out, predict.ClimbShare)
	}
	if !paidOut || !slices.ContainsFunc(dives, func(d dive) bool { return d.assumesTether() }) { // of a log that never gives it the drag tells it
		out = append(out, predict.AssumedOutM)
	}
	return out
}

// unread returns the thrusters that none of the first dives were read with.
func (f *fitting) unread(dives int) (out []int) {
	for i := range f.r.Model.Vehicle.Thrusters {
		if !slices.ContainsFunc(f.matched[:dives], func(d dive) bool { return d.reads(i) }) {
			out = append(out, i)
		}
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

// asBuilt is the vehicle as assumed before any reading.
func (r *Result) asBuilt() predict.Params {
	p := r.Models[0].NewParams()
	for k := range p {
		p[k] += r.Space.Of[k].Mean
	}
	return p
}

// dives fits every dive against the calibration.
func (f *fitting) dives() error {
	r := f.r
	scatter := r.expectedScatter()
	for first, end := 0, r.Baseline; first < len(r.Dives); first, end = end, stage(end) {
		if err := parallel.Each(f.workers, min(end, len(r.Dives))-first, func(i int, w worker) error {
			return f.dive(first+i, w, scatter)
		}); err != nil {
			return err
		}
		if end <= len(r.Dives) {
			f.learnNoise(first, end)
			scatter = r.circumstancesShown(end)
		}
	}
	learnt := r.Scatter(len(r.Dives))
	r.learnt, r.learntFrom = learnt, len(r.Dives)
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

// dive fits dive i, if it is after the baseline, and stores what it says by itself.
func (f *fitting) dive(i int, w worker, scatter []float64) error {
	r, d, m := f.r, &f.r.Dives[i], &f.matched[i]
	d.Log = m.log
	if i >= r.Baseline {
		if err := f.byItself(i, w, scatter); err != nil {
			return err
		}
	}
	a, failed, err := r.likeliest(d.Summary)
	if err != nil {
		return absurd(f.log, m)
	}
	if d.given = a; failed == nil {
		d.given = r.GivenStatics(&d.Summary.Quadratic)
	}
	if d.alone = a; i >= r.Baseline {
		d.failed, d.by = failed, d.Summary.Failed[d.Summary.likeliestOf(failed)].By
	}
	d.rest = r.Freed(d.alone, scatter)[r.ScatterAt(r.Space.Place[predict.OpenCircuitV])]
	d.Cells, d.d = m.cells, *m
	return nil
}

// belowCold is how many kelvins a dive's water was on average below the temperature at which a
// battery's resistance begins to rise.
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
