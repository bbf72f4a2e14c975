package simulate_test

import (
	"bytes"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/audit"
	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/predict/simulate"
	"sagline/predict/vehicle"
)

// The ranges that five dives leave of a vehicle's numbers hold 95 % of what they
// really are, each vehicle being one of those that its file allows, and what
// readings tell is left a small share of its range.
func TestKnownAfterBaseline(t *testing.T) {
	n := number(t, "VEHICLES", 24)
	inside, all := map[string]float64{}, map[string]float64{}
	narrowed, told := map[string]float64{}, map[string]float64{}
	for seed := range uint64(n) {
		v := required(t, simulate.Fleet(seed), false)
		rng := rand.New(rand.NewPCG(seed, 98))
		w := v.Draw(rng.NormFloat64)
		log := simulate.Log(w, simulate.Season{Dives: 5, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: seed, AsFile: true})
		r, err := fit.Fit(v, log)
		require.NoError(t, err)
		done := map[string]bool{}
		for _, k := range audit.Keys(r, drift.Analyse(r).Statics) {
			if k.SD == 0 || done[k.Key] { // thrusters are alike
				continue
			}
			done[k.Key] = true
			all[k.Key]++
			all[""]++
			if x := w.Belief(k.Path).Value; k.Now.Low <= x && x <= k.Now.High {
				inside[k.Key]++
				inside[""]++
			}
			switch k.Path {
			case "hull.trim_g", "thruster.port.test_n", "thruster.port.test_a":
				if told[k.Path]++; k.Left < 0.5 {
					narrowed[k.Path]++
				}
			}
			assert.LessOrEqual(t, k.Left, 1.0, k.Path)
			assert.LessOrEqual(t, k.Now.Low, k.Now.Value, k.Path)
			assert.LessOrEqual(t, k.Now.Value, k.Now.High, k.Path)
		}
	}
	t.Logf("%.1f %% of %v numbers in their 95 %% ranges", 100*inside[""]/all[""], all[""])
	assert.InDelta(t, 0.95, inside[""]/all[""], 0.03)
	for key, count := range all {
		assert.Greater(t, inside[key]/count, 0.8, key)
	}
	for path, count := range told {
		assert.Greater(t, narrowed[path]/count, 0.9, path)
	}
}

// Values that the dives have put into the file do not count a second time: a fit
// of the same dives finds the same.
func TestLearntCountsOnce(t *testing.T) {
	v := required(t, simulate.Fleet(3), false)
	log := simulate.Log(simulate.Fleet(3), simulate.Season{Dives: 5, Start: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC), Seed: 3})
	before, err := fit.Fit(v, log)
	require.NoError(t, err)
	values := map[string]string{}
	for _, k := range audit.Keys(before, before.OfBaseline()) {
		if k.Left < 0.5 {
			values[k.Path] = "[" + vehicle.Short(k.Now.Low) + ", " + vehicle.Short(k.Now.High) + "]"
		}
	}
	require.Contains(t, values, "hull.drag_area_m2")
	text, err := vehicle.Learn(v.Text(), vehicle.FileName, values, "5 dives")
	require.NoError(t, err)
	learnt, err := vehicle.Read(bytes.NewReader(text), vehicle.FileName)
	require.NoError(t, err)
	require.Equal(t, vehicle.Learnt, learnt.Belief("hull.drag_area_m2").Origin)
	after, err := fit.Fit(learnt, log)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64(before.Base), []float64(after.Base), 1e-9)
	assert.NotEqual(t, v.Hull.DragAreaM2, learnt.Hull.DragAreaM2)
}
