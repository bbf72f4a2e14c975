package findings

import (
	"math"

	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/predict/vehicle"
)

// LevelAt returns a trend's level at a dive, in that dive's era.
func (t *Trend) LevelAt(dive int) Estimate {
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

// TermsAt returns what a unit of a trend's amplitude adds to the parameters at a dive.
func (t *Trend) TermsAt(dive int) []causes.Term {
	way, lost := t.Way, t.Lost
	for _, e := range t.Eras {
		if e.From <= dive && dive < e.To {
			way, lost = e.Way, nil
		}
	}
	if lost != nil {
		return lost
	}
	terms, _ := t.Cause.Way(way)
	return terms
}

// Doubts returns the standard deviation of the level of each trend's parameter at the newest dive,
// by index of predict.Params.
func (rep *Report) Doubts() map[int]float64 { return rep.DoubtsAt(len(rep.Dives) - 1) }

// doubt returns the standard deviation of a trend's parameter at a dive.
func (t *Trend) doubt(dive int) float64 {
	level := t.LevelAt(dive)
	if t.Cause.Scale.Factor && level.Value > 0 {
		return math.Log(level.High/level.Low) / 2 / vehicle.Z95 // its parameter is a logarithm
	}
	return (level.High - level.Low) / 2 / vehicle.Z95
}

// SetPosterior sets Posterior, widened by what else the trends of its parameters may be.
func (rep *Report) SetPosterior(j fit.Posterior) {
	for i := range rep.Trends {
		t := &rep.Trends[i]
		if k := j.Index(t.Cause.Param()); k >= 0 && t.Cause.Kind == causes.Vehicle {
			j.Cov.SetSym(k, k, max(j.Cov.At(k, k), t.doubt(len(rep.Dives)-1)*t.doubt(len(rep.Dives)-1)))
		}
	}
	rep.Posterior = j
}

// DoubtsAt is Doubts at a dive, by what all dives say of it.
func (rep *Report) DoubtsAt(dive int) map[int]float64 {
	out := map[int]float64{}
	for i := range rep.Trends {
		t := &rep.Trends[i]
		if t.Cause.Param() < 0 || t.Cause.Kind != causes.Vehicle {
			continue
		}
		out[t.TermsAt(dive)[0].Param] = t.doubt(dive)
	}
	if dive == len(rep.Dives)-1 {
		for i, k := range rep.Posterior.Params {
			out[k] = math.Sqrt(rep.Posterior.Cov.At(i, i))
		}
	}
	return out
}
