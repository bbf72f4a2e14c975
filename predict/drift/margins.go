package drift

import (
	"maps"
	"slices"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// Margins judges a vehicle as built and, where it has a log, as that says
// that it is now. openV is its battery's voltage at rest, 0: what a battery
// comes to a dive with.
func Margins(v *vehicle.Vehicle, r *fit.Result, rep *Report, log *session.Log, c predict.Condition, openV float64) advice.Margins {
	q := advice.Ask(v, c, max(c.DepthM, log.DeepestM()))
	if openV > 0 {
		q.Rest = advice.Range{Low: openV, Value: openV, High: openV}
	}
	if r != nil && len(r.Dives) > 0 {
		doubts, now := ToCome(r, rep), Present(r, rep)
		logged := func(battery, doubt float64) {
			p := slices.Clone(now)
			p[predict.BatteryOhm] = battery
			q.Logged(advice.ByLog(q.Cases[0].Model, &c, p, doubts[predict.LoopOhm], doubt, r.OfThrusters()...))
		}
		logged(now[predict.BatteryOhm], doubts[predict.BatteryOhm])
		for _, n := range others(r) { // the next dive may be on any of them
			then := r.Upto(n)
			of := Analyse(then)
			logged(Present(then, of)[predict.BatteryOhm], of.Doubts()[predict.BatteryOhm])
		}
	}
	q.Megohm = leak(rep, log)
	return q.Judge()
}

// inUse is within how many dives a battery was used that the next may be on: common practice, no
// source.
const inUse = 10

// others are how many dives there were with the last of each battery in use but the newest dive's.
func others(r *fit.Result) (dives []int) {
	last := len(r.Dives) - 1
	seen := []string{r.Dives[last].Battery}
	for d := last - 1; d >= max(last-inUse, r.Baseline); d-- {
		if label := r.Dives[d].Battery; !slices.Contains(seen, label) {
			seen, dives = append(seen, label), append(dives, d+1)
		}
	}
	return dives
}

// leak is the least that is known of the insulation: its newest reading, or the
// low end of what all of them say; nil where it was never read.
func leak(rep *Report, log *session.Log) *float64 {
	x, ok := log.Newest(quantity.Insulation)
	if !ok {
		return nil
	}
	if rep == nil || !rep.Judged {
		return &x
	}
	for i := range rep.Trends {
		if t := &rep.Trends[i]; t.Cause.Param() == predict.LogInsulation {
			x = min(x, t.Level.Low)
		}
	}
	return &x
}

// ToCome are Doubts with what a rebuild brings that no dive has seen yet.
func ToCome(r *fit.Result, rep *Report) map[int]float64 {
	doubts := rep.Doubts()
	maps.Copy(doubts, r.ToCome())
	return doubts
}

// Ranges are the 95 % ranges of what solve gives over what a forecast does not know
// of its vehicle, some parameters fixed; values are what it gives in the middle.
func Ranges(f *fit.Forecast, values []float64, fixed map[int]float64, solve func(predict.Params) []float64) (out []advice.Range) {
	of := slices.Repeat([]quantity.Quantity{quantity.Count}, len(values)) // no instrument reads them
	for _, x := range f.Readings(values, of, fixed, solve) {
		out = append(out, advice.Range{Low: x.Low, Value: x.Value, High: x.High})
	}
	return out
}
