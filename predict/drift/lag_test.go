package drift

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/fit"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A fault's first five dives are not taken for scatter; dives that go on to differ are, from then on.
func TestANewFaultIsNoScatter(t *testing.T) {
	const from = 10
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:from+8]
	for d := from; d < len(log.Dives); d++ {
		for i := range log.Dives[d].Lines {
			if x := &log.Dives[d].Lines[i].Readings[quantity.CurrentA]; x.Measured() {
				by := []float64{1.3, 0.75}[d%2]
				x.X, x.Entered = by*x.X, by*x.Entered
			}
		}
	}
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	sound, odd := newAnalysis(exampleFit()), newAnalysis(r)
	most := func() float64 {
		out := 0.0
		for i := range odd.variance {
			out = max(out, odd.variance[i]/sound.variance[i])
		}
		return out
	}
	for n := r.Baseline; n < len(log.Dives); n++ {
		sound.learn(n)
		odd.learn(n)
		switch {
		case n < from+5:
			assert.InDelta(t, 1, most(), 1e-6, "dive %d", n)
		case n > from+5:
			assert.Greater(t, most(), 1.02, "dive %d", n)
		}
	}
}
