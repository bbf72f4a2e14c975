package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// jamWorth is the least gain, in nats, of the baseline's readings together with a thruster jammed
// for a calibration with it to be tried: a jammed thruster draws two to five times its current and
// does not push, which is plain at once. Common practice, no source.
const jamWorth = 10.0

// fitFailures fits a dive with each of its thrusters jammed, its circuit open or its propeller
// lost, and keeps those likelihoods with which the readings are no less likely than with a sound
// vehicle. In a dive with one reading that says little, in many such dives much.
func (f *diver) fitFailures(d *dive, sum *Summary) error {
	cells := slices.Clone(d.cells)
	unknowns := make([][]circumstances.Unknown, len(d.obs))
	for k := range d.obs {
		unknowns[k] = d.obs[k].Unknown
	}
	restore := func() {
		f.jam(d, 0)
		copy(d.cells, cells)
		for k := range d.obs {
			d.obs[k].Unknown = unknowns[k]
		}
	}
	starts := f.besideFailure(d, sum)
	sound := math.Inf(1)
	for _, from := range starts {
		sound = min(sound, f.lossOf(d, from, sound))
	}
	sum.Idle = make([]bool, len(f.m.Vehicle.Thrusters))
	for i := range f.m.Vehicle.Thrusters {
		if sum.Idle[i] = !d.reads(i); sum.Idle[i] {
			continue
		}
		for _, in := range []causes.How{causes.Jammed, causes.Open, causes.Lost} {
			how := causes.Failure{Thruster: i + 1, How: in}
			if !f.draws(d, how) {
				continue
			}
			failed, err := f.failed(d, how, starts, sound)
			restore()
			if err != nil {
				return err
			}
			if failed.exact == nil {
				continue
			}
			if sum.Failed == nil {
				sum.Failed = map[causes.Failure]Failed{}
			}
			sum.Failed[how] = failed
		}
	}
	return nil
}

// failed returns the likelihood of a dive's readings with a failed thruster. It is empty if their
// bounded sum of squares exceeds most, a sound vehicle's, or if pulls or climbs show the thruster
// pushing. The dive stays as fitted with the failure; the caller restores it.
func (f *diver) failed(d *dive, how causes.Failure, starts [2]predict.Params, most float64) (out Failed, err error) {
	before := d.modelled(f.baseline, f.m, f.resting(d), f.sc)
	d.predict(f.m, f.resting(d), perLine{}, f.sc, false)
	soundCells, sound := slices.Clone(d.cells), slices.Clone(f.sc.predicted.want)
	var at predict.Params
	var loss float64
	base := slices.Clone(f.origin)
	f.jam(d, how.Thruster)
	d.predict(f.m, f.resting(d), perLine{}, f.sc, false)
	if d.climbs(sound, f.sc.predicted.want) {
		return Failed{}, nil
	}
	if how.Jam() {
		if f.shareOfJam(d, how.Thruster-1, starts) < leastOfJam {
			return Failed{}, nil
		}
		ohm := f.m.ArmatureOhm(f.base, how.Thruster-1)
		d.doubt(predict.OfThruster(how.Thruster-1, predict.BranchOhm), stallDive*ohm, stallLine*ohm)
		if at, loss = f.standing(d, how.Thruster-1, starts, most); loss > most {
			at = starts[0]
		}
		cells := slices.DeleteFunc(f.uncalibrated(d, at), func(k int) bool { return ofMotion(d.cells[k].Quantity) })
		if p := f.recalibrate(d, at, cells); p != nil {
			at, loss = p, f.lossOf(d, p, most)
		}
	} else {
		f.jam(d, 0)
		at, out.By, loss = f.departed(d, how, starts, most)
		for _, by := range out.By {
			d.doubt(by.Param, by.SD, 0)
		}
	}
	if loss > most {
		return Failed{}, nil
	}
	d.setAnew()
	markSlips := func() {
		d.markSlips(f.m, f.noise, at, f.sc, func(c *Cell, _ float64, slopes []float64) float64 { return d.obs[c.obs].Doubt(slopes) })
	}
	markSlips() // lest they draw the fit their way
	if err := f.fitBeside(d, how, out.By, at); err != nil {
		return Failed{}, err
	}
	markSlips()
	d.reweigh(f.m, f.noise, at, perLine{}, f.sc)
	if d.pulls(f.m, at, soundCells, sound, f.sc) {
		return Failed{}, nil
	}
	tried := f.farOff(how)
	for i := range out.By { // the quadratic is about this dive's own departure
		by := &out.By[i]
		by.X, base[by.Param] = at[by.Param]-base[by.Param], at[by.Param]
		if how.How == causes.Open { // no reading tells a larger resistance from this one
			most := tried[len(tried)-2][i]
			by.X, by.SD = min(by.X, most.X), min(by.SD, most.SD)
		}
	}
	for i := range out.By {
		if math.Abs(out.By[i].X) < leastOfFailure*math.Abs(tried[0][i].X) {
			return Failed{}, nil
		}
	}
	out.tried = max(len(tried), 1)
	quadratic := func() (*normal.Quadratic, error) {
		d.residuals(f.m, at, perLine{}, f.sc, true)
		d.boundSlopes(f.sp, f.sc)
		q := &normal.Quadratic{}
		err := d.expand(q, f.sp, base, at, 0, f.sc)
		q.Log += lossOfSlips(soundCells, sound) - lossOfSlips(d.cells, f.sc.predicted.want)
		return q, err
	}
	if out.exact, err = quadratic(); err != nil {
		return Failed{}, err
	}
	d.allowInexactSince(before, f.m, at, f.sc)
	for k := range d.cells { // a failed thruster's current is Ohm's law alone
		if c := &d.cells[k]; c.Quantity == quantity.CurrentA || c.Quantity == quantity.VehicleV {
			c.inexact = 0
		}
	}
	out.Quadratic, err = quadratic()
	return out, err
}

