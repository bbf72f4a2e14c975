package drift

import (
	"math"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/fit"
)

// Present is the vehicle as it is now: the calibration with the levels that the
// trends have at the newest dive, on a rested battery at its nominal voltage.
// What is wrong with instruments or was not written down is left out; what is
// rebuilt before the next dive is sound.
func Present(r *fit.Result, rep *Report) predict.Params {
	return at(r, rep, len(rep.Dives)-1, r.ToCome())
}

// At is Present as the vehicle was at a dive, by what all dives say of it.
func At(r *fit.Result, rep *Report, dive int) predict.Params { return at(r, rep, dive, nil) }

func at(r *fit.Result, rep *Report, dive int, anew map[int]float64) predict.Params {
	p := append(predict.Params(nil), r.Base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = r.Model.Vehicle.Battery.RestV(), 0
	for i := range rep.Trends {
		t := &rep.Trends[i]
		if _, sound := anew[t.Cause.Param()]; sound {
			continue
		}
		if c := t.Cause; c.Kind == causes.Vehicle && len(c.Amplitudes) > 0 { // a repair is in the level of what it mended
			sound := 0.0
			if c.Scale.Absolute {
				sound = r.SoundOf(c.Param())
			}
			x := c.Scale.Amplitude(t.levelAt(dive).Value, sound)
			for _, term := range c.Amplitudes[0].Terms {
				p[term.Param] += term.Per * x
			}
		}
	}
	for _, k := range append([]int{predict.LoopOhm}, branches(r)...) { // what was there as built cannot go below nothing
		p[k] = max(p[k], -asBuilt(r, k))
	}
	return p
}

// levelAt is a trend's level at a dive, in the era that it was in.
func (t *Trend) levelAt(dive int) Estimate {
	for _, e := range t.Eras {
		if e.From <= dive && dive < e.To {
			return e.Levels[dive-e.From]
		}
	}
	if dive >= 0 && dive < len(t.Levels) {
		return t.Levels[dive]
	}
	return t.Level
}

func branches(r *fit.Result) []int {
	var out []int
	for i := range r.Model.Vehicle.Thrusters {
		out = append(out, predict.OfThruster(i, predict.BranchOhm))
	}
	return out
}

// asBuilt is the resistance in the file that a parameter of Params adds to, Ω.
func asBuilt(r *fit.Result, param int) float64 {
	v := r.Model.Vehicle
	if param == predict.LoopOhm {
		return v.Tether.Power.JointsOhm
	}
	return v.Thrusters[(param-predict.FirstThruster)/predict.PerThruster].BranchOhm
}

// Doubts are how well the level of each trend's parameter is known at the
// newest dive, one standard deviation, by index of predict.Params.
func (rep *Report) Doubts() map[int]float64 { return rep.DoubtsAt(len(rep.Dives) - 1) }

// DoubtsAt are Doubts as they are of a dive, by what all dives say of it.
func (rep *Report) DoubtsAt(dive int) map[int]float64 {
	out := map[int]float64{}
	for i := range rep.Trends {
		t := &rep.Trends[i]
		k := t.Cause.Param()
		if k < 0 || t.Cause.Kind != causes.Vehicle {
			continue
		}
		level := t.levelAt(dive)
		sd := (level.High - level.Low) / 2 / z95
		if t.Cause.Scale.Factor && level.Value > 0 {
			sd = math.Log(level.High/level.Low) / 2 / z95 // its parameter is a logarithm
		}
		out[k] = sd
	}
	return out
}
