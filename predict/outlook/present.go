package outlook

import (
	"math"

	"sagline/predict"
	"sagline/predict/advice"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
)

// Present returns the vehicle as it is now: the calibration with the levels that the trends have at
// the newest dive, on a rested battery at its nominal voltage. What is wrong with instruments or
// was not written down is left out; what is rebuilt before the next dive is sound.
func Present(r *fit.Result, rep *findings.Report) predict.Params {
	return at(r, rep, len(rep.Dives)-1, r.ToCome())
}

// Sound returns the sound vehicle: the calibration with the levels that services have set since and
// with what later dives say of its hover weight.
func Sound(r *fit.Result, rep *findings.Report) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	for i, k := range rep.Joint.Params {
		p[k] += rep.Joint.Sound[i]
	}
	return possible(r, &rep.Joint, p, notAsBuilt(rep))
}

// notAsBuilt returns the parameters of what is not as built.
func notAsBuilt(rep *findings.Report) map[int]bool {
	out := map[int]bool{}
	for _, t := range rep.Trends {
		if t.State == findings.NotAsBuilt {
			out[t.Cause.Param()] = true
		}
	}
	return out
}

// possible returns p with resistances that are as built, except those of other parts, not below
// nothing. What is known together with one moves as their covariance says.
func possible(r *fit.Result, joint *fit.Joint, p predict.Params, other map[int]bool) predict.Params {
	for k := range p {
		ohm, ok := r.Model.BuiltOhm(k)
		if !ok || other[k] || p[k] >= -ohm {
			continue
		}
		by, i := -ohm-p[k], joint.Index(k)
		if i < 0 || joint.Cov.At(i, i) <= 0 {
			p[k] += by
			continue
		}
		for j, l := range joint.Params {
			p[l] += joint.Cov.At(i, j) / joint.Cov.At(i, i) * by
		}
	}
	return p
}

// At is Present for the vehicle as it was at a dive, by what all dives say of it.
func At(r *fit.Result, rep *findings.Report, dive int) predict.Params { return at(r, rep, dive, nil) }

func at(r *fit.Result, rep *findings.Report, dive int, anew map[int]float64) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.RestV(), 0
	known := map[int]bool{} // parameters that are known together with others
	if dive == len(rep.Dives)-1 {
		for i, k := range rep.Joint.Params {
			if _, sound := anew[k]; !sound {
				p[k], known[k] = r.Base[k]+rep.Joint.Now[i], true
			}
		}
	}
	for _, t := range rep.Trends {
		if _, sound := anew[t.Cause.Param()]; sound {
			continue
		}
		if c := t.Cause; c.Kind == causes.Vehicle && len(c.Amplitudes) > 0 { // a repair is in the level of what it mended
			sound := 0.0
			if c.Scale.Absolute {
				sound = r.SoundOf(c.Param())
			}
			x := c.Scale.Amplitude(t.LevelAt(dive).Value, sound)
			for _, term := range t.TermsAt(dive) {
				if !known[term.Param] {
					p[term.Param] += term.Per * x
				}
			}
		}
	}
	joint := &rep.Joint
	if len(known) == 0 {
		joint = &fit.Joint{}
	}
	return possible(r, joint, p, notAsBuilt(rep))
}

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
