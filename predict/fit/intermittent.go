package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// intermittentSizes are the standard deviations from line to line, in Ω, tried for an intermittent
// contact.
var intermittentSizes = [...]float64{0.05, 0.1, 0.2, 0.4, 1, MaxIntermittentOhm}

// MaxIntermittentOhm is the largest tried: a contact may vary by more.
const MaxIntermittentOhm = 2.5

// modelScatter is the share of the loop's resistance by which a vehicle's voltage may vary from
// line to line with nothing loose: the model has a thruster's current a little wrong, held against
// running and ahead against astern, and through a long tether a voltmeter sees it. Set on a
// simulator with other physics, where drops of one sound dive differed by 2 %.
const modelScatter = 0.015

// minIntermittentGain is the gain in log evidence above which a dive is taken to have an
// intermittent contact.
const minIntermittentGain = 2

// fitIntermittent fits a dive with each size of contact scatter, from a sound vehicle on, and
// expands its likelihood at the best fit; none is the log evidence of the firm fit. The cells keep
// the weights of the best fit. It returns that fit's parameters and whether its evidence clears
// minIntermittentGain.
func (f *diver) fitIntermittent(d *dive, sum *Summary, start []float64, none float64) (predict.Params, bool, error) {
	fresh := append(f.sc.fresh[:0], d.cells...)
	for k := range fresh {
		fresh[k].Outlier, fresh[k].weight = fresh[k].slip, 1
	}
	best, size, below, firm, unsettled := math.Inf(-1), 0.0, false, d.notConverged, false
	bestCells := append(f.sc.best[:0], d.cells...)
	at := make(predict.Params, len(f.base))
	byModel := modelScatter * f.m.Vehicle.LoopOhm(d.obs[0].Cond.WaterC)
	for _, ohm := range intermittentSizes {
		copy(d.cells, fresh)
		f.weighIntermittent(d, start, ohm)
		y, log, err := f.solve(d, start, ohm)
		if err != nil {
			return nil, false, err
		}
		if log <= best {
			break // larger ones are less likely still: so in each of 973 dives
		}
		best, size, unsettled = log, ohm, d.notConverged
		lines := y[:len(y)-len(start)]
		copy(at, f.params(f.sc.params, y[len(lines):]))
		below = belowSound(at[predict.LoopOhm]-f.base[predict.LoopOhm]+f.loopDoubt(byModel), lines, len(lines)/len(d.obs), math.Inf(1))
		copy(bestCells, d.cells)
	}
	copy(d.cells, fresh)
	if size <= byModel || best <= none || below {
		d.notConverged = firm
		return nil, false, nil
	}
	f.weighIntermittent(d, start, byModel)
	_, log, err := f.solve(d, start, byModel)
	if err != nil {
		return nil, false, err
	}
	gained := max(log-none, 0) // what the model's own error gains
	if best <= none+gained {
		d.notConverged = firm
		return nil, false, nil
	}
	copy(d.cells, bestCells)
	sum.Intermittent, sum.IntermittentOhm = &normal.Quadratic{}, size
	d.allowInexact(f.baseline, f.m, sum.Params, soundOn(f.base, sum), f.sc)
	d.chords(f.m, at, soundOn(f.base, sum), f.sc)
	d.boundSlopes(f.sp, f.sc)
	err = d.expand(sum.Intermittent, f.sp, f.origin, at, size, f.sc)
	copy(d.cells, bestCells)
	sum.Intermittent.Log -= math.Log(float64(len(intermittentSizes))) + gained // the choice of size, and the model's own gain
	worth := best-none-gained > minIntermittentGain
	if d.notConverged = firm; worth {
		d.notConverged = unsettled
	}
	return at, worth, err
}

// mostBelow is the largest share of the way from the best to the worst line of a dive that may lie
// below the sound loop's resistance if a contact comes and goes, which only adds to it. Where lamps
// that no line mentions are on in some lines, all of it does: of three logs of a simulator with other
// physics the share was 0 to 0.3 in contacts and 0.6 to 0.9 in lamps.
const mostBelow = 0.45

// farBelow is how many standard deviations of the model's own error the sound loop may lie lower:
// common practice, no source.
const farBelow = 3.0

