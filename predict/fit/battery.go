package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// charging is the degrees of freedom of Student's t for a dive's initial rest voltage: most
// batteries are charged in full, and now and then one is not, for some dives. With 4, two of 80
// sound seasons of a simulator with other physics, whose owners leave a battery half charged for
// four dives, raised an alarm for another battery; with 2 none did. With 1.5 another battery that
// rests 0.6 V lower for good is not reported within seven dives (TestAPartlyChargedBattery).
const charging = 2.0

// A battery that was charged not long ago stands higher at rest than it ever does under load: the
// surface charge of a lead-acid battery is 0.1 to 0.3 V of 12, the activation of any cell some
// hundredths of a volt; from memory. It differs from dive to dive by how long it has rested. As
// shares of the nominal voltage, one standard deviation each: common practice, no source.
const (
	surface        = 0.012
	surfaceScatter = 0.002
)

// againstSurface is the loss of likelihood, in nats, by which a baseline must speak against such a
// loss of voltage for the calibration to do without. Allowed for in all logs, the battery's resistance
// has 1.6 times the error where there is none. Never allowed for, of 160 seasons of a simulator with
// other physics 9 instead of 3 findings of 0.5 or more were wrong, and 4 instead of 1 of 64 sound
// seasons had an alarm.
const againstSurface = 1.0

// widenSurface lets the battery lose voltage as soon as anything runs, unless the baseline, with a
// calibration without such a loss, speaks against it, and reports whether it does: readings at one
// load cannot tell it from resistance, until that load changes.
func (f *fitting) widenSurface(c *calibration, none *trial) bool {
	sp, volts := f.r.Space, f.r.Model.Vehicle.Battery.NominalV
	place := sp.Place[predict.SurfaceV]
	if place < 0 {
		return false
	}
	d := priors.Direction{Per: make([]float64, len(sp.Static)), SD: surface * volts}
	d.Per[sp.InStatic[place]] = 1
	if none.gain(c, d, 0) < -againstSurface {
		return false
	}
	f.file = f.file.Along(d)
	sp.Of[predict.SurfaceV].Scatter = surfaceScatter * volts
	return true
}

// setLoad sets the current at which what the battery loses as soon as anything runs counts in its
// resistance, if it may lose anything: the mean of the baseline's loaded lines. Readings at about one
// load tell the sum alone, and dives that are wrong alike in how it parts are sure of the wrong part.
// A resistance that the file states parts them.
func (f *fitting) setLoad() {
	r := f.r
	if r.Space.Of[predict.SurfaceV].Scatter < surfaceScatter*r.Model.Vehicle.Battery.NominalV || r.Models[0].Vehicle.Belief("battery.resistance_ohm").Origin != vehicle.Prior {
		return
	}
	var loads normal.Moments
	var pt predict.Point
	for i := range r.Baseline {
		for k := range f.matched[i].obs {
			c := &f.matched[i].obs[k].Cond
			if slices.ContainsFunc(c.Sign, func(s int8) bool { return s != 0 }) {
				r.ModelOf(i).Solve(c, r.Base, &pt, nil)
				loads.Add(pt.Out[quantity.CurrentA])
			}
		}
	}
	if load := loads.Mean(0, 0); loads.N > 0 && load > leastLoadA {
		r.LoadA = load
	}
}

// leastLoadA is the least load, A, at which a voltage is shown as a resistance: no thruster draws less.
// Common practice, no source.
const leastLoadA = 0.2

// surfaceOhm is what the battery loses as soon as anything runs under p, Ω at LoadA.
func (r *Result) surfaceOhm(p predict.Params) float64 {
	if r.LoadA <= 0 {
		return 0
	}
	return p[predict.SurfaceV] / r.LoadA
}

// setSpentCharge sets how much more charge each dive's battery has spent at rest than the
// baseline's dives on average: the battery's resistance is known at their charge. A battery without
// a reading at rest is taken to be charged as theirs.
func (f *fitting) setSpentCharge() {
	r := f.r
	charge := func(i int) float64 { return r.Models[r.Dives[i].Era].Vehicle.Battery.Charge(f.matched[i].rest) }
	var rested normal.Moments
	for i := range r.Baseline {
		if !f.matched[i].unrested {
			rested.Add(charge(i))
		}
	}
	if rested.N == 0 {
		v := r.Model.Vehicle
		r.Charge = v.Battery.Charge(v.RestBelief().Value) // with which it comes to a dive, by its file
		return
	}
	r.Charge = rested.Mean(0, 0)
	for i := range f.matched {
		d := &f.matched[i]
		if d.unrested {
			continue
		}
		d.spent = r.Charge - charge(i)
		for k := range d.obs {
			d.obs[k].Cond.Spent = d.spent
		}
	}
}

