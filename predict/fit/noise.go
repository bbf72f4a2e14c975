package fit

import (
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/session/quantity"
)

// grows is the factor by which a log must grow for its instruments' noise to be learnt anew; common
// practice, no source.
const grows = 1.5

// stage returns the end of the stage of dives from first on that are fitted with one noise, learnt
// from the dives before first. It does not depend on the log's length.
func stage(first int) int { return max(first+2, int(grows*float64(first))) }

// A knownNoise is what was known of the instruments from the dives before an index.
type knownNoise struct {
	before int
	*instrument.Noise
}

// An alike is the key of readings that should be alike but for noise and the dives' scatter.
type alike struct {
	quantity     quantity.Quantity
	sign         string // per thruster, as in a Condition
	lights, held bool
}

// A meanOf is the mean of readings of one dive that should be alike: against their prediction, and
// as compared.
type meanOf struct {
	instrument.Mean
	value float64
}

// ofBattery are the quantities to which a dive's own battery is fitted: from dive to dive they say
// nothing about their instruments.
var ofBattery = [quantity.Count]bool{quantity.BatteryV: true, quantity.VehicleV: true}

// learnNoise updates the instruments' noise from the dives from first up to end: from the scatter
// within a dive of readings that should be alike, and from how much those of two successive dives
// differ. Baseline dives count only as the earlier of two. Equal readings are skipped, as they may
// be copies.
func (f *fitting) learnNoise(first, end int) {
	r, w := f.r, f.workers[0]
	if first == 0 {
		f.factors, f.lastRead = instrument.NewFactors(r.Noise), map[alike]meanOf{}
	}
	scatter := r.expectedScatter()
	for i := first; i < end; i++ {
		d := &r.Dives[i]
		if d.Summary.IsIntermittent() || d.failed != nil || d.d.leftOut {
			continue
		}
		m := &f.matched[i]
		m.predict(w.models[d.Era], r.Sound(i), perLine{}, w.sc, true)
		for _, cells := range m.alike() {
			now, key := meanOf{f.mean(m, cells, scatter, w.sc), m.value(cells)}, m.key(cells[0])
			last, ok := f.lastRead[key]
			f.lastRead[key] = now
			if i < r.Baseline {
				continue
			}
			if n := float64(len(cells)); n > 1 && !m.equal(cells) {
				each := instrument.Mean{Stated: now.Stated * n, Line: now.Line}
				f.factors.AddWithin(key.quantity, m.squares(cells, now.Apart, w.sc), n-1, each)
			}
			if ok && !ofBattery[key.quantity] && last.value != now.value {
				f.factors.AddBetween(key.quantity, last.Mean, now.Mean)
			}
		}
	}
	r.Noise = f.factors.Noise()
	r.noises = append(r.noises, knownNoise{end, r.Noise})
}

// key is what cell k should have in common with readings like it.
func (d *dive) key(k int) alike {
	c := &d.cells[k]
	cond := &d.obs[c.obs].Cond
	return alike{c.Quantity, signs(cond), cond.Lights, cond.Held}
}

// signs encodes which thrusters run, and which way, as a key.
func signs(c *predict.Condition) string {
	out := make([]byte, len(c.Sign))
	for i, x := range c.Sign {
		out[i] = byte(x)
	}
	return string(out)
}

// alike returns a dive's cells that count, grouped by what should be alike, in the log's order.
func (d *dive) alike() (out [][]int) {
	at := map[alike]int{}
	for k := range d.cells {
		if c := &d.cells[k]; c.Outlier || c.stream {
			continue
		}
		key := d.key(k)
		if _, ok := at[key]; !ok {
			at[key] = len(out)
			out = append(out, nil)
		}
		out[at[key]] = append(out[at[key]], k)
	}
	return out
}

func (d *dive) equal(cells []int) bool {
	return !slices.ContainsFunc(cells, func(k int) bool { return d.cells[k].Value != d.cells[cells[0]].Value })
}

// mean is the mean of some cells against the scratch's predictions.
func (f *fitting) mean(d *dive, cells []int, scatter []float64, sc *scratch) (m instrument.Mean) {
	n := float64(len(cells))
	for _, k := range cells {
		c, want, slope := &d.cells[k], sc.predicted.want[k], sc.predicted.slope[k]
		m.Apart += (c.Value - want) / n
		m.Stated += (sq(c.noiseAt(f.r.Noise, want)) - sq(c.rounded)) / sq(f.r.Noise.Factor[c.Quantity]) / (n * n)
		m.Line += (sq(c.rounded) + sq(d.obs[c.obs].Doubt(slope))) / n
		for s, at := range f.r.Space.Scatter {
			if p := f.r.Space.All[at]; p != predict.OpenCircuitV { // which is fitted to the dive
				m.Dive += sq(slope[p]) * scatter[s] / n
			}
		}
	}
	return m
}

// value is the mean of some cells, as compared.
func (d *dive) value(cells []int) (mean float64) {
	for _, k := range cells {
		mean += d.cells[k].Value / float64(len(cells))
	}
	return mean
}

// squares is the sum of squares of some cells' residuals about their mean.
func (d *dive) squares(cells []int, mean float64, sc *scratch) (sum float64) {
	for _, k := range cells {
		sum += sq(d.cells[k].Value - sc.predicted.want[k] - mean)
	}
	return sum
}
