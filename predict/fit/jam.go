package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// jamWorth is by how much, in nats, a dive must look better with a thruster
// jammed before it is fitted so: such a thruster draws two to five times its
// current and does not push, which is plain at once. Common practice, no source.
const jamWorth = 10.0

// LooksJammed are the thrusters with one of which jammed, and all else sound, a dive looks better: any as good as the best.
func (s *Summary) LooksJammed() (out []int) {
	best := math.Inf(-1)
	for _, q := range s.Jammed {
		if q != nil {
			best = max(best, q.Log)
		}
	}
	for i, q := range s.Jammed {
		if q != nil && q.Log > best-jamWorth {
			out = append(out, i)
		}
	}
	return out
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
		f.doubtStall(d, i)
		if f.lossOf(d, f.resting(d)) > sound-2*jamWorth {
			restore()
			continue
		}
		for k := range d.cells {
			d.cells[k].Outlier, d.cells[k].slip, d.cells[k].weight = false, false, 1
		}
		at := f.resting(d) // a jam explains it all: expanded where the rest is sound
		if fitted := soundOn(f.base, sum); f.lossOf(d, fitted) < f.lossOf(d, at) {
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

// StallOhm is by how much the resistance of thruster i that stands may differ from the one that runs,
// the same in all dives, Ω, one standard deviation.
func (r *Result) StallOhm(i int) float64 {
	return stallApart * r.Model.Vehicle.Thrusters[i].ArmatureOhm
}

// doubtStall lets thruster i's resistance be another than when it runs.
func (f *diver) doubtStall(d *dive, i int) {
	ohm := f.m.Vehicle.Thrusters[i].ArmatureOhm
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = append(slices.Clip(o.Unknown), circumstances.Unknown{Param: predict.OfThruster(i, predict.BranchOhm), Dive: stallDive * ohm, Line: stallLine * ohm, Cell: stallLine * ohm})
	}
}

// jam has thruster which−1 jammed on every line of a dive, none for 0.
func (f *diver) jam(d *dive, which int) {
	for k := range d.obs {
		d.obs[k].Cond.Jammed = which
	}
	f.sc.predicted.d = nil // predictions are of other conditions
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
