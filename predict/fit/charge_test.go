package fit

import (
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/predict"
	"sagline/predict/vehicle"
	"sagline/session"
)

// ofExample is the fit of an example, which tests leave as it is.
var ofExample = sync.OnceValue(func() *Result {
	v, err := vehicle.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log, err := session.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log.Dives = log.Dives[:9]
	r, err := Fit(v, log, nil)
	if err != nil {
		panic(err)
	}
	return r
})

// A rest voltage z standard deviations out scatters as one of Student's t of four degrees of freedom, (4 + z²)/5 times
// as much, never less; what else scatters stays, and so do the baseline's dives.
func TestVarianceIn(t *testing.T) {
	r := *ofExample()
	r.Dives = slices.Clone(r.Dives)
	at := r.ScatterAt(r.Place(predict.OpenCircuitV))
	all := r.expectedScatter()
	for z2, want := range map[float64]float64{0: 1, 0.9: 1, 1: 1, 6: 2, 16: 4} {
		r.Dives[7].rest = normalOf{variance: 0.25 * all[at]}
		r.Dives[7].rest.mean = -math.Sqrt(z2 * 1.25 * all[at])
		got := r.VarianceIn(7, all)
		for i := range all {
			if i == at {
				assert.InEpsilon(t, want*all[i], got[i], 1e-9, "z² = %g", z2)
			} else {
				assert.Equal(t, all[i], got[i])
			}
		}
	}
	assert.Equal(t, r.Dives[2].scatter, r.VarianceIn(2, all))
}

// Batteries of one vehicle differ in resistance and in rest voltage: a dive on another says nothing of either.
func TestOtherBattery(t *testing.T) {
	r := ofExample()
	var of []int
	for _, f := range r.OtherBattery() {
		of = append(of, r.Param(f.Place))
		assert.Positive(t, f.SD)
	}
	assert.ElementsMatch(t, []int{predict.BatteryOhm, predict.OpenCircuitV}, of)
	f := r.Forecast(r.Base, nil)
	before := [2]float64{f.cov.At(predict.BatteryOhm, predict.BatteryOhm), f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV)}
	loop := f.cov.At(predict.LoopOhm, predict.LoopOhm)
	f.AnotherBattery()
	assert.Greater(t, f.cov.At(predict.BatteryOhm, predict.BatteryOhm), before[0])
	assert.Greater(t, f.cov.At(predict.OpenCircuitV, predict.OpenCircuitV), before[1])
	assert.Equal(t, loop, f.cov.At(predict.LoopOhm, predict.LoopOhm))
}