// leastOfFailure is the least share of a failure's smallest departures at which a dive's readings
// must be likeliest for them to be read as that failure: with less it is another fault, such as a
// contact with more resistance or a fouled propeller. Of 86 simulated logs with 0.4 Ω to an open
// circuit in one thruster's wiring 4 were told as a lost propeller with half as much and none with
// this.
const leastOfFailure = 0.8

// A Departure is how far a failed thruster's parameter lies from its sound value, and its standard
// deviation.
type Departure struct {
	Param int
	X, SD float64
}

// openOhms are the resistances tried for an open circuit, as multiples of its thruster's voltage
// over its current, held, as calibrated: below them is a branch with more resistance, with the
// largest it draws nothing. lostBy are the amounts by which the logarithms of a lost propeller's
// thrust and torque are tried lower: below them is a broken blade. All are as probable a priori:
// common practice, no source. The two failures look alike but for a little current, and need
// equally fine grids: of 80 simulated seasons with other physics of either failure 30 were reported
// above 0.99, 26 rightly; with one size of lost propellers, of twice the standard deviation, 11 of
// 32 lost propellers were reported as open circuits above 0.99.
var (
	openOhms = []float64{1, 2, 4, 8, 16, 32, 1000}
	lostBy   = []float64{2, 2.75, 3.5, 5}
)

// One standard deviation about the size tried, half way to the next: of a resistance as a share of
// it.
const (
	openApart = 0.35
	lostApart = 0.4
)

// farOff returns the departures with which a failure is tried, smallest first; none for a jam.
func (f *diver) farOff(how causes.Failure) (all [][]Departure) {
	i := how.Thruster - 1
	switch how.How {
	case causes.Open:
		of := f.m.TestOhm(f.base, i)
		for _, share := range openOhms {
			ohm := share * of
			all = append(all, []Departure{{predict.OfThruster(i, predict.BranchOhm), ohm, openApart * ohm}})
		}
	case causes.Lost:
		for _, x := range lostBy {
			all = append(all, []Departure{{predict.OfThruster(i, predict.LogOneThrust), -x, lostApart}, {predict.OfThruster(i, predict.LogOneTorque), -x, lostApart}})
		}
	}
	return all
}

// departed returns the vehicle, among starts with each size of a failure, at which a dive's
// readings are likeliest, its departures, and the readings' bounded sum of squares. Sums above most
// are cut short.
func (f *diver) departed(d *dive, how causes.Failure, starts [2]predict.Params, most float64) (at predict.Params, by []Departure, loss float64) {
	loss = math.Inf(1)
	for _, from := range starts {
		for _, tried := range f.farOff(how) {
			p := slices.Clone(from)
			for _, x := range tried {
				p[x.Param] += x.X
			}
			if l := f.lossOf(d, p, min(loss, most)); l < loss {
				at, by, loss = p, tried, l
			}
		}
	}
	return at, by, loss
}

