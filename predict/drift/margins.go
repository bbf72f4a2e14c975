package drift

import (
	"maps"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
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
		q.Cases = append(q.Cases, advice.ByLog(q.Cases[0].Model, &c, Present(r, rep), doubts[predict.LoopOhm], doubts[predict.BatteryOhm]))
	}
	return q.Judge()
}

// ToCome are Doubts with what a rebuild brings that no dive has seen yet.
func ToCome(r *fit.Result, rep *Report) map[int]float64 {
	doubts := rep.Doubts()
	maps.Copy(doubts, r.ToCome())
	return doubts
}
