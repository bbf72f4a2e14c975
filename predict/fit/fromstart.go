package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// A FromStart is a way in which the vehicle may never have been as its file says: a cause that has
// acted since before the first dive, or a key of the file that is off by far more than its
// tolerance.
type FromStart struct {
	Cause       *causes.Cause // nil for a key
	Key         *priors.Doubt
	Amplitude   float64 // a cause's first, in the unit of its parameter (none for a jam); a key's in standard deviations
	Probability float64 // given the baseline's readings; a vehicle as its file says is one of the alternatives
}

// A trial is a calibration with a cause that has acted since before the first dive, with a key that
// is off, or with neither.
type trial struct {
	FromStart
	log   float64 // evidence times prior odds, logarithm
	res   *lsq.Result
	prior *priors.Prior
	along priors.Direction // of a cause or a key
	after saved
}

// jam reports whether a thruster is jammed in the trial.
func (t *trial) jam() bool { return t.Cause != nil && t.Cause.Fails.Jam() }

// leastGain is the least gain, in nats, in the score test for a cause to be fitted: any less is
// below the cost of its prior odds.
const leastGain = 2.0

// mostTrials bounds the number of causes and keys fitted to a baseline, for the sake of time.
const mostTrials = 5

// keyWrong is the probability that a key of the file is wrong: a slip of the pen, or another part
// than was fitted. It is then off by keyOff times its tolerance, one standard deviation. Common
// practice, no source.
const (
	keyWrong = 0.02
	keyOff   = 4.0
)

// farthest bounds a cause's amplitude, in standard deviations of its largest size: a voltmeter that
// reads two thirds too much is not a cause, but slips in most of its readings.
const farthest = 2.0

// plainJam is the probability above which the calibration rests on a jam: likelier than all else.
const plainJam = 0.5

// fromStart calibrates on the baseline's dives, with the likeliest cause or key that may have been
// off since before the first if such trials together are likelier than none. A bad joint lies
// farther from the file than its tolerance: without a cause it would pass for instruments noisier
// than any is.
func (f *fitting) fromStart(c *calibration) ([]predict.Params, error) {
	f.r.FromStart = nil
	c.steps = max(c.steps, leastOfABaseline)
	none, err := c.try(&f.file, 0, nil)
	if err != nil {
		return nil, err
	}
	if f.widenSurface(c, &none) {
		if none, err = c.try(&f.file, 0, none.res.X); err != nil {
			return nil, err
		}
	}
	all, best := 0.0, &none
	tried := slices.DeleteFunc(append(f.trials(c, &none), f.jammedTrials(c)...), func(s trial) bool { return math.IsInf(s.log-none.log, 0) || math.IsNaN(s.log-none.log) })
	for i := range tried {
		all += math.Exp(tried[i].log - none.log)
	}
	if all > 1 {
		slices.SortFunc(tried, func(a, b trial) int { return cmp.Compare(b.log, a.log) })
		for i := range tried {
			s := &tried[i]
			s.Probability = math.Exp(s.log-none.log) / (1 + all)
			f.r.FromStart = append(f.r.FromStart, s.FromStart)
			if best == &none && (!s.jam() || s.Probability > plainJam) {
				best = s
			}
		}
	}
	if any := f.ofAny(c, &none, best); any != nil {
		best = any
	}
	best.after.restore()
	c.prior, f.r.Status = best.prior, best.res.Status
	f.r.Space.Prior = *best.prior
	return c.ofDives(best.res.X), nil
}

// try calibrates with a prior and with thruster which−1 jammed on all lines (0: none). It starts at
// x, or as the file says if x is nil.
func (c *calibration) try(prior *priors.Prior, which int, x []float64) (s trial, err error) {
	c.before.restore()
	c.prior = prior
	if which > 0 {
		c.jam(which)
		for _, d := range c.dives {
			m := c.models[0]
			ohm := m.Vehicle.Thrusters[which-1].ArmatureOhm
			d.doubt(predict.OfThruster(which-1, predict.BranchOhm), math.Hypot(stallOhm(m, m.NewParams(), which-1), stallDive*ohm), stallLine*ohm)
		}
	}
	if x == nil {
		s.res, err = c.fit()
	} else {
		s.res, err = c.descend(x)
	}
	if err != nil {
		return s, err
	}
	s.prior, s.after = prior, c.save()
	s.log = -(c.loss(s.res.X) + s.res.LogDet) / 2 // Laplace's approximation
	return s, nil
}

// A direction is how a cause or a key may take the vehicle away from its file.
type direction struct {
	FromStart
	priors.Direction
	odds  float64 // prior, logarithm
	worse float64 // the sign of a fault, 0 for either
	most  float64 // an amplitude from here on would be another cause
	gain  float64
}