// A standing motor's resistance differs from the one fitted to running motors: brushes, and a
// winding that heats while a line is read. One standard deviation as a share of the winding's: of
// one dive, and from line to line and from reading to reading. Common practice, no source.
const (
	stallDive = 0.1
	stallLine = 0.1
)

// stallApart is the same of all dives, of a winding whose resistance the file gives and of one that
// is guessed. In the jams of three simulators with other physics the current above a sound one is
// 0.86 to 1.2 of what the file's winding would let through, 0.6 to 2.1 of what a guessed one would.
// With 0.3 for both, a load nobody wrote down and stiff motors were jams, over 0.97, where it was
// 0.3 to 0.5 of that.
var stallApart = map[bool]float64{true: 0.15, false: 0.3}

// stallOhm returns stallApart of thruster i under p in Ω.
func stallOhm(m *predict.Model, p predict.Params, i int) float64 {
	o := m.Vehicle.Belief("thruster." + m.Vehicle.Thrusters[i].Name + ".armature_ohm").Origin
	return stallApart[o == vehicle.Given || o == vehicle.Range] * m.ArmatureOhm(p, i)
}

// standingOhms are the changes of a standing motor's resistance that are tried, as shares of the
// winding's.
var standingOhms = []float64{0, -0.5, -0.25, 0.25, 0.5}

// leaves reports whether a failure leaves a parameter free: the battery's rest voltage and sag, the
// stream, and what enters no reading under power.
func leaves(param int) bool {
	return param == predict.OpenCircuitV || param == predict.SagVPerMinute || param == predict.StreamMS || !causes.UnderPower(param)
}

// besideFailure returns two vehicles that are sound but for the parameters that a failure leaves
// free, which have the values of the dive's fit: one with the battery that the dive shows at rest,
// one with the fit's.
func (f *diver) besideFailure(d *dive, sum *Summary) [2]predict.Params {
	rests, fits := f.resting(d), slices.Clone(f.base)
	for k := range fits {
		if !leaves(k) {
			continue
		}
		if fits[k] = sum.Params[k]; k != predict.OpenCircuitV && k != predict.SagVPerMinute {
			rests[k] = fits[k]
		}
	}
	return [2]predict.Params{rests, fits}
}

// standing returns the vehicle, among starts with each resistance of the jammed thruster i, at
// which a dive's readings are likeliest, and their bounded sum of squares plus the resistance's.
// Sums above most are cut short.
func (f *diver) standing(d *dive, i int, starts [2]predict.Params, most float64) (at predict.Params, loss float64) {
	loss = math.Inf(1)
	winding, apart := f.m.ArmatureOhm(f.base, i), stallOhm(f.m, f.base, i)
	for _, from := range starts {
		for _, share := range standingOhms {
			p := slices.Clone(from)
			by := share * winding
			p[predict.OfThruster(i, predict.BranchOhm)] += by
			if l := f.lossOf(d, p, min(loss, most)) + sq(by/apart); l < loss {
				at, loss = p, l
			}
		}
	}
	return at, loss
}

