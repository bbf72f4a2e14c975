package fit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
)

// A dive that is read with less care says less of the vehicle, and its readings are no slips; one of a vehicle that has
// changed, read with the usual care, says as much as others.
func TestCareless(t *testing.T) {
	const dive = 12
	precision := func(r *fit.Result) float64 {
		k := r.Space.Place[predict.TrimG]
		return r.Dives[dive].Summary.Info.At(k, k)
	}
	season := simulate.Season{Dives: 14, Seed: 5}
	careless := season
	careless.Noise = func(d int) float64 {
		if d == dive+1 {
			return 2.5
		}
		return 1
	}
	changed := season
	changed.Drift = func(d int, p predict.Params) {
		if d > 9 {
			p[predict.LoopOhm] += 0.15
			p[predict.LogThrust] -= 0.2
			p[predict.TrimG] += 40
		}
	}
	var usual, bad, other float64
	slips, of := 0, 0
	for seed := range uint64(6) {
		s := simulatedLog(seed, season)
		usual += precision(s.fit(t, nil))
		s = simulatedLog(seed, careless)
		r := s.fit(t, nil)
		bad += precision(r)
		for _, c := range r.Dives[dive].Cells {
			if of++; c.Outlier {
				slips++
			}
		}
		s = simulatedLog(seed, changed)
		other += precision(s.fit(t, nil))
	}
	assert.Less(t, bad, 0.45*usual)
	assert.Greater(t, other, 0.5*usual)
	assert.Less(t, slips, of/100)
}