// directions returns the directions that gain most in the score test with their prior odds: of each
// cause with one amplitude, in each size, and of each key; none of the battery if there are several.
func (f *fitting) directions(c *calibration, none *trial) (out []direction) {
	sp, dives := f.r.Space, f.r.Dives[:min(f.r.Baseline, len(f.r.Dives))]
	several := slices.ContainsFunc(dives, func(d DiveFit) bool { return d.Battery != dives[0].Battery })
	for i := range sp.Causes {
		cause := &sp.Causes[i]
		along, ok := sp.Along(i)
		if cause.Param() == predict.BatteryOhm && several { // no one resistance is off
			continue
		}
		if !ok || cause.Kind == causes.NotLogged && cause.UnderPower() { // of what the file counts ballast alone, or the sea
			continue
		}
		typical := along.SD
		most := farthest * typical * causes.Sizes[len(causes.Sizes)-1].Times
		if cause.Most > 0 {
			most = min(most, cause.Most)
		}
		for _, size := range causes.Sizes {
			along.SD = typical * size.Times
			out = append(out, direction{FromStart: FromStart{Cause: cause}, Direction: along, odds: mixture.Acting(cause) + math.Log(size.P), worse: cause.Worse, most: most})
		}
	}
	for _, key := range append(slices.Clone(sp.Keys), priors.OneThrusters(c.models[0].Vehicle)...) {
		out = append(out, direction{FromStart: FromStart{Key: &key}, Direction: sp.AlongKey(&key, keyOff), odds: math.Log(keyWrong / (1 - keyWrong)), most: math.Inf(1)})
	}
	for i := range out {
		out[i].gain = none.gain(c, out[i].Direction, out[i].worse)
	}
	out = slices.DeleteFunc(out, func(d direction) bool { return d.gain < leastGain })
	slices.SortStableFunc(out, func(a, b direction) int { return cmp.Compare(b.gain+b.odds, a.gain+a.odds) })
	return out[:min(len(out), mostTrials)]
}

// trials returns the calibrations along the directions of the score test; of a cause the likeliest
// size.
func (f *fitting) trials(c *calibration, none *trial) (out []trial) {
	for _, d := range f.directions(c, none) {
		if c.steps <= 0 {
			break
		}
		prior := f.file.Along(d.Direction)
		s, err := c.try(&prior, 0, none.res.X)
		if err != nil {
			continue
		}
		s.FromStart, s.along = d.FromStart, d.Direction
		s.log, s.Amplitude = s.log+d.odds, s.amplitude(c, d.Direction)
		if x := s.Amplitude; d.worse*x < 0 || math.Abs(x) >= d.most {
			continue
		}
		if i := slices.IndexFunc(out, func(o trial) bool { return o.Cause != nil && o.Cause == s.Cause }); i < 0 {
			out = append(out, s)
		} else if s.log > out[i].log {
			out[i] = s
		}
	}
	return out
}

// asLikely is by how many nats another thruster may gain less in the score test than the one of the
// likeliest trial for the calibration not to rest on either: less than five to one. Common practice,
// no source.
const asLikely = 1.6

// ofAny returns the calibration in which all thrusters may have what the likeliest trial has of one,
// if others are about as likely; nil if it is plain which one it is. Thrusters that only ran together
// in the baseline would else differ by all that they together differ from the file.
func (f *fitting) ofAny(c *calibration, none, best *trial) *trial {
	if best.Cause == nil || best.jam() || c.steps <= 0 {
		return nil
	}
	none.after.restore()
	least, prior, others := none.gain(c, best.along, best.Cause.Worse)-asLikely, *best.prior, 0
	for i := range f.r.Space.Causes {
		cause := &f.r.Space.Causes[i]
		along, ok := f.r.Space.Along(i)
		if along.SD = best.along.SD; ok && cause != best.Cause && cause.Alike(best.Cause) && none.gain(c, along, cause.Worse) > least {
			prior, others = prior.Along(along), others+1
		}
	}
	if others == 0 {
		return nil
	}
	s, err := c.try(&prior, 0, best.res.X)
	if err != nil {
		return nil
	}
	return &s
}

// jammedTrials returns the calibrations, from the file's vehicle, with each thruster jammed for
// which the readings gain at least jamWorth.
func (f *fitting) jammedTrials(c *calibration) (out []trial) {
	c.before.restore()
	sound := f.asBuiltLoss(c)
	for i := range f.r.Space.Causes {
		cause := &f.r.Space.Causes[i]
		if !cause.Fails.Jam() || c.steps <= 0 || c.pushes(cause.Fails.Thruster-1) {
			continue
		}
		c.jam(cause.Fails.Thruster)
		if loss := f.asBuiltLoss(c); loss > sound-2*jamWorth {
			c.before.restore()
			continue
		}
		if s, err := c.try(&f.file, cause.Fails.Thruster, nil); err == nil {
			s.log += math.Log(cause.Begins()) // nobody dives on with one for long
			s.Cause = cause
			out = append(out, s)
		}
	}
	return out
}

