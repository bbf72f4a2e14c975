package fit

import (
	"slices"

	"sagline/predict"
	"sagline/predict/normal"
)

// charging are the degrees of freedom of Student's t for the rest voltage that a dive begins with:
// most batteries are charged in full, and now and then one is not, for some dives. With 4, two of 80 sound seasons of a simulator with
// other physics, whose owners leave a battery half charged for four dives, raised an alarm for another battery, with 2 none; with 1.5
// another battery that rests 0.6 V lower for good is not told within seven dives (TestAPartlyChargedBattery).
const charging = 2.0

// setSpentCharge sets how much of its charge each dive's battery has spent at rest, more than in the baseline's dives on average:
// what is known of its resistance holds there. One whose voltage at rest is not known is taken to be as they are.
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

// Sound is what sound dives have in common: the variance from dive to dive of each scattering parameter, the label of the battery
// in use, and by label the voltage that dives begin with as a rule, less the baseline's, V.
type Sound struct {
	Variance []float64
	Battery  string
	Rests    map[string]float64
}

// manyRests are as many dives as tell what a battery rests at as a rule: one that ages rests lower. Common practice, no source.
const manyRests = 100

// TypicalRests is by label what the first n dives begin with as a rule that scatter by a variance: the middle of Student's t of their
// rest voltages, by the weights of VarianceIn, begun at their median.
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
				v := x.Variance + variance[i]*scaleOf(x, middle, variance[i])
				sum, weights = sum+x.Mean/v, weights+1/v
			}
			middle = sum / weights
		}
		out[battery] = middle
	}
	return out
}

// restPasses is how often the weights are worked out: common practice, no source.
const restPasses = 10

// scaleOf is how many times the variance of all dives a rest voltage has as one of Student's t about a middle: at the mean of the
// scale (Lange, Little and Taylor, Robust statistical modeling using the t distribution, J. Am. Stat. Assoc. 84, 1989).
func scaleOf(rest normal.Normal, middle, variance float64) float64 {
	return max(1, (charging+sq(rest.Mean-middle)/(variance+rest.Variance))/(charging+1))
}

// VarianceIn is the variance of dive d's scatter about a sound vehicle, of a baseline dive with what the calibration widened it by. A
// rest voltage that lies far from what dives begin with as a rule counts for less.
func (r *Result) VarianceIn(d int, all Sound) []float64 {
	out := slices.Clone(all.Variance)
	i := r.ScatterAt(r.Space.Place[predict.OpenCircuitV])
	if i >= 0 {
		out[i] *= scaleOf(r.Dives[d].rest, all.Rests[r.Dives[d].Battery], all.Variance[i])
	}
	if d < r.Baseline {
		return r.ofBaselineOn(all.Battery, d, out)
	}
	return out
}

// ofBaselineOn is VarianceIn of a dive of the baseline. The calibration is about its first dive's battery, and so is what is of one
// that no dive of the baseline had.
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

// InBaseline says whether a dive of the baseline had a battery.
func (r *Result) InBaseline(battery string) bool {
	return slices.ContainsFunc(r.Dives[:r.Baseline], func(d DiveFit) bool { return d.Battery == battery })
}

// limitBattery sets the limit of a battery of which the file says neither a limit nor a
// resistance: twice what its sound dives have, not twice a guess, and never less than twice
// the least that is usual.
func (r *Result) limitBattery() {
	if r.Baseline == 0 {
		return
	}
	for _, m := range r.Models { // whose vehicles are this result's own
		if v := m.Vehicle; v.BatteryLimitGuessed() {
			v.Limits.BatteryResistanceOhm = 2 * max(v.Battery.ResistanceOhm+r.Base[predict.BatteryOhm], v.Belief("battery.resistance_ohm").Low)
		}
	}
}
