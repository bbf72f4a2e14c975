package outlook

import (
	"math"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// A Projection is the effect of a trend on the speed ahead: m/s with all surge thrusters on, on a
// rested battery in fresh water at 15 °C.
type Projection struct {
	Sound, Now float64
	// DivesToHalf is in how many dives half of the sound speed is gone at the present rate; NaN if
	// the trend is no ramp or never takes so much.
	DivesToHalf float64
}

// halfAhead bounds how many dives a ramp is extrapolated to half of the speed.
const halfAhead = 200.0

// Project returns what rep's i-th trend does to speed, everything else being as it is now. It is
// false if speed does not tell: no surge thrusters, no limit, or a trend that does not slow the
// vehicle.
func Project(r *fit.Result, rep *findings.Report, i int) (Projection, bool) {
	t := &rep.Trends[i]
	c := t.Cause
	if t.Limit == nil || len(c.Amplitudes) == 0 || c.Param() == predict.TrimG || c.Param() == predict.LogInsulation {
		return Projection{}, false
	}
	speed := func(p predict.Params) float64 {
		return advice.AllAhead(r.Model, predict.Condition{WaterC: 15, TetherOutM: r.Model.Vehicle.Tether.LengthM}, p).SpeedMS
	}
	now := Present(r, rep)
	sound := Sound(r, rep)
	sound[predict.OpenCircuitV], sound[predict.SagVPerMinute] = now[predict.OpenCircuitV], now[predict.SagVPerMinute]
	out := Projection{Sound: speed(sound), Now: speed(now), DivesToHalf: math.NaN()}
	if out.Sound <= 0 {
		return out, false
	}
	if t.PerDive != nil {
		out.DivesToHalf = divesToHalf(func(dives float64) float64 {
			p := append(predict.Params(nil), now...)
			for _, term := range t.TermsAt(len(rep.Dives) - 1) {
				p[term.Param] += term.Per * (c.Scale.Amplitude(t.Level.Value+dives*t.PerDive.Value, 0) - c.Scale.Amplitude(t.Level.Value, 0))
			}
			return speed(p)
		}, out.Sound/2)
	}
	return out, true
}

// divesToHalf bisects a falling speed for the number of dives until it is half.
func divesToHalf(speed func(dives float64) float64, half float64) float64 {
	lo, hi := 0.0, halfAhead
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
