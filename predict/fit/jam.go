package fit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/lsq"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// jamWorth is by how much, in nats, the first dives together must look better with a thruster
// jammed before that is tried: such a thruster draws two to five times its
// current and does not push, which is plain at once. Common practice, no source.
const jamWorth = 10.0

// Of the thrusters with one of which a dive looks jammed, those are named that it is with at least this probability.
const mayBeJammed = 0.05

// Jammed names the thrusters of which a dive looks as if one were jammed, by itself.
func (r *Result) Jammed(dive int) (names []string) {
	for _, i := range r.Dives[dive].jammed {
		names = append(names, r.Model.Vehicle.Thrusters[i].Name)
	}
	return names
}

// AsIfJammed words that one of some thrusters looks jammed.
func AsIfJammed(thrusters []string) string {
	return "as if " + strings.Join(thrusters, " or ") + " were jammed (unplugged, turn it by hand)"
}

// likeliest is what a dive says of its departures, and of which thrusters one looks jammed in it: with the likeliest jam
// where a jam is likelier than all else that may act in one dive, and none where it is not.
func (r *Result) likeliest(s *Summary, variance []float64) (mixture.Alone, []int, error) {
	out, err := r.Alone(&s.Quadratic)
	if err != nil || s.Jammed == nil {
		return out, nil, err
	}
	logs, best, all := make([]float64, len(s.Jammed)), -1, 0.0
	var with mixture.Alone
	for c := range r.Space.Causes {
		i := r.Space.Causes[c].Jammed - 1
		if i < 0 || s.Jammed[i] == nil {
			continue
		}
		a, err := r.withJam(s, i)
		if err != nil {
			return out, nil, err
		}
		jammed, err := r.Mixture(a, variance)
		if err != nil {
			return out, nil, err
		}
		logs[i] = jammed.Log + mixture.Acting(&r.Space.Causes[c]) - s.turning
		all += math.Exp(logs[i])
		if best < 0 || logs[i] > logs[best] {
			best, with = i, a
		}
	}
	if all <= 1 {
		return out, nil, nil
	}
	var jammed []int
	for i := range logs {
		if s.Jammed[i] != nil && math.Exp(logs[i]) >= mayBeJammed*all {
			jammed = append(jammed, i)
		}
	}
	return with, jammed, nil
}

// withJam is what a dive says of its departures with thruster i jammed.
func (r *Result) withJam(s *Summary, i int) (mixture.Alone, error) {
	l := s.Jammed[i].Integrate([]int{r.Space.Place[predict.OfThruster(i, predict.BranchOhm)]}, []float64{sq(r.StallOhm(i))}, normal.Likelihood{})
	return r.Alone(&normal.Quadratic{Info: mat.NewSymDense(len(l.Lin), l.Info), Lin: l.Lin, Log: l.Log})
}

// fitJams fits a dive with each of its thrusters jammed with which its readings are no less likely, and keeps
// what they then say: of a dive with one reading that is little, of many such dives much.
func (f *diver) fitJams(d *dive, sum *Summary) error {
	kept := slices.Clone(d.cells)
	unknowns := make([][]circumstances.Unknown, len(d.obs))
	for k := range d.obs {
		unknowns[k] = d.obs[k].Unknown
	}
	restore := func() {
		f.jam(d, 0)
		copy(d.cells, kept)
		for k := range d.obs {
			d.obs[k].Unknown = unknowns[k]
		}
	}
	starts := f.besideJam(d, sum)
	sound := math.Inf(1)
	for _, from := range starts {
		sound = min(sound, f.lossOf(d, from))
	}
	sum.Idle = make([]bool, len(f.m.Vehicle.Thrusters))
	for i := range f.m.Vehicle.Thrusters {
		if sum.Idle[i] = !d.reads(i); sum.Idle[i] || !f.drawsMore(d, i) {
			continue
		}
		q, err := f.jammed(d, i, starts, sound)
		restore()
		if err != nil {
			return err
		}
		if q == nil {
			continue
		}
		if sum.Jammed == nil {
			sum.Jammed = make([]*normal.Quadratic, len(f.m.Vehicle.Thrusters))
		}
		sum.Jammed[i] = q
	}
	return nil
}

