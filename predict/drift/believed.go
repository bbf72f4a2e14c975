package drift

import (
	"math"

	"sagline/predict"
	"sagline/predict/fit"
)

// Believed is the vehicle as it is now: the calibration with the levels that
// the trends believe in at the newest dive, on a rested battery at its
// nominal voltage.
func Believed(r *fit.Result, rep *Report) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.NominalV, 0
	for i, k := range Kinds(r.Model.Vehicle) {
		x := rep.Trends[i].Level.Value
		switch k.Param {
		case predict.LogThrust:
			p[k.Param] += math.Log(x)
		case predict.TrimG:
			p[k.Param] -= x
		case predict.BatteryOhm:
			p[k.Param] = x - r.Model.Vehicle.Battery.ResistanceOhm
		default:
			p[k.Param] += x
		}
	}
	return p
}