// belowSound reports whether too much of what only adds lies below the sound level, or any line lies
// farthest below it or more: x on average, and by line at the end of each of groups of per numbers in
// lines.
func belowSound(x float64, lines []float64, per int, farthest float64) bool {
	least, most := math.Inf(1), math.Inf(-1)
	for k := per - 1; k < len(lines); k += per {
		least, most = min(least, lines[k]), max(most, lines[k])
	}
	return -(x + least) > min(mostBelow*(most-least), farthest)
}

// loopDoubt returns how far below the calibrated resistance, Ω, the sound loop's may lie: by the
// calibration, and by what the model has wrong.
func (f *diver) loopDoubt(byModel float64) float64 {
	i := f.sp.InStatic[f.sp.Place[predict.LoopOhm]]
	if i < 0 {
		return farBelow * byModel
	}
	return farBelow*byModel + vehicle.Z95*math.Sqrt(f.cov.At(i, i))
}

// weighIntermittent reweighs a dive's cells by their distance from a sound vehicle whose contact
// scatters, so that a slip does not lead the fit astray.
func (f *diver) weighIntermittent(d *dive, start []float64, ohm float64) {
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = append(o.Unknown, circumstances.Unknown{Param: predict.LoopOhm, Dive: ohm, Line: ohm})
	}
	d.reweigh(f.m, f.noise, f.params(f.sc.params, start), perLine{}, f.sc)
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = o.Unknown[:len(o.Unknown)-1]
	}
}

// evidence is the log of the integral over a dive's unknowns by Laplace's method about its fit,
// with Huber's loss, bounded for cells set aside. Constants that do not depend on which unknowns
// lines have of their own are left out.
func (d *dive) evidence(res *lsq.Result, of []lineScatter) float64 {
	loss := res.Cost + d.robustLoss()
	out := -0.5*loss - 0.5*res.LogDet
	for k := range d.cells {
		if c := &d.cells[k]; !c.Outlier {
			out -= c.lnNoisier()
		}
	}
	for _, s := range of {
		out -= float64(len(d.obs)) * math.Log(s.sd)
	}
	return out
}

// lineScatterGain is the largest gain in log-likelihood, in nats, of a parameter that scatters from
// line to line with one of some sizes over one that does not. Residuals are taken at p; a common
// level, integrated out, accounts for the degree of freedom of the dive's fitted mean.
func (d *dive) lineScatterGain(m *predict.Model, p predict.Params, param int, sizes []float64, sc *scratch) float64 {
	all, _ := d.levels(m, p, param, sc)
	like := func(sd float64) float64 {
		var s scattering
		for _, x := range all {
			s.add(x, sd)
		}
		return s.log()
	}
	most := math.Inf(-1)
	for _, sd := range sizes {
		most = max(most, like(sd))
	}
	return most - like(0)
}

// A level is a line's estimate of a parameter, less the mean of all lines, and its information (0:
// no estimate).
type level struct{ at, info float64 }

// levels returns the levels of a dive's lines at p: all with every cell but slips in full weight,
// and without with only the cells of full weight.
func (d *dive) levels(m *predict.Model, p predict.Params, param int, sc *scratch) (all, without []level) {
	keep := append(sc.cells[:0], d.cells...)
	for k := range d.cells {
		if c := &d.cells[k]; c.weight < 1 || c.Outlier {
			c.weight, c.Outlier = 1, c.slip
		}
	}
	d.residuals(m, p, perLine{}, sc, true)
	copy(d.cells, keep)
	all, without = make([]level, len(d.obs)), make([]level, len(d.obs))
	for k := range d.cells {
		c, j := &d.cells[k], sc.jac[k][param]
		all[c.obs].add(j*sc.r[k], j*j)
		if c.weight == 1 && !c.Outlier {
			without[c.obs].add(j*sc.r[k], j*j)
		}
	}
	var sum, info float64
	for _, x := range all {
		sum, info = sum+x.at, info+x.info
	}
	for k := range d.obs {
		all[k].over(sum, info)
		without[k].over(sum, info)
	}
	return all, without
}

// add adds a cell's slope times its residual, and its information, its slope squared.
func (l *level) add(slope, info float64) { l.at, l.info = l.at+slope, l.info+info }