// fitBeside fits, from at on, the parameters that a failure leaves free, and the jammed thruster's
// resistance or the failure's departures by. It stores them in at: the failure explains all else.
func (f *diver) fitBeside(d *dive, how causes.Failure, by []Departure, at predict.Params) error {
	from := slices.Clone(at)
	var free []known
	if how.Jam() {
		ohm := predict.OfThruster(how.Thruster-1, predict.BranchOhm)
		free = append(free, known{ohm, f.base[ohm], stallOhm(f.m, f.base, how.Thruster-1)})
	}
	for _, x := range by {
		free = append(free, known{x.Param, at[x.Param], x.SD})
	}
	free = append(free,
		known{predict.OpenCircuitV, d.rest, f.sp.Of[predict.OpenCircuitV].Prior},
		known{predict.SagVPerMinute, priors.SagMean, f.sp.Of[predict.SagVPerMinute].Prior})
	for _, place := range f.free {
		if leaves(f.sp.All[place]) && f.sp.All[place] != predict.OpenCircuitV {
			free = append(free, known{f.sp.All[place], f.base[f.sp.All[place]], f.apart(place)})
		}
	}
	set := func(x []float64) predict.Params {
		for j, u := range free {
			at[u.param] = from[u.param] + x[j]
		}
		return at
	}
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		d.predict(f.m, set(x), perLine{}, f.sc, true)
		s := lsq.System{R: r, Jac: jac, X: x}
		for k := range d.cells {
			c, want, slope := &d.cells[k], f.sc.predicted.want[k], f.sc.predicted.slope[k]
			per := 0.0
			if !c.Outlier {
				per = math.Sqrt(c.weight) / math.Hypot(c.noiseAt(f.noise, want), d.obs[c.obs].Doubt(slope))
			}
			if slopes := s.Add(per * (want - c.Value)); slopes != nil {
				for j, u := range free {
					slopes[j] = per * slope[u.param]
				}
			}
		}
		for j, u := range free {
			s.Known(j, u.mean-from[u.param], u.sd)
		}
	}
	x := make([]float64, len(free))
	for range robustPasses {
		res, err := f.sc.solver.Fit(lsq.Problem{Dim: len(x), Size: len(d.cells) + len(x), Eval: eval}, x,
			&lsq.Settings{CostTol: closeEnoughDive, PointOnly: true, MaxIter: mostSteps})
		if err != nil {
			return err
		}
		copy(x, res.X)
		if !d.reweigh(f.m, f.noise, set(x), perLine{}, f.sc) {
			break
		}
	}
	return nil
}

// known is the normal prior of a parameter.
type known struct {
	param    int
	mean, sd float64
}

// StallOhm is one standard deviation, Ω, of how far the resistance of thruster i when it stands may
// differ from its running one, the same in all dives.
func (r *Result) StallOhm(i int) float64 {
	return stallOhm(r.Model, r.Base, i)
}

// doubt adds an unknown of a parameter to each line: an error common to the dive, and one of each
// line and each reading.
func (d *dive) doubt(param int, dive, line float64) {
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = append(slices.Clip(o.Unknown), circumstances.Unknown{Param: param, Dive: dive, Line: line, Cell: line})
	}
}

// jam has thruster which−1 jammed on every line of a dive, none if which is 0.
func (f *diver) jam(d *dive, which int) { d.jam(which, f.sc) }

func (d *dive) jam(which int, sc *scratch) {
	for k := range d.obs {
		d.obs[k].Cond.Jammed = which
	}
	sc.predicted.d = nil // predictions are of other conditions
}

// pulls reports whether a pull that p sets aside, and that before did not, is nearer to the sound
// vehicle's: a thruster that fails does not push.
func (d *dive) pulls(m *predict.Model, p predict.Params, before []Cell, sound []float64, sc *scratch) bool {
	d.predict(m, p, perLine{}, sc, true)
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity == quantity.Pull && c.Outlier && !before[k].Outlier && c.Value > (sc.predicted.want[k]+sound[k])/2 {
			return true
		}
	}
	return false
}

// ofMotion reports whether a quantity depends on what thrusters push: were such cells uncalibrated,
// a jam would have the other thrusters push more.
func ofMotion(q quantity.Quantity) bool {
	return q == quantity.Pull || q == quantity.Speed || q == quantity.Climb
}

// leastSlower is the least share of a failed thruster's part in a climb that must be missing:
// common practice, no source.
const leastSlower = 0.25

// climbs reports whether a dive's climbs are nearly as fast as a sound vehicle's, sound, rather
// than as slow as those without the thruster, still. Only climbs of which the thruster drives at
// least half count. Water taken in or ballast enters a climb alone, so a fit would explain any
// climb with them.
func (d *dive) climbs(sound, still []float64) bool {
	var gone []float64
	for k := range d.cells {
		if c := &d.cells[k]; c.Quantity == quantity.Climb && sound[k]-still[k] > max(noticed*c.SD, sound[k]/2) {
			gone = append(gone, (sound[k]-c.Value)/(sound[k]-still[k]))
		}
	}
	slices.Sort(gone)
	return len(gone) > 0 && gone[(len(gone)-1)/2] < leastSlower
}

