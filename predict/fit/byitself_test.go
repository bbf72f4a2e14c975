package fit

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/circumstances"
	"sagline/predict/mixture"
)

// The cells that are tried as slips are those beyond six standard deviations from a sound vehicle, the farthest first, and no more
// than a quarter of a dive's: where more lie off they are none, nor are three of one quantity that are off the same way.
func TestFarthest(t *testing.T) {
	for name, c := range map[string]struct {
		z    []float64
		want []int
	}{
		"none":               {[]float64{1, -5.9, 0, 2}, nil},
		"one of four":        {[]float64{1, -6.5, 0, 2}, []int{1}},
		"a quarter of them":  {[]float64{7, -20, 0, 9, 1, 1, 1, 1}, []int{1, 3}},
		"two of five":        {[]float64{7, -20, 0, 9, 1}, []int{1, 3}},
		"three the same way": {append([]float64{7, -20, -8, 9, -10}, make([]float64, 20)...), []int{1, 4, 3}}, // -8 is the third that is low
		"four either way":    {append([]float64{7, -20, -8, 9}, make([]float64, 20)...), []int{1, 3, 2, 0}},
	} {
		lines := make([][]float64, len(c.z))
		for k, z := range c.z {
			lines[k] = []float64{10 + 0.2*z}
		}
		d, sc, n, p := preset(predict.LoopOhm, 0.2, lines, 10, 1)
		f := &fitting{r: &Result{Base: p, Noise: n, Dives: []DiveFit{{Summary: &Summary{}}}}, matched: []dive{*d}}
		sc.predicted.d = &f.matched[0]
		assert.Equal(t, c.want, f.farthest(0, worker{models: []*predict.Model{nil}, sc: sc}), name)
	}
}

// A dive that is had again as after an attempt has its lines know what went from line to line in that, and no more.
func TestRestore(t *testing.T) {
	m := &dive{obs: make([]observation, 2), cells: make([]Cell, 2)}
	m.obs[1].Unknown = []circumstances.Unknown{{Param: predict.LoopOhm, Dive: 0.1}}
	d := &DiveFit{}
	m.setUneven(predict.OpenCircuitV, 0.03)
	m.cells[1].Outlier = true
	uneven := d.attempt(m, 0)
	m.setUneven(predict.OpenCircuitV, 0)
	m.setUneven(predict.StreamMS, 0.2)
	m.cells[1].Outlier = false
	d.restore(m, uneven)
	volts := circumstances.Unknown{Param: predict.OpenCircuitV, Line: 0.03}
	assert.Equal(t, []circumstances.Unknown{volts}, m.obs[0].Unknown)
	assert.Equal(t, []circumstances.Unknown{{Param: predict.LoopOhm, Dive: 0.1}, volts}, m.obs[1].Unknown)
	assert.True(t, m.cells[1].Outlier)
}

// A failure is as likely as the dive is with it against all else, times its prior odds, of which each size that it is tried with has
// its share; one that is less likely by ten nats is thought of no more.
func TestWeighFailures(t *testing.T) {
	r := ofExample()
	s := *r.Dives[7].Summary
	mix, err := r.Mixture(r.Dives[7].alone, r.learnt)
	require.NoError(t, err)
	s.turning = mix.Log
	failed := func(by float64, tried int) Failed {
		q := s.Quadratic
		q.Log += by
		return Failed{exact: &q, tried: tried}
	}
	open, lost := causes.Failure{Thruster: 1, How: causes.Open}, causes.Failure{Thruster: 1, How: causes.Lost}
	of, other := causes.Failure{Thruster: 2, How: causes.Open}, causes.Failure{Thruster: 2, How: causes.Lost}
	s.Failed = map[causes.Failure]Failed{open: failed(3, 1), lost: failed(0, 4), of: failed(-4, 1), other: failed(-6, 1)}
	require.NoError(t, r.weighFailures(&s, r.learnt))
	prior := func(how causes.Failure) float64 {
		all := r.Space.Causes
		return mixture.Acting(&all[slices.IndexFunc(all, func(c causes.Cause) bool { return c.Fails == how })])
	}
	assert.InDelta(t, 3+prior(open), s.Failed[open].worth, 1e-6)
	assert.InDelta(t, prior(lost)-math.Log(4), s.Failed[lost].worth, 1e-6)
	assert.Contains(t, slices.Collect(maps.Keys(s.Failed)), of, "%.1f nats", prior(of)-4)
	assert.NotContains(t, slices.Collect(maps.Keys(s.Failed)), other, "%.1f nats", prior(other)-6)
}
