package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/circumstances"
)

// uneven are the standard deviations, as shares of the nominal voltage, that are tried for how a
// battery's rest voltage goes from line to line beside its sag: one just charged falls fast
// at first, one that runs empty fast at the end, and a rest lets it recover. unevenDives is in how many
// dives it does. Common practice, no source.
var uneven = [...]float64{0.001, 0.003, 0.01}

const unevenDives = 0.1

func (f *diver) unevenSizes() []float64 {
	out := slices.Clone(uneven[:])
	for i := range out {
		out[i] *= f.m.Vehicle.Battery.NominalV
	}
	return out
}

// allowUneven lets a dive's battery go unevenly where its readings ask for that, and expands
// its likelihood again; none is the log evidence of a battery that goes evenly. It returns that of the better.
func (f *diver) allowUneven(d *dive, sum *Summary, start []float64, none float64) (log float64, err error) {
	top, best, settled, at, cells := none, 0.0, !d.unsettled, sum.Params, slices.Clone(d.cells)
	for _, volts := range f.unevenSizes() {
		for k := range d.cells {
			d.cells[k].Outlier, d.cells[k].weight = d.cells[k].slip, 1
		}
		f.setUneven(d, volts)
		d.reweigh(f.m, f.noise, f.params(f.sc.params, start), perLine{}, f.sc)
		x, log, err := f.solve(d, start, 0)
		if err != nil {
			return 0, err
		}
		if log += math.Log(unevenDives / float64(len(uneven))); log > top {
			top, best, settled = log, volts, !d.unsettled
			at, cells = slices.Clone(f.params(f.sc.params, x[len(x)-len(start):])), slices.Clone(d.cells)
		}
	}
	f.setUneven(d, best)
	copy(d.cells, cells)
	sum.Params, d.unsettled = at, !settled
	return top, d.summarise(f.m, f.sp, f.base, sum, f.sc)
}

// setUneven sets by how many volts a dive's battery goes unevenly.
func (f *diver) setUneven(d *dive, volts float64) {
	d.unevenV = volts
	for k := range d.obs {
		o := &d.obs[k]
		o.Unknown = slices.DeleteFunc(slices.Clone(o.Unknown), func(u circumstances.Unknown) bool { return u.Param == predict.OpenCircuitV })
		if volts > 0 {
			o.Unknown = append(o.Unknown, circumstances.Unknown{Param: predict.OpenCircuitV, Line: volts})
		}
	}
}
