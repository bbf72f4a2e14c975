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
	m := predict.NewModel(v)
	q := advice.Question{Cases: []advice.Case{advice.AsBuilt(m, &c)}, Condition: c, Drives: append(m.Combinations(), everything(v)),
		Rest: advice.Range{Low: v.RestBelief().Low, Value: v.Battery.RestV(), High: v.Battery.RestV()}, DepthM: max(c.DepthM, log.DeepestM())}
	if openV > 0 {
		q.Rest = advice.Range{Low: openV, Value: openV, High: openV}
	}
	if r != nil && len(r.Dives) > 0 {
		doubts := rep.Doubts()
		maps.Copy(doubts, r.ToCome())
		q.Cases = append(q.Cases, advice.ByLog(m, &c, Present(r, rep), doubts[predict.LoopOhm], doubts[predict.BatteryOhm]))
	}
	return q.Judge()
}

// everything is all thrusters on at once.
func everything(v *vehicle.Vehicle) []int8 {
	all := make([]int8, len(v.Thrusters))
	for i := range all {
		all[i] = 1
	}
	return all
}
