package fit

import (
	"slices"

	"sagline/predict"
	"sagline/predict/normal"
)

// charging are the degrees of freedom of Student's t for the rest voltage that a dive begins with:
// most batteries are charged in full, and now and then one is not. Common practice, no source.
const charging = 4.0

// spend sets how much of its charge each dive's battery has spent at rest, more than in the baseline's dives on average:
// what is known of its resistance holds there. One whose voltage at rest is not known is taken to be as they are.
func (f *fitting) spend() {
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

// VarianceIn is the variance of dive d's scatter about the vehicle on a battery, from that of all dives; of a baseline dive with what the
// calibration widened it by. A battery's rest voltage
// that lies far out counts for less, as one of Student's t (its scale mixture of normals, at the mean
// of the scale; Lange, Little and Taylor, Robust statistical modeling using the t
// distribution, J. Am. Stat. Assoc. 84, 1989).
func (r *Result) VarianceIn(d int, all []float64, battery string) []float64 {
	i := r.ScatterAt(r.Space.Place[predict.OpenCircuitV])
	switch {
	case d < r.Baseline:
		return r.ofBaselineOn(battery, d, all)
	case i < 0:
		return all
	}
	rest := &r.Dives[d].rest
	out := slices.Clone(all)
	out[i] *= max(1, (charging+sq(rest.Mean)/(all[i]+rest.Variance))/(charging+1))
	return out
}

// ofBaselineOn is VarianceIn of a dive of the baseline. The calibration is about its first dive's battery, and so is what is of one
// that no dive of the baseline had.
func (r *Result) ofBaselineOn(battery string, d int, all []float64) []float64 {
	out := slices.Clone(all)
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