// leastOfJam is the least share of the way from a sound vehicle's readings to those with a jammed
// thruster that a dive's readings must lie for the jam to be tried. In the jams of three simulators
// with other physics the excess of the current is 0.6 of what a guessed winding would let through, or
// more. Without it a small battery that drains fast was a jam by turns of one of four thrusters, over
// 0.99, where no clamp was read.
const leastOfJam = 0.25

// shareOfJam returns which share of the way from a sound vehicle's readings to those with thruster i
// jammed a dive's lie that were taken with it on: the clamp's or, without any, the battery's
// voltages. It is 1 if there are none. The battery falls as in the second of starts, the dive's fit.
// A slip counts at most as far beyond either as they are apart. The thruster is left jammed.
func (f *diver) shareOfJam(d *dive, i int, starts [2]predict.Params) float64 {
	at := f.resting(d)
	at[predict.SagVPerMinute] = starts[1][predict.SagVPerMinute]
	f.jam(d, 0)
	d.predict(f.m, at, perLine{}, f.sc, false)
	sound := slices.Clone(f.sc.predicted.want)
	f.jam(d, i+1)
	d.predict(f.m, at, perLine{}, f.sc, false)
	jammed := f.sc.predicted.want
	for _, q := range []quantity.Quantity{quantity.CurrentA, quantity.BatteryV} {
		var sum, weights float64
		for k := range d.cells {
			c, way := &d.cells[k], jammed[k]-sound[k]
			if c.Quantity != q || d.obs[c.obs].Cond.Sign[i] == 0 || way == 0 {
				continue
			}
			w := sq(way / c.SD)
			sum, weights = sum+w*min(max((c.Value-sound[k])/way, -1), 2), weights+w
		}
		if weights > 0 {
			return sum / weights
		}
	}
	return 1
}

// reads reports whether any reading was taken with thruster i on.
func (d *dive) reads(i int) bool {
	return slices.ContainsFunc(d.cells, func(c Cell) bool { return d.obs[c.obs].Cond.Sign[i] != 0 })
}

// plainlyLess is by how many standard deviations, summed over the clamp's readings, a thruster that
// does nothing must draw less to be tried, for the sake of time: its sound current is dozens.
const plainlyLess = 2.0

// draws reports whether a dive draws more current with a thruster on than a sound vehicle, as a
// jammed one does, or less, as with its circuit open or its propeller lost. It judges by the clamp
// meter or, where that was not read, by the fall of the battery's voltage, and for less current
// also of the vehicle's. In all else a contact that opens may look like a jam.
func (f *diver) draws(d *dive, how causes.Failure) bool {
	d.predict(f.m, f.resting(d), perLine{}, f.sc, false)
	clamp, amps, volts, way, least := false, 0.0, 0.0, 1.0, 0.0
	if !how.Jam() {
		way, least = -1, plainlyLess
	}
	for k := range d.cells {
		c := &d.cells[k]
		if d.obs[c.obs].Cond.Sign[how.Thruster-1] == 0 {
			continue
		}
		ofVolts := c.Quantity == quantity.BatteryV || !how.Jam() && c.Quantity == quantity.VehicleV
		z := way * (c.Value - f.sc.predicted.want[k]) / c.SD
		if ofVolts { // which fall where more is drawn
			z = -z
		}
		switch bounded := min(max(z, -hopeless), hopeless); {
		case c.slip && z < 0: // ignored; a slip the failure's way may be the failure itself
		case c.Quantity == quantity.CurrentA:
			clamp, amps = true, amps+bounded
		case ofVolts:
			volts += bounded
		}
	}
	return clamp && amps > least || !clamp && volts >= 0
}

// lossOf returns the bounded sum of squares of a dive's readings about a vehicle. It stops after
// the line with which the sum exceeds most.
func (f *diver) lossOf(d *dive, at predict.Params, most float64) (sum float64) {
	obs := -1
	for k := range d.cells {
		c, slopes := &d.cells[k], f.sc.jac[k]
		if c.obs != obs {
			if sum > most {
				break
			}
			obs = c.obs
			f.m.Solve(&d.obs[obs].Cond, at, &f.sc.pt, f.sc.grad)
		}
		want := c.expected(&f.sc.pt, at)
		c.slopes(slopes, &f.sc.pt, f.sc.grad)
		sd := math.Hypot(c.noiseAt(f.noise, want), d.obs[obs].Doubt(slopes))
		sum += min(sq((c.Value-want)/sd), sq(hopeless))
	}
	return sum
}
