package outlook

import (
	"math"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
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
	for i, k := range rep.Posterior.Params {
		p[k] += rep.Posterior.Sound[i]
	}
	return possible(r, &rep.Posterior, p, notAsBuilt(rep))
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
// nothing. What is known together with one, by the posterior or else by the calibration, moves as their
// covariance says: the readings stay what they are. One that the calibration has plainly below nothing
// stays: the file's conductors are others.
func possible(r *fit.Result, posterior *fit.Posterior, p predict.Params, other map[int]bool) predict.Params {
	below := func(k int) (ohm float64, ok bool) {
		ohm, ok = r.Model.BuiltOhm(k)
		return ohm, ok && !other[k] && p[k] < -ohm && !notTheFiles(r, k, ohm)
	}
	for range possiblePasses {
		for k := range p {
			if ohm, ok := below(k); ok {
				raise(r, posterior, p, k, -ohm)
			}
		}
	}
	for k := range p {
		if ohm, ok := below(k); ok {
			p[k] = -ohm
		}
	}
	return p
}

// notTheFiles reports whether the calibration has a part with less resistance than its conductors by the
// file, ohm more than which there is as built, by more than it leaves open.
func notTheFiles(r *fit.Result, k int, ohm float64) bool {
	at := r.Space.Place[k]
	if at < 0 || r.Space.InStatic[at] < 0 || r.Baseline == 0 {
		return false
	}
	i := r.Space.InStatic[at]
	return r.Base[k]+vehicle.Z95*math.Sqrt(r.Cov.At(i, i)) < -ohm
}

// possiblePasses is how often possible goes over all resistances: what one moves may take another
// below nothing.
const possiblePasses = 3

// raise sets p[k] to x and moves with it what is known together with it.
func raise(r *fit.Result, posterior *fit.Posterior, p predict.Params, k int, x float64) {
	by := x - p[k]
	if i := posterior.Index(k); i >= 0 && posterior.Cov.At(i, i) > 0 {
		for j, l := range posterior.Params {
			p[l] += posterior.Cov.At(i, j) / posterior.Cov.At(i, i) * by
		}
		return
	}
	sp := r.Space
	if at := sp.Place[k]; at >= 0 && sp.InStatic[at] >= 0 {
		i := sp.InStatic[at]
		for j, at := range sp.Static {
			if l := sp.All[at]; posterior.Index(l) < 0 {
				p[l] += r.Cov.At(i, j) / r.Cov.At(i, i) * by
			}
		}
	}
	p[k] = x
}

// At is Present for the vehicle as it was at a dive, by what all dives say of it.
func At(r *fit.Result, rep *findings.Report, dive int) predict.Params { return at(r, rep, dive, nil) }

func at(r *fit.Result, rep *findings.Report, dive int, anew map[int]float64) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.RestV(), 0
	known := map[int]bool{} // parameters that are known together with others
	if dive == len(rep.Dives)-1 {
		for i, k := range rep.Posterior.Params {
			if _, sound := anew[k]; !sound {
				p[k], known[k] = r.Base[k]+rep.Posterior.Now[i], true
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
	posterior := &rep.Posterior
	if len(known) == 0 {
		posterior = &fit.Posterior{}
	}
	return possible(r, posterior, p, notAsBuilt(rep))
}
