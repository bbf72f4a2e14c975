package outlook

import (
	"cmp"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// fewestBegun and mostBegun bound the number of newest dives on a battery whose median rest voltage
// is what dives begin with: common practice, no source.
const fewestBegun, mostBegun = 2, 5

// BegunAt returns the rest voltage, V, with which the newest dives on a battery begin: the median
// of what was read before their first load, each for the cells of b; 0 if there are too few.
func BegunAt(r *fit.Result, label string, b *vehicle.Battery) float64 {
	var all []float64
	for d := len(r.Dives) - 1; d >= 0 && len(all) < mostBegun; d-- {
		of := &r.ModelOf(d).Vehicle.Battery
		if r.Dives[d].Battery != label || of.Chemistry != b.Chemistry {
			continue
		}
		for _, l := range r.WithoutOutliers(d).Lines {
			if l.Lights || len(l.Drives) > 0 || !l.Electrical {
				break
			}
			if x := l.Readings[quantity.BatteryV]; x.Measured() {
				all = append(all, x.X*(b.NominalV/of.NominalV))
				break
			}
		}
	}
	if len(all) < fewestBegun {
		return 0
	}
	slices.Sort(all)
	return all[(len(all)-1)/2]
}

// usedWithin is how many dives back a battery was used that may be on the next: common practice, no
// source.
const usedWithin = 10

// WorstOf words which batteries' margins the margins are the worst of, "" if there is one battery.
func WorstOf(r *fit.Result) string {
	labels := inUse(r)
	if len(labels) < 2 {
		return ""
	}
	for i, l := range labels {
		if l == "" {
			labels[i] = "the one without a label"
		}
	}
	last := len(labels) - 1
	return "margins are the worst of the batteries in use, " + strings.Join(labels[:last], ", ") + " and " + labels[last]
}

// inUse returns the labels of the batteries that the next dive may be on, the newest dive's first.
func inUse(r *fit.Result) (labels []string) {
	last := len(r.Dives) - 1
	for d := last; d >= max(last-usedWithin, 0); d-- {
		if label := r.Dives[d].Battery; !slices.Contains(labels, label) {
			labels = append(labels, label)
		}
	}
	return labels
}

// On is Present on one of the log's batteries, as its last dive left it, with the standard
// deviation of its resistance.
func On(r *fit.Result, rep *findings.Report, label string) (p predict.Params, doubt float64) {
	p, doubt = Present(r, rep), ToCome(r, rep)[predict.BatteryOhm]
	n := len(r.Dives)
	for n > 0 && r.Dives[n-1].Battery != label {
		n--
	}
	others := func(d fit.DiveFit) bool { return d.Battery != label }
	switch {
	case n == 0:
	case n <= r.Baseline && (!rep.Judged || slices.ContainsFunc(r.Dives[:r.Baseline], others)):
		// it has no trend, or the baseline's mean includes others
		x := r.Departure(n-1, predict.BatteryOhm)
		p[predict.BatteryOhm], doubt = r.Base[predict.BatteryOhm]+x.Value-r.SoundOf(predict.BatteryOhm), (x.High-x.Low)/2/vehicle.Z95
	case n < len(r.Dives):
		then := r.Upto(n)
		of := drift.Analyse(then)
		p[predict.BatteryOhm], doubt = Present(then, of)[predict.BatteryOhm], of.Doubts()[predict.BatteryOhm]
	}
	return p, doubt
}

// SoundOn returns the sound vehicle, changed to after, on one of the log's batteries, which rests at the
// voltage that its newest dives begin with (BegunAt) or, if they do not show one, at a full one's. It
// returns the vehicle's parameters, the forecast from them, and which of them have their values of now.
func SoundOn(r *fit.Result, rep *findings.Report, label string, after *vehicle.Vehicle) (p predict.Params, next *forecast.Forecast, asNow []int) {
	p = Sound(r, rep)
	before, sd, posterior := r.Model.Vehicle, map[int]float64{}, rep.Posterior.OfSound()
	on, doubt := On(r, rep, label)
	if slices.ContainsFunc(r.Dives, func(d fit.DiveFit) bool { return d.Battery != r.Dives[0].Battery }) { // the baseline's mean may be of another battery, or of several
		p[predict.BatteryOhm], sd[predict.BatteryOhm] = on[predict.BatteryOhm], doubt
		asNow, posterior = []int{predict.BatteryOhm}, posterior.Without(predict.BatteryOhm)
	}
	if times := advice.InSeries(before, after); times != 1 {
		p[predict.BatteryOhm] *= times
		sd[predict.BatteryOhm], posterior = doubt*times, posterior.Without(predict.BatteryOhm)
	}
	next = forecast.New(r, p, sd, posterior)
	p[predict.OpenCircuitV] = cmp.Or(BegunAt(r, label, &after.Battery), advice.RestsAt(before, after))
	return p, next, asNow
}