// over divides by the information and subtracts the level of all lines, sum/info.
func (l *level) over(sum, info float64) {
	if l.info > 0 {
		l.at = l.at/l.info - sum/info
	}
}

// A scattering holds the sums of the likelihood of scattering levels: the weights, the weighted
// levels and their squares, and the logarithms of the variances.
type scattering struct{ weight, sum, squares, logs float64 }

// add adds a level that scatters by sd.
func (s *scattering) add(l level, sd float64) {
	if l.info > 0 {
		v := 1/l.info + sd*sd
		s.weight, s.sum, s.squares, s.logs = s.weight+1/v, s.sum+l.at/v, s.squares+l.at*l.at/v, s.logs+math.Log(v)
	}
}

// and returns the sums of both.
func (s scattering) and(o scattering) scattering {
	return scattering{s.weight + o.weight, s.sum + o.sum, s.squares + o.squares, s.logs + o.logs}
}

// log is the levels' log density, their mean integrated out.
func (s scattering) log() float64 {
	if s.weight == 0 {
		return 0
	}
	return -0.5 * (s.logs + s.squares - sq(s.sum)/s.weight + math.Log(s.weight))
}

// An unevenness is a parameter that may vary from line to line of a dive, the standard deviations
// tried, and the share of dives in which it does.
type unevenness struct {
	param int
	sizes []float64
	dives float64
}

// unevenBattery are the standard deviations tried for how a battery's rest voltage varies from line
// to line beside its sag, as shares of the nominal voltage: a battery just charged falls fast at
// first, one that runs empty fast at the end, and a rest lets it recover. unevenStream are those,
// in m/s, of a stream along runs that are each timed one way: on lines timed there and back in turn
// it comes from ahead in one and from astern in the next. unevenLoad are those, in A, of lamps that
// no line mentions and that are on in some lines. Common practice, no source. The middle
// size is tried first: the others are skipped where it is less likely than none. Of 1,771 such
// dives one would have taken another size.
var (
	unevenBattery = []float64{0.003, 0.001, 0.01}
	unevenStream  = []float64{0.1, 0.03, 0.2}
	unevenLoad    = []float64{1, 0.4, 2.5}
)

const (
	unevenDives   = 0.1
	drainedDives  = 0.5 // of dives that would empty the battery by their last line
	turningStream = 0.3 // of dives with runs timed one way
	switchedLoad  = 0.02
)

// halfSpent is the share of the charge spent by a dive's last line from which more such dives are
// uneven. Common practice, no source. Without it a log of an hour's runs on 3 Ah had a jam by turns
// and then a contact that comes and goes, over 0.99.
const halfSpent = 0.5

// spends returns the share of the battery's charge that a dive spends by its last line, if what each
// line has on ran from the start.
func (f *diver) spends(d *dive) (share float64) {
	for k := range d.obs {
		c := &d.obs[k].Cond
		f.m.Solve(c, f.base, &f.sc.pt, nil)
		share = max(share, f.sc.pt.Out[quantity.CurrentA]*c.Minute/60/f.m.Vehicle.Battery.CapacityAh)
	}
	return share
}

// uneven returns the parameters that may vary from line to line of a dive.
func (f *diver) uneven(d *dive) []unevenness {
	volts := slices.Clone(unevenBattery)
	for i := range volts {
		volts[i] *= f.m.Vehicle.Battery.NominalV
	}
	drained := min(max(f.spends(d)-halfSpent, 0)/(1-halfSpent), 1)
	out := []unevenness{{predict.OpenCircuitV, volts, unevenDives + (drainedDives-unevenDives)*drained}}
	if d.timedOneWay() {
		out = append(out, unevenness{predict.StreamMS, unevenStream, turningStream})
	}
	if slices.ContainsFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.CurrentA }) && slices.Contains(f.free, f.sp.Place[predict.UnloggedA]) {
		out = append(out, unevenness{predict.UnloggedA, unevenLoad, switchedLoad})
	}
	return out
}

