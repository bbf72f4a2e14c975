package fit

import (
	"math"
	"slices"

	"sagline/predict"
)

// uneven are the standard deviations, as shares of the nominal voltage, that are tried for how a
// battery's rest voltage goes from line to line beside its sag: one just charged falls fast
// at first, one that runs empty fast at the end, and a rest lets it recover. unevenDives is in how many
// dives it does. Common practice, no source.
var uneven = [...]float64{0.003, 0.01}

const unevenDives = 0.1

func (f *diver) unevenSizes() []float64 {
	out := slices.Clone(uneven[:])
	for i := range out {
		out[i] *= f.m.Vehicle.Battery.NominalV
	}
	return out
}

// allowUneven lets a dive's battery go unevenly where its readings ask for that, and expands
// its likelihood again.
func (f *diver) allowUneven(d *dive, sum *Summary) error {
	top, best, cells := f.evidence(&sum.Firm), 0.0, slices.Clone(d.cells)
	for _, volts := range f.unevenSizes() {
		f.setUneven(d, volts)
		for k := range d.cells {
			d.cells[k].Outlier, d.cells[k].weight = d.cells[k].slip, 1
		}
		d.reweigh(f.m, f.noise, sum.Params, nil, f.sc)
		if err := d.summarise(f.m, f.sp, f.base, sum, f.sc); err != nil {
			return err
		}
		log := f.evidence(&sum.Firm) + math.Log(unevenDives/float64(len(uneven)))
		if log > top {
			top, best, cells = log, volts, slices.Clone(d.cells)
		}
		f.setUneven(d, 0)
	}
	f.setUneven(d, best)
	copy(d.cells, cells)
	return d.summarise(f.m, f.sp, f.base, sum, f.sc)
}

// setUneven sets by how many volts a dive's battery goes unevenly.
func (f *diver) setUneven(d *dive, volts float64) {
	for k := range d.obs {
		o := &d.obs[k]
		o.unknown = slices.DeleteFunc(slices.Clone(o.unknown), func(u unknown) bool { return u.param == predict.OpenCircuitV })
		if volts > 0 {
			o.unknown = append(o.unknown, unknown{param: predict.OpenCircuitV, line: volts})
		}
	}
}

// evidence is the log of what a dive's readings weigh over all departures of what it leaves free, but
// for what is the same for all readings of the dive.
func (f *diver) evidence(q *Quadratic) float64 {
	n := len(f.free)
	all := newInformation(n)
	for i, a := range f.free {
		all.lin[i] = q.Lin[a]
		for j := i; j < n; j++ {
			all.info.SetSym(i, j, q.Info.At(a, f.free[j]))
		}
	}
	for i, a := range f.free {
		p := f.sp.known(a)
		all.prior(i, 0, math.Hypot(p.prior, math.Hypot(p.scatter, p.fault)))
	}
	log, err := all.marginal(0)
	if err != nil {
		return math.Inf(-1)
	}
	return q.Log + log
}
