package drift

import (
	"math"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/fit"
)

// A Foretold is what a drift does to the speed ahead, m/s with all surge
// thrusters on, on a rested battery in fresh water at 15 °C.
type Foretold struct {
	Sound, Now, AtLimit float64
	// DivesToHalf is how many dives until half of the sound speed is gone at
	// the present rate; NaN where the drift is no ramp or never takes so much.
	DivesToHalf float64
}

// farAhead bounds how many dives a ramp is carried on.
const farAhead = 200.0

// Foretell says what rep's i-th trend does to speed, everything else being as
// believed now. It is false where speed does not tell: no surge thrusters, or
// a drift that does not slow the vehicle.
func Foretell(r *fit.Result, rep *Report, i int) (Foretold, bool) {
	k, t := Kinds(r.Model.Vehicle)[i], &rep.Trends[i]
	speed := func(p predict.Params) float64 {
		return advice.AllAhead(r.Model, predict.Condition{WaterC: 15, TetherOutM: r.Model.Vehicle.Tether.LengthM}, p).SpeedMS
	}
	now := Believed(r, rep)
	sound := append(predict.Params(nil), r.Base...)
	sound[predict.OpenCircuitV], sound[predict.SagVPerMinute] = now[predict.OpenCircuitV], now[predict.SagVPerMinute]
	at := func(level float64) float64 {
		p := append(predict.Params(nil), now...)
		p[k.Param] += k.steps(t.Level.Value, level)
		return speed(p)
	}
	out := Foretold{Sound: speed(sound), Now: speed(now), AtLimit: at(t.Limit), DivesToHalf: math.NaN()}
	if out.Sound <= 0 || k.Param == predict.TrimG {
		return out, false
	}
	if t.PerDive != nil {
		out.DivesToHalf = divesToHalf(func(dives float64) float64 { return at(t.Level.Value + dives*t.PerDive.Value) }, out.Sound/2)
	}
	return out, true
}

// steps is the change of the kind's parameter between two levels of its
// quantity.
func (k Kind) steps(from, to float64) float64 {
	switch k.Param {
	case predict.LogThrust:
		return math.Log(math.Max(to, 1e-6) / math.Max(from, 1e-6))
	case predict.TrimG:
		return from - to
	}
	return to - from
}

// divesToHalf bisects a falling speed for the dive at which it is half.
func divesToHalf(speed func(dives float64) float64, half float64) float64 {
	lo, hi := 0.0, farAhead
	if speed(hi) > half {
		return math.NaN()
	}
	if speed(lo) <= half {
		return 0
	}
	for hi-lo > 0.05 {
		if mid := (lo + hi) / 2; speed(mid) > half {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
