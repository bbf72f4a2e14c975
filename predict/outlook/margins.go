package outlook

import (
	"maps"
	"slices"
	"strings"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/audit"
	"sagline/predict/drift"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/forecast"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Margins judges a vehicle as built and, if it has a log, as the log says that it is now: on the
// battery with a label, or for "" on each that the next dive may be on. openV is its battery's
// voltage at rest; 0 stands for what a battery usually comes to a dive with.
func Margins(v *vehicle.Vehicle, r *fit.Result, rep *findings.Report, log *session.Log, c predict.Condition, openV float64, battery string) advice.Margins {
	return Asked(v, r, rep, log, c, openV, battery).Judge()
}

// Asked returns what Margins judges.
func Asked(v *vehicle.Vehicle, r *fit.Result, rep *findings.Report, log *session.Log, c predict.Condition, openV float64, battery string) advice.Question {
	q := advice.Ask(v, c, max(c.DepthM, log.DeepestM()))
	q.SaltPSU = log.SaltiestPSU()
	if openV > 0 {
		q.Rest = advice.Range{Low: openV, Value: openV, High: openV}
	}
	if r != nil && len(r.Dives) > 0 {
		doubts, labels := ToCome(r, rep), inUse(r)
		q.ExcessOhm, _ = audit.LoopExcess(r)
		if battery != "" {
			labels = []string{battery}
		}
		times := advice.InSeries(r.Model.Vehicle, v)
		for _, label := range labels {
			p, doubt := On(r, rep, label)
			p[predict.BatteryOhm] *= times
			as := []predict.Params{p}
			if len(rep.Reported()) > 0 { // what is found takes current off, and may be mended before the next dive
				mended := Sound(r, rep)
				mended[predict.BatteryOhm] = p[predict.BatteryOhm]
				as = append(as, mended)
			}
			for _, p := range as {
				q.Logged(advice.ByLog(q.Cases[0].Model, &c, p, doubts[predict.LoopOhm], times*doubt, r.OfThrusters()...))
			}
			if x := BegunAt(r, label, &v.Battery); openV == 0 && x > 0 && (q.BegunV == 0 || x < q.BegunV) {
				q.BegunV = x
			}
		}
		if rep.Judged || len(r.Dives) >= fewestBegun {
			q.LearnBattery()
		}
	}
	q.Megohm = leak(rep, log)
	return q
}

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
				all = append(all, x.X*b.NominalV/of.NominalV)
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

// leak returns the least that is known of the insulation: its newest reading, or the low end of
// what all of them say; nil if it was never read.
func leak(rep *findings.Report, log *session.Log) *float64 {
	x, ok := log.Newest(quantity.Insulation)
	if !ok {
		return nil
	}
	if rep == nil || !rep.Judged {
		return &x
	}
	for _, t := range rep.Trends {
		if t.Cause.Param() == predict.LogInsulation {
			x = min(x, t.Level.Low)
		}
	}
	return &x
}

// ToCome returns Doubts with the uncertainty of what was rebuilt and no dive has seen yet.
func ToCome(r *fit.Result, rep *findings.Report) map[int]float64 {
	doubts := rep.Doubts()
	maps.Copy(doubts, r.ToCome())
	return doubts
}

// Ranges returns the 95 % ranges of what solve computes, over what a forecast does not know of its
// vehicle, with some parameters fixed; values are its results at the mean.
func Ranges(f *forecast.Forecast, values []float64, fixed map[int]float64, solve func(predict.Params) []float64) (out []advice.Range) {
	of := slices.Repeat([]quantity.Quantity{quantity.Count}, len(values)) // no instrument reads them
	for _, x := range f.Readings(values, of, fixed, solve) {
		out = append(out, advice.Range{Low: x.Low, Value: x.Value, High: x.High})
	}
	return out
}
