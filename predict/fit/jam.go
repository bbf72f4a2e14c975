package fit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/mixture"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// jamWorth is by how much, in nats, a dive must look better with a thruster
// jammed before it is fitted so: such a thruster draws two to five times its
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

// fitJams fits a dive with each of its thrusters jammed that looks it, and keeps
// what the readings then say.
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
	defer restore()
	sound := f.lossOf(d, f.resting(d))
	for i := range f.m.Vehicle.Thrusters {
		if !f.drawsMore(d, i) {
			continue
		}
		f.jam(d, i+1)
		d.doubtStall(f.m.Vehicle, i, stallDive)
		at, loss := f.standing(d, i, f.resting(d)) // a jam explains it all: expanded where the rest is sound
		if loss > sound-2*jamWorth {
			restore()
			continue
		}
		d.setAnew()
		if fitted, less := f.standing(d, i, soundOn(f.base, sum)); less < loss {
			at = fitted // of a dive that shows no battery at rest
		}
		f.fitBattery(d, at)
		d.markSlips(f.m, f.noise, at, f.sc, func(c *Cell, _ float64, slopes []float64) float64 { return d.obs[c.obs].Doubt(slopes) })
		d.reweigh(f.m, f.noise, at, perLine{}, f.sc)
		d.residuals(f.m, at, perLine{}, f.sc, true)
		d.boundSlopes(f.sp, f.sc)
		q := &normal.Quadratic{}
		if err := d.expand(q, f.sp, f.base, at, 0, f.sc); err != nil {
			return err
		}
		if sum.Jammed == nil {
			sum.Jammed = make([]*normal.Quadratic, len(f.m.Vehicle.Thrusters))
		}
		sum.Jammed[i] = q
		restore()
	}
	return nil
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

// standing is a vehicle at which a dive's readings are the likeliest with the resistance that thruster i, which is
// jammed, then has, and its bounded sum of squares with that of the resistance.
func (f *diver) standing(d *dive, i int, from predict.Params) (at predict.Params, loss float64) {
	loss = math.Inf(1)
	for _, share := range standingOhms {
		p := slices.Clone(from)
		p[predict.OfThruster(i, predict.BranchOhm)] += share * f.m.Vehicle.Thrusters[i].ArmatureOhm
		if l := f.lossOf(d, p) + sq(share/stallApart); l < loss {
			at, loss = p, l
		}
	}
	return at, loss
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

// drawsMore says whether a thruster runs in any line, and that the dive draws more current on those than
// a sound vehicle, by the clamp meter or, where it was not read, by how far the battery's voltage falls. A contact that
// opens may look like a jam in all else.
func (f *diver) drawsMore(d *dive, i int) bool {
	d.predict(f.m, f.resting(d), perLine{}, f.sc, false)
	runs, clamp, amps, volts := false, false, 0.0, 0.0
	for k := range d.cells {
		c := &d.cells[k]
		if d.obs[c.obs].Cond.Sign[i] == 0 {
			continue
		}
		if runs = true; c.slip {
			continue
		}
		switch z := (c.Value - f.sc.predicted.want[k]) / c.SD; c.Quantity {
		case quantity.CurrentA:
			clamp, amps = true, amps+min(max(z, -hopeless), hopeless)
		case quantity.BatteryV:
			volts += min(max(z, -hopeless), hopeless)
		}
	}
	return runs && (clamp && amps > 0 || !clamp && volts <= 0)
}

// batteryRounds bounds the rounds of fitBattery: readings are all but linear in the battery.
const batteryRounds = 3

// fitBattery sets a dive's rest voltage and sag, all else as at has it, by least squares bounded as
// lossOf is.
func (f *diver) fitBattery(d *dive, at predict.Params) {
	const rest, sag = predict.OpenCircuitV, predict.SagVPerMinute
	for range batteryRounds {
		d.predict(f.m, at, perLine{}, f.sc, true)
		var a, b, c, x, y float64 // the normal equations'
		for k := range d.cells {
			want, slope := f.sc.predicted.want[k], f.sc.predicted.slope[k]
			z, w := d.cells[k].Value-want, 1/(sq(d.cells[k].noiseAt(f.noise, want))+sq(d.obs[d.cells[k].obs].Doubt(slope)))
			if sq(z)*w > sq(hopeless) {
				continue
			}
			u, v := slope[rest], slope[sag]
			a, b, c, x, y = a+w*u*u, b+w*u*v, c+w*v*v, x+w*u*z, y+w*v*z
		}
		known := 1 / sq(f.sp.Of[sag].Prior)
		c, y = c+known, y+known*(priors.SagMean-at[sag])
		if det := a*c - b*b; det > 0 {
			at[rest], at[sag] = at[rest]+(c*x-b*y)/det, at[sag]+(a*y-b*x)/det
		}
	}
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