// plainlyPushes is by how many standard deviations the median pull of a thruster alone must be above
// nothing for it not to be jammed: common practice, no source.
const plainlyPushes = 5.0

// pushes reports whether thruster i was read to push with no other on.
func (c *calibration) pushes(i int) bool {
	var z []float64
	for _, d := range c.dives {
		for k := range d.cells {
			cell, signs := &d.cells[k], d.obs[d.cells[k].obs].Cond.Sign
			alone := signs[i] != 0 && !slices.ContainsFunc(slices.Delete(slices.Clone(signs), i, i+1), func(s int8) bool { return s != 0 })
			if cell.Quantity == quantity.Pull && alone {
				z = append(z, cell.Value/cell.SD)
			}
		}
	}
	slices.Sort(z)
	return len(z) > 0 && z[(len(z)-1)/2] > plainlyPushes
}

// asBuiltLoss is the bounded sum of squares of the baseline's readings about the file's vehicle.
func (f *fitting) asBuiltLoss(c *calibration) (loss float64) {
	at := f.r.asBuilt()
	for b, d := range c.dives {
		at[predict.OpenCircuitV] = d.rest
		d.predict(c.models[b], at, perLine{}, c.sc, true)
		for k := range d.cells {
			cell, want := &d.cells[k], c.sc.predicted.want[k]
			sd := math.Hypot(f.r.Space.Spread(c.sc.predicted.slope[k]), cell.noiseAt(c.noise, want))
			loss += min(sq((cell.Value-want)/sd), sq(hopeless))
		}
	}
	return loss
}

// jam has thruster which−1 jammed on all lines.
func (c *calibration) jam(which int) {
	for _, d := range c.dives {
		d.jam(which, c.sc)
	}
}

// inflatedMean is the mean over all baseline dives of the own departures of those whose buoyancy's
// variance was inflated, as happens if the file is far off. For parameters that readings under
// power tell, the shared departure is enough and it is 0: with them too, of 480 seasons of a
// simulator with other physics one more had an alarm without cause, and one a wrong finding over
// 0.9.
func (s *trial) inflatedMean(c *calibration, i int) (x float64) {
	if len(c.perDive) == 0 || causes.UnderPower(c.sp.All[c.sp.Static[i]]) {
		return 0
	}
	j := slices.Index(c.perDive, c.sp.All[c.sp.Static[i]])
	if j < 0 {
		return 0
	}
	for b := range c.dives {
		if c.variance[b][j] > sq(c.sp.Of[c.perDive[j]].Scatter) {
			x += s.res.X[b*c.each+j] / float64(len(c.dives))
		}
	}
	return x
}

// away returns how far the shared parameters lie from the prior's mean.
func (s *trial) away(c *calibration) []float64 {
	out := make([]float64, len(s.prior.Mean))
	for i, mean := range s.prior.Mean {
		out[i] = s.res.X[c.shared+i] - mean
	}
	return out
}

// scores returns the slope of a calibration's log-likelihood along a direction and its information
// there, all else unknown: with P the prior's precision, C the posterior's covariance and x − m the
// departure from the prior's mean, dᵀP(x − m) and dᵀPd − dᵀPCPd.
func (s *trial) scores(c *calibration, d priors.Direction, away []float64) (slope, info float64) {
	per := mat.NewVecDense(len(d.Per), d.Per)
	var pd mat.VecDense
	pd.MulVec(s.prior.Precision, per)
	return mat.Dot(&pd, mat.NewVecDense(len(away), away)), mat.Dot(&pd, per) - mat.Inner(&pd, s.res.Cov.SliceSym(c.shared, c.dim), &pd)
}

// gain is the score test's gain in log-likelihood, in nats, of freeing a direction; 0 if the slope
// goes the better way.
func (s *trial) gain(c *calibration, d priors.Direction, worse float64) float64 {
	if s.res.Cov == nil {
		return 0
	}
	away := s.away(c)
	for i := range away {
		away[i] += s.inflatedMean(c, i)
	}
	slope, info := s.scores(c, d, away)
	if worse*slope < 0 {
		return 0
	}
	v := sq(d.SD)
	return (sq(slope)*v/(1+info*v) - math.Log1p(info*v)) / 2
}

// amplitude is how far a calibration with a direction in its prior lies along it.
func (s *trial) amplitude(c *calibration, d priors.Direction) float64 {
	if s.res.Cov == nil {
		return 0
	}
	slope, _ := s.scores(c, d, s.away(c))
	return sq(d.SD) * slope
}
