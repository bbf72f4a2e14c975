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
		doubts := ToCome(r, rep)
		q.Logged(advice.ByLog(q.Cases[0].Model, &c, Present(r, rep), doubts[predict.LoopOhm], doubts[predict.BatteryOhm],
			r.OfThrusters()...))
	}
	q.Megohm = leak(rep, log)
	return q.Judge()
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