// Sound is what sound dives have in common.
//   - Variance is the variance from dive to dive of each scattering parameter.
//   - Battery is the label of the battery in use.
//   - Rests is by label the usual rest voltage at the start of a dive, less the baseline's, V.
type Sound struct {
	Variance []float64
	Battery  string
	Rests    map[string]float64
}

// manyRests is how many of the newest dives give a battery's usual rest voltage: a battery that
// ages rests lower. Common practice, no source.
const manyRests = 100

// TypicalRests returns, by label, the usual rest voltage at the start of the first n dives, which
// scatter by variance: the centre of Student's t of their rest voltages, by iterated reweighting
// with the weights of VarianceIn from their median on.
func (r *Result) TypicalRests(n int, variance []float64) map[string]float64 {
	i := r.ScatterAt(r.Space.Place[predict.OpenCircuitV])
	if i < 0 {
		return nil
	}
	of := map[string][]normal.Normal{}
	for d := max(n-manyRests, 0); d < min(n, len(r.Dives)); d++ {
		of[r.Dives[d].Battery] = append(of[r.Dives[d].Battery], r.Dives[d].rest)
	}
	out := map[string]float64{}
	for battery, rests := range of {
		means := make([]float64, len(rests))
		for k, x := range rests {
			means[k] = x.Mean
		}
		slices.Sort(means)
		middle := means[len(means)/2]
		for range restPasses {
			var sum, weights float64
			for _, x := range rests {
				v := x.Variance + variance[i]*scaleOf(x, middle, math.Inf(1), variance[i])
				sum, weights = sum+x.Mean/v, weights+1/v
			}
			middle = sum / weights
		}
		out[battery] = middle
	}
	return out
}

// restPasses is the number of reweighting rounds: common practice, no source.
const restPasses = 10

// scaleOf returns the factor on the variance of a dive's rest voltage, at least 1, as one of
// Student's t about middle: the mean of the scale (Lange, Little and Taylor, Robust statistical
// modeling using the t distribution, J. Am. Stat. Assoc. 84, 1989). What lies above most is no
// battery's charge and counts as most.
func scaleOf(rest normal.Normal, middle, most, variance float64) float64 {
	away := min(rest.Mean, max(most, middle)) - middle
	return max(1, (charging+sq(away)/(variance+rest.Variance))/(charging+1))
}

// Rest returns the rest voltage that dive d's battery began it with, less the baseline's, V, and
// whether it was read.
func (r *Result) Rest(d int) (rest normal.Normal, read bool) {
	return r.Dives[d].rest, !r.Dives[d].d.unrested
}

// mostRest returns the highest rest voltage of a battery at the start of a dive, less the
// baseline's, V.
func (r *Result) mostRest() float64 {
	return r.Model.Vehicle.MostRestV() - r.Base[predict.OpenCircuitV]
}

// VarianceIn returns the variance of dive d's scatter about a sound vehicle. A baseline dive's
// includes what the calibration widened it by. A rest voltage far from the usual one counts for
// less.
func (r *Result) VarianceIn(d int, all Sound) []float64 {
	out := slices.Clone(all.Variance)
	i := r.ScatterAt(r.Space.Place[predict.OpenCircuitV])
	if i >= 0 {
		out[i] *= scaleOf(r.Dives[d].rest, all.Rests[r.Dives[d].Battery], r.mostRest(), all.Variance[i])
	}
	if j := r.ScatterAt(r.Space.Place[predict.ClampZeroA]); j >= 0 && r.Dives[d].OfDay > 1 {
		out[j] = float64(r.Dives[d].OfDay) * max(out[j], sq(zeroOfDay))
	}
	if d < r.Baseline {
		return r.ofBaselineOn(all.Battery, d, out)
	}
	return out
}

// zeroOfDay is one standard deviation, A, by which a clamp meter's zero differs from day to day, on which
// several dives were made: they share it, so that together they tell no more of the level than one
// would. Common practice, no source.
const zeroOfDay = 0.05

// ofBaselineOn is VarianceIn of a baseline dive. The calibration is about the first dive's battery;
// a battery that no baseline dive had is compared with that one too.
func (r *Result) ofBaselineOn(battery string, d int, out []float64) []float64 {
	for j, was := range r.expectedScatter() {
		out[j] += r.Dives[d].scatter[j] - was
	}
	first := r.Dives[0].Battery
	if !r.InBaseline(battery) {
		battery = first
	}
	for _, f := range r.OtherBattery() {
		j := r.ScatterAt(f.Place)
		if r.Dives[d].Battery != first {
			out[j] -= sq(f.SD)
		}
		if r.Dives[d].Battery != battery {
			out[j] += sq(f.SD)
		}
	}
	return out
}

// InBaseline reports whether any baseline dive had the battery.
func (r *Result) InBaseline(battery string) bool {
	return slices.ContainsFunc(r.Dives[:r.Baseline], func(d DiveFit) bool { return d.Battery == battery })
}