// jammed is what a dive's readings say with thruster i jammed, nil where their bounded sum of squares is above that of a sound
// vehicle or where they have it push. It leaves the dive as it is then fitted.
func (f *diver) jammed(d *dive, i int, starts [2]predict.Params, sound float64) (*normal.Quadratic, error) {
	own := slices.Clone(d.cells)
	f.jam(d, i+1)
	d.doubtStall(f.m.Vehicle, i, stallDive)
	at, loss := f.standing(d, i, starts)
	if loss > sound {
		return nil, nil
	}
	d.setAnew()
	if err := f.fitBeside(d, i, at); err != nil {
		return nil, err
	}
	d.markSlips(f.m, f.noise, at, f.sc, func(c *Cell, _ float64, slopes []float64) float64 { return d.obs[c.obs].Doubt(slopes) })
	d.reweigh(f.m, f.noise, at, perLine{}, f.sc)
	if d.pulls(f.m, at, own, f.sc) {
		return nil, nil
	}
	d.residuals(f.m, at, perLine{}, f.sc, true)
	d.boundSlopes(f.sp, f.sc)
	q := &normal.Quadratic{}
	return q, d.expand(q, f.sp, f.base, at, 0, f.sc)
}

// A standing motor's resistance is another than the one that the running ones
// were fitted with: brushes, and a winding that heats while a line is read. One
// standard deviation, as a share of the winding's, of all dives, of one dive, and from line to line
// and from reading to reading: common practice, no source.
const (
	stallApart = 0.3
	stallDive  = 0.1
	stallLine  = 0.1
)

// standingOhms are the resistances that a standing motor is tried with, as shares more of the winding's.
var standingOhms = []float64{0, -0.5, -0.25, 0.25, 0.5}

// leaves says whether a jam leaves a parameter as it is: the battery's rest, and what enters no reading under power.
func leaves(param int) bool {
	return param == predict.OpenCircuitV || param == predict.SagVPerMinute || !causes.UnderPower(param)
}

