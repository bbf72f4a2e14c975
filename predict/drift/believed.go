package drift

import (
	"math"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
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
		case predict.FrictionA:
			p[k.Param] += x
		default: // a conductor; the part that was there as built cannot go below nothing
			p[k.Param] = max(p[k.Param]+x, -asBuilt(r.Model.Vehicle, k.Param))
		}
	}
	return p
}

// Doubts are how well the level of each drift is known at the newest dive, one
// standard deviation, in the unit of its parameter.
func (rep *Report) Doubts() []float64 {
	out := make([]float64, len(rep.Trends))
	for i, t := range rep.Trends {
		out[i] = (t.Level.High - t.Level.Low) / 2 / 1.96
		if t.Quantity == "thrust_factor" && t.Level.Value > 0 {
			out[i] /= t.Level.Value // its parameter is a logarithm
		}
	}
	return out
}

// asBuilt is the resistance in the file that a parameter of Params adds to, Ω.
func asBuilt(v *vehicle.Vehicle, param int) float64 {
	if param == predict.LoopOhm {
		return v.Tether.Power.JointsOhm
	}
	return v.Thrusters[param-predict.FirstBranch].BranchOhm
}
