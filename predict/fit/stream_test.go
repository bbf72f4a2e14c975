package fit_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/session/quantity"
)

// Runs of a dive that were timed one way, with the stream in one and against it in the next, are no contact that comes and
// goes: in the baseline neither. Such a contact is told beside them, as voltages show it.
func TestStreamsByTurns(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	streams := func(ohm float64, without ...quantity.Quantity) simulate.Season {
		return simulate.Season{Dives: 11, StreamMS: 1e-9, Without: without, LineDrift: func(d int, rng *rand.Rand, p predict.Params) {
			p[predict.StreamMS] = 0.12 * float64(1-2*rng.IntN(2))
			if d > later && rng.Float64() < 0.5 {
				p[predict.LoopOhm] += ohm
			}
		}}
	}
	told := 0
	for seed := range uint64(3) {
		sound, loose := simulatedLog(seed+1, streams(0)), simulatedLog(seed+1, streams(0.3))
		few := simulatedLog(seed+1, streams(0, quantity.CurrentA, quantity.VehicleV, quantity.Pull, quantity.LoopOhm))
		r, of, blind := sound.fit(t, nil), loose.fit(t, nil), few.fit(t, nil)
		for d := range r.Dives {
			for _, r := range []*fit.Result{r, blind} {
				assert.False(t, r.Dives[d].Summary.IsIntermittent(), "vehicle %d, dive %d", seed+1, d+1)
				assert.False(t, r.Dives[d].Summary.Contradicts, "vehicle %d, dive %d", seed+1, d+1)
			}
			if d >= later && of.Dives[d].Summary.IsIntermittent() {
				told++
			}
		}
	}
	assert.GreaterOrEqual(t, told, 6, "of 9")
}