// besideJam are vehicles of which all is sound but what a jam leaves as it is, which is as the dive's fit has it: on the
// battery that the dive shows at rest, and on that of the fit.
func (f *diver) besideJam(d *dive, sum *Summary) [2]predict.Params {
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

// standing is a vehicle at which a dive's readings are the likeliest with the resistance that thruster i, which is
// jammed, then has, one of starts but for that, and its bounded sum of squares with that of the resistance.
func (f *diver) standing(d *dive, i int, starts [2]predict.Params) (at predict.Params, loss float64) {
	loss = math.Inf(1)
	for _, from := range starts {
		for _, share := range standingOhms {
			p := slices.Clone(from)
			p[predict.OfThruster(i, predict.BranchOhm)] += share * f.m.Vehicle.Thrusters[i].ArmatureOhm
			if l := f.lossOf(d, p) + sq(share/stallApart); l < loss {
				at, loss = p, l
			}
		}
	}
	return at, loss
}

// fitBeside fits what a jam leaves as it is, and the resistance of thruster i, which stands, from at on, and puts that
// into at: a jam explains all else.
func (f *diver) fitBeside(d *dive, i int, at predict.Params) error {
	from, ohm := slices.Clone(at), predict.OfThruster(i, predict.BranchOhm)
	free := []known{
		{ohm, f.base[ohm], stallApart * f.m.Vehicle.Thrusters[i].ArmatureOhm},
		{predict.OpenCircuitV, d.rest, f.sp.Of[predict.OpenCircuitV].Prior},
		{predict.SagVPerMinute, priors.SagMean, f.sp.Of[predict.SagVPerMinute].Prior},
	}
	for _, place := range f.free {
		if p := f.sp.Known(place); !causes.UnderPower(f.sp.All[place]) {
			free = append(free, known{f.sp.All[place], f.base[f.sp.All[place]], math.Hypot(p.Scatter, p.Fault)})
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
			&lsq.Settings{CostTol: closeEnough, PointOnly: true, MaxIter: mostSteps})
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

// known is what is known of a parameter before a dive is read.
type known struct {
	param    int
	mean, sd float64
}

// StallOhm is by how much the resistance of thruster i that stands may differ from the one that runs,
// the same in all dives, Ω, one standard deviation.
func (r *Result) StallOhm(i int) float64 {
	return stallApart * r.Model.Vehicle.Thrusters[i].ArmatureOhm
}

// doubtStall lets thruster i's resistance be another than when it runs, in one dive by a share of the winding's.
func (d *dive) doubtStall(v *vehicle.Vehicle, i int, share float64) {
	ohm := v.Thrusters[i].ArmatureOhm
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = append(slices.Clip(o.Unknown), circumstances.Unknown{Param: predict.OfThruster(i, predict.BranchOhm), Dive: share * ohm, Line: stallLine * ohm, Cell: stallLine * ohm})
	}
}

// jam has thruster which−1 jammed on every line of a dive, none for 0.
func (f *diver) jam(d *dive, which int) { d.jam(which, f.sc) }

func (d *dive) jam(which int, sc *scratch) {
	for k := range d.obs {
		d.obs[k].Cond.Jammed = which
	}
	sc.predicted.d = nil // predictions are of other conditions
}

// pulls says whether a pull of a dive is set aside at p, and was not before, that is more than expected: a thruster that is
// jammed does not push.
func (d *dive) pulls(m *predict.Model, p predict.Params, before []Cell, sc *scratch) bool {
	d.predict(m, p, perLine{}, sc, true)
	for k := range d.cells {
		c := &d.cells[k]
		if c.Quantity == quantity.Pull && c.Outlier && !before[k].Outlier && c.Value > sc.predicted.want[k] {
			return true
		}
	}
	return false
}

// reads says whether any reading was taken with thruster i on.
func (d *dive) reads(i int) bool {
	return slices.ContainsFunc(d.cells, func(c Cell) bool { return d.obs[c.obs].Cond.Sign[i] != 0 })
}

// drawsMore says whether a dive draws more current with thruster i on than
// a sound vehicle, by the clamp meter or, where it was not read, by how far the battery's voltage falls. A contact that
// opens may look like a jam in all else.
func (f *diver) drawsMore(d *dive, i int) bool {
	d.predict(f.m, f.resting(d), perLine{}, f.sc, false)
	clamp, amps, volts := false, 0.0, 0.0
	for k := range d.cells {
		c := &d.cells[k]
		if d.obs[c.obs].Cond.Sign[i] == 0 {
			continue
		}
		switch z := (c.Value - f.sc.predicted.want[k]) / c.SD; {
		case c.slip && z < 0: // one that is far too high may be no slip but the jam
		case c.Quantity == quantity.CurrentA:
			clamp, amps = true, amps+min(max(z, -hopeless), hopeless)
		case c.Quantity == quantity.BatteryV:
			volts += min(max(z, -hopeless), hopeless)
		}
	}
	return clamp && amps > 0 || !clamp && volts <= 0
}

// lossOf is the bounded sum of squares of a dive's readings about a vehicle.
func (f *diver) lossOf(d *dive, at predict.Params) float64 {
	d.predict(f.m, at, perLine{}, f.sc, true)
	sum := 0.0
	for k := range d.cells {
		c, want := &d.cells[k], f.sc.predicted.want[k]
		sd := math.Hypot(c.noiseAt(f.noise, want), d.obs[c.obs].Doubt(f.sc.predicted.slope[k]))
		sum += min(sq((c.Value-want)/sd), sq(hopeless))
	}
	return sum
}
