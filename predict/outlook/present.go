package outlook

import (
	"sagline/predict"
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

// At is Present for the vehicle as it was at a dive, by what all dives say of it.
func At(r *fit.Result, rep *findings.Report, dive int) predict.Params { return at(r, rep, dive, nil) }

func at(r *fit.Result, rep *findings.Report, dive int, anew map[int]float64) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.RestV(), 0
	another := map[int]bool{} // parameters of what is not as built
	for i := range rep.Trends {
		t := &rep.Trends[i]
		if t.State == findings.NotAsBuilt {
			another[t.Cause.Param()] = true
		}
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
				p[term.Param] += term.Per * x
			}
		}
	}
	// a resistance as built cannot fall below 0
	for k := range p { // what was there as built cannot go below nothing
		if ohm, ok := r.Model.BuiltOhm(k); ok && !another[k] {
			p[k] = max(p[k], -ohm)
		}
	}
	return p
}