// allowUneven lets a parameter of a dive vary from line to line if the readings ask for it, and
// expands the likelihood again; none is the log evidence without. It returns the higher log
// evidence.
func (f *diver) allowUneven(d *dive, u unevenness, sum *Summary, start []float64, none float64) (log float64, err error) {
	top, best, converged, at, cells := none, 0.0, !d.notConverged, sum.Params, slices.Clone(d.cells)
	for i, sd := range u.sizes {
		d.countAgain()
		d.setUneven(u.param, sd)
		d.reweigh(f.m, f.noise, f.params(f.sc.params, start), perLine{}, f.sc)
		x, log, err := f.solve(d, start, 0)
		if err != nil {
			return 0, err
		}
		if i == 0 && log < none {
			break
		}
		lines := x[:len(x)-len(start)]
		if u.param == predict.UnloggedA && belowSound(f.params(f.sc.params, x[len(lines):])[predict.UnloggedA], lines, len(lines)/len(d.obs), sd) {
			continue // lamps only add, and of two lines in each other's place one draws far less
		}
		if log += math.Log(u.dives / float64(len(u.sizes))); log > top {
			top, best, converged = log, sd, !d.notConverged
			at, cells = slices.Clone(f.params(f.sc.params, x[len(x)-len(start):])), slices.Clone(d.cells)
		}
	}
	d.setUneven(u.param, best)
	copy(d.cells, cells)
	sum.Params, d.notConverged = at, !converged
	return top, d.summarise(f.m, f.sp, f.origin, sum, f.sc)
}

// setUneven sets the standard deviation of a parameter from line to line of a dive, 0 for none.
func (d *dive) setUneven(param int, sd float64) {
	d.uneven = slices.DeleteFunc(slices.Clone(d.uneven), func(s lineScatter) bool { return s.param == param })
	if sd > 0 {
		d.uneven = append(d.uneven, lineScatter{param, sd})
	}
	d.spreadUneven()
}

// spreadUneven makes the parameters in d.uneven unknowns of every line.
func (d *dive) spreadUneven() {
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = slices.DeleteFunc(slices.Clone(o.Unknown), func(u circumstances.Unknown) bool {
			return u.Param == predict.OpenCircuitV || u.Param == predict.StreamMS || u.Param == predict.UnloggedA
		})
		for _, s := range d.uneven {
			o.Unknown = append(o.Unknown, circumstances.Unknown{Param: s.param, Line: s.sd})
		}
	}
}

// disagrees is the gain, in nats, from which on a baseline dive contradicts itself: a loop
// resistance that varies from line to line explains it that much better, whichever line is left
// out, since a slip is of one line. A stream that comes from ahead and from astern in turn may
// explain it as well. In 1,200 dives of sound seasons simulated with other physics the most was
// 1.4, with intermittent contacts and with jammed thrusters 190 and more.
const disagrees = 5.0

// disagree reports whether a dive's lines contradict one another at its fit p.
func (d *dive) disagree(m *predict.Model, p predict.Params, sc *scratch) bool {
	most := d.leaveOneOutGains(m, p, predict.LoopOhm, intermittentSizes[:], sc)
	if d.timedOneWay() {
		for i, stream := range d.leaveOneOutGains(m, p, predict.StreamMS, unevenStream, sc) {
			most[i] -= max(stream, 0)
		}
	}
	return slices.Min(most) >= disagrees
}

// leaveOneOutGains returns lineScatterGain of the whole dive, then with each line in turn reduced
// to its cells of full weight. It combines running sums of the lines before, the lines after and
// the rest of the line.
func (d *dive) leaveOneOutGains(m *predict.Model, p predict.Params, param int, sizes []float64, sc *scratch) []float64 {
	all, without := d.levels(m, p, param, sc)
	n := len(all)
	after := make([]scattering, n+1)
	like := func(sd float64, take func(i int, log float64)) {
		for i := n - 1; i >= 0; i-- {
			after[i] = after[i+1]
			after[i].add(all[i], sd)
		}
		take(0, after[0].log())
		var before scattering
		for i := range all {
			rest := before
			rest.add(without[i], sd)
			take(i+1, rest.and(after[i+1]).log())
			before.add(all[i], sd)
		}
	}
	most := make([]float64, n+1)
	for i := range most {
		most[i] = math.Inf(-1)
	}
	for _, sd := range sizes {
		like(sd, func(i int, log float64) { most[i] = max(most[i], log) })
	}
	like(0, func(i int, log float64) { most[i] -= log })
	return most
}
