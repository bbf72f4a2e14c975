package drift

import (
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/causes"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session"
)

// exampleFit is the fit of an example, the same for all tests, which leave it alone.
var exampleFit = sync.OnceValue(func() *fit.Result {
	v, err := vehicle.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	log, err := session.Open("../../examples/sound")
	if err != nil {
		panic(err)
	}
	r, err := fit.Fit(v, log)
	if err != nil {
		panic(err)
	}
	return r
})

// plain are dives after the baseline each of which says that a parameter lies x ± sd from the
// calibration, which is known, and nothing else. The baseline's say 0.
func plain(param int, sd float64, xs ...float64) *analysis {
	a := newAnalysis(exampleFit())
	n := len(a.r.Space.Static)
	precision := mat.NewSymDense(n, nil)
	for i := range n {
		precision.SetSym(i, i, 1e12)
	}
	a.sum = newState(precision, make([]float64, n))
	for i := range a.before {
		a.before[i] = saying(a.r, i, param, sd, 0)
	}
	for i, x := range xs {
		a.n = a.r.Baseline + i
		a.held = append(a.held, saying(a.r, a.n, param, sd, x))
		a.sum.addBlock(a.r.Space.Static, &a.held[i], 1)
	}
	a.worse = make([][]int, a.n+1)
	a.view = slices.Clone(a.held)
	return a
}

// saying is what a dive says that knows one parameter alone.
func saying(r *fit.Result, d, param int, sd, x float64) block {
	n, at := len(r.Space.All), r.Space.Place[param]
	l := normal.Likelihood{Info: make([]float64, n*n), Lin: make([]float64, n), Log: -0.5 * sq(x/sd)}
	l.Info[at*n+at], l.Lin[at] = 1/sq(sd), x/sq(sd)
	return ofDive(d, r.Dives[d].Battery, l)
}

// also has dives of plain say that another parameter lies x ± sd from the calibration.
func (a *analysis) also(param int, sd float64, xs ...float64) {
	for i, x := range xs {
		b := saying(a.r, a.view[i].first, param, sd, x)
		add(a.view[i].info[0], 1, b.info[0])
		add(a.view[i].lin[0], 1, b.lin[0])
		a.view[i].log += b.log
		a.sum.addBlock(a.r.Space.Static, &b, 1)
	}
}

func (a *analysis) index(name string) int {
	for i := range a.causes {
		if a.causes[i].Name == name {
			return i
		}
	}
	panic(name)
}

// integral is the likelihood ratio of an amplitude of one sign against none, summed up by steps: a normal
// prior of deviation prior, doubled.
func integral(xs []float64, sd, prior, sign float64, profile func(i int) float64) float64 {
	const steps, wide = 4000, 8.0
	sum, h := 0.0, wide*prior/steps
	for k := range steps {
		amplitude := sign * (float64(k) + 0.5) * h
		log := -0.5 * sq(amplitude/prior)
		for i, x := range xs {
			log += 0.5*sq(x/sd) - 0.5*sq((x-amplitude*profile(i))/sd)
		}
		sum += math.Exp(log) * h
	}
	return 2 * sum / (prior * math.Sqrt(2*math.Pi))
}

// Each onset is weighed as an integral over the amplitude, summed up here: of a step, a ramp and one
// dive alone, in both sizes, only to the side that is worse; and a repair only to the other.
func TestOnsetsAreIntegrals(t *testing.T) {
	const sd = 0.1
	for _, c := range []struct {
		cause string
		param int
		xs    []float64
	}{
		{"power_loop", predict.LoopOhm, []float64{0.02, -0.05, 0.16, 0.3, 0.24}},
		{"power_loop", predict.LoopOhm, []float64{0.02, -0.05, -0.16, -0.3, -0.24}},
		{"thrust", predict.LogThrust, []float64{0.05, -0.1, -0.2, -0.15, -0.3}},
		{"thrust", predict.LogThrust, []float64{0.1, 0.2, 0.05, 0.2, 0.1}},
		{"not_logged:repair:power_loop", predict.LoopOhm, []float64{0.02, -0.05, -0.16, -0.3, -0.24}},
		{"not_logged:repair:thrust", predict.LogThrust, []float64{0.02, -0.05, 0.16, 0.3, 0.24}},
	} {
		a := plain(c.param, sd, c.xs...)
		s, ok := a.scanner(nil)
		require.True(t, ok)
		k := a.index(c.cause)
		row := &a.causes[k]
		out := s.scan()[k]
		priors := map[string]float64{findings.Step: row.Step, findings.Ramp: row.Ramp, findings.Once: row.Once}
		seen := map[string]int{}
		for _, w := range slices.Concat(out.onsets, out.once) {
			h := w.h
			seen[h.pattern]++
			prior, often := row.Amplitudes[0].Step, 1.0
			if h.onset < a.r.Baseline { // the dives of which say 0
				often = unsound
			}
			if h.pattern == findings.Ramp {
				prior = row.Amplitudes[0].Ramp
			}
			size := []struct{ times, p float64 }{{1, 0.9}, {4, 0.1}}[h.size]
			_, way := row.Way(h.way)
			want := priors[h.pattern] * often * size.p * way * integral(append(make([]float64, a.r.Baseline), c.xs...), sd, prior*size.times, row.Worse, func(i int) float64 {
				switch {
				case i < h.onset, h.pattern == findings.Once && i > h.onset:
					return 0
				case h.pattern == findings.Ramp:
					return float64(i - h.onset + 1)
				}
				return 1
			})
			assert.InDelta(t, math.Log(want), w.log-s.base.log, 2e-3, "%s %+v", c.cause, h)
		}
		sizes := 0 // of all ways
		always, xs := 0.0, append(make([]float64, len(a.before)), c.xs...)
		for way := range row.Ways() {
			for i, p := range []float64{0.9, 0.1} {
				if row.MaySize(i, way) {
					_, share := row.Way(way)
					sizes++ // in all dives alike, the baseline's with them
					always += misled * p * share * integral(xs, sd, row.Amplitudes[0].Step*[]float64{1, 4}[i], row.Worse, func(int) float64 { return 1 })
				}
			}
		}
		within := a.r.Baseline - 1 // of the baseline's dives all but the first
		want := map[string]int{findings.Step: (within + 5) * sizes, findings.Once: 5 * sizes}
		if row.Ramp > 0 {
			want[findings.Ramp] = (within + 4) * sizes // what begins on the newest dive is no ramp yet
		}
		assert.Equal(t, want, seen, c.cause)
		assert.InDelta(t, math.Log(always), out.always.total()-s.base.log, 2e-3, c.cause)
	}
}

// How much likelier dives are that differ more is an integral over by how much, summed up here: of a parameter that is
// expected to scatter, beyond what the log shows of that, and of one that is not.
func TestMoreScatterIsAnIntegral(t *testing.T) {
	const sd = 0.05
	density := func(x, variance float64) float64 { return math.Exp(-0.5*x*x/variance) / math.Sqrt(variance) }
	for _, c := range []struct {
		cause string
		param int
		xs    []float64
		more  bool
	}{
		{"power_loop", predict.LoopOhm, []float64{0.15, -0.2, 0.1, 0.05, -0.15}, true},
		{"power_loop", predict.LoopOhm, []float64{0.01, -0.02, 0, 0.02, 0.01}, false},
		{"instrument:vehicle_v", predict.LogVehicleV, []float64{0.15, -0.2, 0.1, 0.05, -0.15}, true},
		{"instrument:vehicle_v", predict.LogVehicleV, []float64{0.01, -0.02, 0, 0.02, 0.01}, false},
	} {
		a := plain(c.param, sd, c.xs...)
		k := a.index(c.cause)
		require.True(t, a.mayDiffer(k))
		s, ok := a.scanner(nil)
		require.True(t, ok)
		var extra, prior []float64
		if i := a.r.ScatterAt(a.r.Space.Place[c.param]); i >= 0 {
			variances, logs := a.r.Scatters(i)
			for j := range variances {
				extra, prior = append(extra, variances[j]-a.variance[i]), append(prior, math.Exp(logs[j]))
			}
		} else {
			extra, prior = []float64{0}, []float64{0.95}
			for _, share := range []float64{1. / 16, 1. / 8, 1. / 4, 1. / 2, 1} {
				extra, prior = append(extra, sq(share*a.causes[k].Amplitudes[0].Step)), append(prior, 0.01)
			}
		}
		want, all := 0.0, 0.0
		for j, v := range extra {
			like := prior[j]
			for _, x := range append(make([]float64, len(a.before)), c.xs...) {
				like *= density(x, sq(sd)+v) / density(x, sq(sd))
			}
			want, all = want+like, all+prior[j]
		}
		got := s.moreScatter(k, s.residuals())
		assert.InDelta(t, math.Log(want/all), got, 1e-6, c.cause)
		assert.Equal(t, c.more, got > 0, c.cause)

		// beside what is known already, and of the onset's own share
		began := hypothesis{cause: k, pattern: findings.Step, onset: a.r.Baseline}
		rival := component{hypothesis: began, stays: stayed(a, k), onsets: []probable{{hypothesis{cause: k}, 0.6}, {began, 0.4}}}
		assert.InEpsilon(t, 1+0.4*max(want/all-1, 0), 1+a.overdispersion(nil, []component{rival}, s.base.log), 1e-6, c.cause)
		others := []hypothesis{{cause: a.index("drag"), pattern: findings.Step, onset: a.r.Baseline}}
		beside, ok := a.scanner(others)
		require.True(t, ok)
		more := beside.moreScatter(k, beside.residuals())
		odds := a.overdispersion(others, []component{rival}, beside.base.log+a.prior(others))
		assert.InEpsilon(t, 1+0.4*max(math.Exp(more)-1, 0), 1+odds, 1e-6, "%s, beside another", c.cause)
	}
	a := plain(predict.UnloggedA, 0.1, 0.8, 0, 0.8)
	assert.False(t, a.mayDiffer(a.index("not_logged:lights")), "a load comes and goes only where there is one")
	assert.False(t, a.mayDiffer(a.index("intermittent_contact")))
}

func TestDivesAreListed(t *testing.T) {
	a := plain(predict.LoopOhm, 0.02)
	label := func(d int) string { return a.r.Dives[d].Log.Label }
	assert.Equal(t, "dive "+label(2), a.list([]int{2}))
	assert.Equal(t, "dives "+label(0)+", "+label(2), a.list([]int{0, 2}))
	assert.Equal(t, "dives "+label(1)+strings.Repeat(", "+label(1), 7)+" and 2 before", a.list(slices.Repeat([]int{1}, 10)))
}

// What explains dives that differ by as much before it as after is dropped; what a step explains far better stays, with the share that
// is left to it.
func TestDivesThatDifferExplainThemselves(t *testing.T) {
	for name, c := range map[string]struct {
		xs    []float64
		stays bool
	}{
		"a step":  {[]float64{0.01, -0.01, 0.21, 0.2, 0.22, 0.19, 0.2}, true},
		"weather": {[]float64{-0.06, 0.05, -0.05, 0.07, 0.03, -0.01, 0.08}, false},
	} {
		a := plain(predict.LoopOhm, 0.02, c.xs...)
		part := component{hypothesis: hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline + 2}, stays: make([]float64, len(a.causes)), none: 0.1}
		part.stays[part.cause] = 0.9
		part.onsets = []probable{{part.hypothesis, 1}}
		got := a.allowOverdispersion(explanation{components: []component{part}})
		require.Equal(t, c.stays, len(got.components) == 1, name)
		for _, p := range got.components {
			assert.InDelta(t, 0.1, p.none, 0.01, name)
			assert.InDelta(t, 1, p.none+p.stays[p.cause], 1e-9, name)
		}
	}
	half := component{none: 0.2, once: 0.4, stays: []float64{0.3, 0.1}}.withRival(1)
	assert.InDeltaSlice(t, []float64{0.6, 0.2, 0.15, 0.05}, append([]float64{half.none, half.once}, half.stays...), 1e-12)
}

// Each onset of a cause of several amplitudes is weighed as that hypothesis by itself.
func TestOnsetsOfSeveralAmplitudes(t *testing.T) {
	a := plain(predict.BatteryOhm, 0.01, 0, 0.01, 0.04, 0.03, 0.05)
	a.also(predict.OpenCircuitV, 0.1, 0.05, 0, 0.4, 0.5, 0.4)
	s, ok := a.scanner(nil)
	require.True(t, ok)
	k, likeliest := a.index("not_logged:battery"), weighed{log: math.Inf(-1)}
	row := &a.causes[k]
	require.Len(t, row.Amplitudes, 2)
	for _, w := range s.scan()[k].onsets {
		prior := map[string]float64{findings.Step: row.Step, findings.Ramp: row.Ramp}[w.h.pattern] * causes.Sizes[w.h.size].P
		if w.h.onset < a.r.Baseline {
			prior *= unsound
		}
		assert.InDelta(t, math.Log(prior)+a.logOf([]hypothesis{w.h}), w.log, 1e-6, "%+v", w.h)
		if w.log > likeliest.log {
			likeliest = w
		}
	}
	assert.Equal(t, a.r.Baseline+2, likeliest.h.onset)
}

// The best explanation of dives that speak of one loop: one change, since when and how it goes on; two
// changes; one that is over; one dive alone; nothing.
func TestExplains(t *testing.T) {
	const sd = 0.02
	type part struct {
		pattern      string
		onset, until int
	}
	for name, c := range map[string]struct {
		xs   []float64
		want []part
	}{
		"nothing":   {[]float64{0.01, -0.02, 0.02, 0, -0.01, 0.03, 0}, nil},
		"step":      {[]float64{0, 0.01, 0.15, 0.14, 0.16, 0.15, 0.14}, []part{{findings.Step, 2, 0}}},
		"ramp":      {[]float64{0, 0.01, 0.02, 0.05, 0.08, 0.1, 0.13, 0.15}, []part{{findings.Ramp, 2, 0}}},
		"one dive":  {[]float64{0, 0.01, 0, 0.3, 0.01, -0.01, 0, 0.01}, []part{{findings.Once, 3, 0}}},
		"two steps": {[]float64{0, 0.01, 0.15, 0.14, 0.16, 0.15, 0.15, 0.4, 0.41, 0.39, 0.4, 0.39, 0.41, 0.4}, []part{{findings.Step, 2, 0}, {findings.Step, 7, 0}}},
	} {
		a := plain(predict.LoopOhm, sd, c.xs...)
		e, ok := (&weighings{a: a}).explain(nil)
		require.True(t, ok, name)
		var got []part
		for _, p := range e.components {
			assert.Equal(t, a.index("power_loop"), p.cause, name)
			got = append(got, part{p.pattern, p.onset - a.r.Baseline, p.until})
		}
		assert.ElementsMatch(t, c.want, got, name)
	}
}

// A part that stays when another is dropped is weighed anew without it.
func TestLookAgain(t *testing.T) {
	a := plain(predict.LoopOhm, 0.01, slices.Repeat([]float64{0.2}, 8)...)
	at := func(onset int) hypothesis {
		return hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline + onset}
	}
	stays, spurious := at(0), at(4)
	w := &weighings{a: a, done: []weighing{{[]hypothesis{spurious}, component{hypothesis: stays, none: 0.4}}, {[]hypothesis{stays}, component{hypothesis: spurious, none: 0.9}},
		{nil, component{hypothesis: stays, none: 0.001}}}}
	for name, hs := range map[string][]hypothesis{"first": {stays, spurious}, "last": {spurious, stays}} {
		e, ok := w.lookAgain(hs, 0)
		require.True(t, ok)
		require.Len(t, e.components, 1, name)
		assert.Equal(t, stays, e.components[0].hypothesis, name)
		assert.Equal(t, 0.001, e.components[0].none, name)
	}
}

// What explained the dives before together is weighed again beside what is found one cause after the other, and the
// likelier of the two taken.
func TestWhatExplainedTheDivesBefore(t *testing.T) {
	a := plain(predict.LoopOhm, 0.01, slices.Repeat([]float64{0.2}, 8)...)
	a.also(predict.UnloggedA, 0.1, 0, 0, 0, 0.9, 0.9, 0.9, 0.9, 0.9)
	part := func(name string) component {
		h := hypothesis{cause: a.index(name), pattern: findings.Step, onset: a.r.Baseline}
		e := component{hypothesis: h, stays: make([]float64, len(a.causes)), best: make([]hypothesis, len(a.causes))}
		e.stays[h.cause], e.best[h.cause] = 1, h
		return e
	}
	astray, nothing := part("friction"), component{none: 1}
	names := func(before *explanation) (out []string) {
		w := &weighings{a: a, done: []weighing{{nil, astray}, {[]hypothesis{astray.hypothesis}, nothing}}}
		e, ok := w.withEnds(before)
		require.True(t, ok)
		for _, p := range e.components {
			out = append(out, a.causes[p.cause].Name)
		}
		return out
	}
	require.Equal(t, []string{"friction"}, names(&explanation{}))
	assert.ElementsMatch(t, []string{"power_loop", "not_logged:lights"}, names(&explanation{components: []component{part("power_loop"), part("not_logged:lights")}}))
}

// How much is taken to have happened at once is bounded: three causes that stay, six dives by themselves. What is
// gone counts as neither.
func TestEnough(t *testing.T) {
	of := func(stays, once, gone int) (hs []hypothesis) {
		for range stays {
			hs = append(hs, hypothesis{pattern: findings.Step})
		}
		for range once {
			hs = append(hs, hypothesis{pattern: findings.Once})
		}
		for range gone {
			hs = append(hs, hypothesis{pattern: findings.Ramp, until: 4})
		}
		return hs
	}
	assert.False(t, enough(of(2, 5, 8)))
	assert.True(t, enough(of(3, 0, 0)))
	assert.True(t, enough(of(0, 6, 0)))
}

// A cause is gone where dives speak against it by more than that being so rare; what the newest dive shows
// again is not, whatever was between.
func TestEnds(t *testing.T) {
	const size, sd = 0.15, 0.03
	against := func(nats float64) float64 { return size/2 - nats*sq(sd)/size } // by how much a dive at x speaks against size
	known := slices.Repeat([]float64{size}, 12)
	for name, c := range map[string]struct {
		then []float64
		want int // dives that it acted in, 0: not gone
	}{
		"it goes on":                {[]float64{size}, 0},
		"one dive says little":      {[]float64{against(3)}, 0},
		"one dive says enough":      {[]float64{against(7)}, 12},
		"gone for three":            {[]float64{0, 0.01, -0.01}, 12},
		"back in the newest":        {[]float64{0, 0, 0, against(-6.5)}, 0},
		"hardly back in the newest": {[]float64{0, 0, 0, against(-3.5)}, 12},
		"a stray dive":              {[]float64{0, size}, 0},
	} {
		a := plain(predict.LoopOhm, sd, slices.Concat(known, c.then)...)
		from := a.r.Baseline
		before := &explanation{components: []component{{hypothesis: hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: from}}}}
		got := a.ends(before)
		if c.want == 0 {
			assert.Empty(t, got, name)
			continue
		}
		if assert.Len(t, got, 1, name) {
			require.Len(t, got[0], 1)
			assert.Equal(t, from+c.want, got[0][0].until, name)
		}
		// begun again by the service since then, it has not ended of itself
		a.renewed[before.components[0].cause], a.epoch[before.components[0].cause] = true, from+1
		assert.Empty(t, a.ends(before), name)
	}
}

// An end that the dives since do not bear out is taken back while it is of late; one that they do bear out stays.
func TestAnEndIsTakenBack(t *testing.T) {
	for name, c := range map[string]struct {
		xs    []float64
		taken bool
	}{
		"it went on": {[]float64{0, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3}, true},
		"it is gone": {[]float64{0, 0.3, 0.3, 0.3, 0.3, 0, 0, 0}, false},
	} {
		a := plain(predict.LoopOhm, 0.02, c.xs...)
		ended := part(a, "power_loop")
		ended.onset, ended.until = a.r.Baseline+1, a.r.Baseline+5
		e, ok := (&weighings{a: a}).withEnds(&explanation{components: []component{ended}})
		require.True(t, ok)
		require.Len(t, e.components, 1, name)
		h := e.components[0].hypothesis
		assert.Equal(t, []any{ended.cause, ended.onset, c.taken}, []any{h.cause, h.onset, h.until == 0}, name)
	}
}

// A contact that comes and goes has not ended for being quiet, however long, nor what is so by turns for resting.
func TestWhatComesAndGoesDoesNotEnd(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, slices.Repeat([]float64{0}, 12)...)
	from := a.r.Baseline
	for name, h := range map[string]hypothesis{"contact": {cause: a.index("intermittent_contact"), pattern: findings.Intermittent, onset: from},
		"lights": {cause: a.index("not_logged:lights"), pattern: findings.Turns, onset: from, on: "101010000000"}} {
		assert.Empty(t, a.ends(&explanation{components: []component{{hypothesis: h}}}), name)
	}
	jam := hypothesis{cause: a.index("stall:port"), pattern: findings.Step, onset: from}
	assert.Len(t, a.ends(&explanation{components: []component{{hypothesis: jam}}}), 1, "a jam that is not seen any more has")
}

// A cause by turns is one that comes back, in two dives and more of six and more, and rests in some between.
func TestByTurns(t *testing.T) {
	const on = 0.8
	for _, c := range []struct {
		dives string
		want  string // from its onset; "" where it is none
	}{
		{"101010", "101010"}, {"01100100", "1100100"}, {"110011", "110011"}, {"0011111", ""}, {"1111000", ""}, {"0001000", ""}, {"0000000", ""}, {"1111111", ""}, {"10101", ""},
	} {
		var xs []float64
		for i, r := range c.dives {
			x := 0.03 * float64(i%3-1)
			if r == acts {
				x += on
			}
			xs = append(xs, x)
		}
		a := plain(predict.UnloggedA, 0.1, xs...)
		k := a.index("not_logged:lights")
		if strings.Contains(c.dives, "0") && strings.Contains(c.dives, "1") {
			h, ok := a.likeliestTurns(k, nil, math.Inf(-1))
			assert.Equal(t, c.want != "", ok, c.dives)
			if ok {
				assert.Equal(t, c.want, h.on)
				assert.Equal(t, a.r.Baseline+len(c.dives)-len(c.want), h.onset)
			}
		}
		e, ok := (&weighings{a: a}).withEnds(&explanation{})
		require.True(t, ok)
		found := slices.ContainsFunc(e.components, func(p component) bool {
			return p.pattern == findings.Turns && p.cause == k && p.none < 0.01 && p.stays[k] > 0.99
		})
		assert.Equal(t, c.want != "", found, c.dives)
	}
}

// Water that is taken in during some dives and drained after them is by turns as well: the lower half of the dives acts.
func TestFloodsByTurns(t *testing.T) {
	var xs []float64
	for i, r := range "0101101001" {
		x := 2 * float64(i%3-1)
		if r == acts {
			x -= 80
		}
		xs = append(xs, x)
	}
	a := plain(predict.TrimG, 4, xs...)
	e, ok := (&weighings{a: a}).withEnds(&explanation{})
	require.True(t, ok)
	require.Len(t, e.components, 1)
	p := &e.components[0]
	assert.Equal(t, []string{"ingress", findings.Turns, "101101001"}, []string{a.causes[p.cause].Name, p.pattern, p.on})
	assert.Less(t, p.none, 0.01)
}

// Of a cause by turns the rest of its probability is shared with what else may come and go so, by worth, of n
// dives' evidence coarse/(coarse+n).
func TestShare(t *testing.T) {
	a := &analysis{n: 29}
	p := &component{hypothesis: hypothesis{cause: 1, pattern: findings.Turns, onset: 20}, stays: []float64{0, 0.9, 0}, best: make([]hypothesis, 3)}
	other := hypothesis{cause: 2, pattern: findings.Turns, onset: 21}
	a.share(p, []alternating{{p.hypothesis, -7}, {other, -8}}, -7)
	odds := math.Exp(-coarse / (coarse + 10))
	assert.InDeltaSlice(t, []float64{0, 0.9 / (1 + odds), 0.9 * odds / (1 + odds)}, p.stays, 1e-12)
	assert.Equal(t, other, p.best[2])
}

// What comes and goes by turns is as likely as it is worth against the best explanation without: of e times as much, e to one.
func TestByTurnsAgainstOthers(t *testing.T) {
	a := plain(predict.UnloggedA, 0.1, 0.8, 0, 0.8, 0, 0.8, 0)
	k := a.index("not_logged:lights")
	h, ok := a.byTurns(k, 0, a.r.Baseline)
	require.True(t, ok)
	before := &explanation{components: []component{{hypothesis: h}}}
	got := (&weighings{a: a}).withTurns(before, explanation{}, a.worth([]hypothesis{h})-1)
	require.Len(t, got.components, 1)
	p := got.components[0]
	assert.Equal(t, h, p.hypothesis)
	assert.InDelta(t, 1/(1+math.E), p.none, 1e-9)
	sum := 0.0
	for _, x := range p.stays {
		sum += x
	}
	assert.InDelta(t, math.E/(1+math.E), sum, 1e-9)
	assert.Greater(t, p.stays[k], 0.9*sum)
	assert.Equal(t, []probable{{h, 1}}, p.onsets)
	assert.Empty(t, (&weighings{a: a}).withTurns(before, explanation{}, a.worth([]hypothesis{h})+1).components, "less likely than none")
}

// What comes and goes as a contact does, and explains the dives about as well, has its share of the contact's probability.
func TestAContactShares(t *testing.T) {
	a := plain(predict.UnloggedA, 0.1, 0.8, 0, 0.8, 0, 0.8, 0, 0.8, 0)
	lights, contact := a.index("not_logged:lights"), a.index("intermittent_contact")
	h, ok := a.byTurns(lights, 0, a.r.Baseline)
	require.True(t, ok)
	best := explanation{components: []component{{hypothesis: hypothesis{cause: contact, pattern: findings.Intermittent, onset: a.r.Baseline}, stays: stayed(a, contact), best: make([]hypothesis, len(a.causes))}}}
	stays := (&weighings{a: a}).withTurns(&explanation{}, best, a.worth([]hypothesis{h})+1).components[0].stays
	assert.Greater(t, stays[lights], 0.2)
	assert.Greater(t, stays[contact], stays[lights])
	assert.InDelta(t, 1, stays[lights]+stays[contact], 1e-9)
}

// A cause of which no reading speaks is weighed against nothing: of a usual amplitude the dives must tell a
// millionth of its variance.
func TestUnread(t *testing.T) {
	for info, want := range map[float64]bool{0: false, 0.8e-6: false, 1.2e-6: true, 1: true} {
		for _, sd := range []float64{0.1, 40} {
			o := newOnsets([]column{{sd: sd}, {sd: sd}}, false, 0)
			o.steps.SetSym(1, 1, info/sq(sd))
			assert.Equal(t, want, o.speaks(), "%g of %g", info, sd)
		}
	}
	a := plain(predict.LoopOhm, 0.1, 0, 0.2)
	s, ok := a.scanner(nil)
	require.True(t, ok)
	found := s.scan()
	for cause, read := range map[string]bool{"power_loop": true, "thrust": false} {
		k := a.index(cause)
		assert.Equal(t, read, found[k].always.sum > 0, cause)
		assert.Equal(t, read, len(found[k].onsets) > 0, cause)
	}
}

// A block of dives says of a step and of a ramp that begin with it or before what its dives say one by one.
func TestOnsetsOfBlocks(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1)
	var single []block
	for i, x := range []float64{0.1, 0.3, -0.2, 0.15, 0.4, 0.05, 0.2, 0.35} {
		single = append(single, saying(a.r, a.r.Baseline+i, predict.LoopOhm, 0.05*float64(i+1), x))
	}
	a.n = a.r.Baseline + len(single) - 1
	s, ok := a.scanner(nil)
	require.True(t, ok)
	taken := func(blocks []block) *onsets {
		o := newOnsets(a.ofCause(hypothesis{cause: a.index("power_loop"), pattern: findings.Step}), true, s.base.n)
		for _, b := range slices.Backward(blocks) {
			var to blockCrossTerms
			s.fillCrossTerms(&to, &b, s.work[0])
			o.take(&to)
		}
		return o
	}
	want := taken(single)
	// by hand: Σ wᵢ, Σ i·wᵢ, Σ i²·wᵢ and Σ i·wᵢ·xᵢ of the dives' weights 1/sd²
	steps, first, second, lin := 0.0, 0.0, 0.0, 0.0
	for i := range single {
		w, k := 1/sq(0.05*float64(i+1)), float64(i+1)
		steps, first, second = steps+w, first+k*w, second+k*k*w
		lin += k * single[i].lin[0][a.r.Space.Place[predict.LoopOhm]]
	}
	for name, o := range map[string]*onsets{"single": want, "twos": taken(joined(single)), "fours": taken(joined(joined(single))),
		"some": taken(append(joined(joined(single[:4])), single[4:]...))} {
		assert.InEpsilon(t, steps, o.steps.At(0, 0), 1e-9, name)
		assert.InEpsilon(t, first, o.ramp1, 1e-9, name)
		assert.InEpsilon(t, second, o.ramp2, 1e-9, name)
		assert.InEpsilon(t, lin, o.ramp.lin, 1e-9, name)
		assert.InDeltaSlice(t, want.ramp.white, o.ramp.white, 1e-6, name)
		assert.InDeltaSlice(t, want.step[0].white, o.step[0].white, 1e-6, name)
	}
}

// What a dive still asks for, beyond a departure that is taken: its mean less that, by its information.
func TestPull(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0.3)
	at := make([]float64, len(a.r.Space.All))
	at[a.r.Space.Place[predict.LoopOhm]] = 0.2
	slope, info := a.pull(&a.view[0], at, &column{terms: []placed{{a.r.Space.Place[predict.LoopOhm], 2}}})
	assert.InDelta(t, 2*(0.3-0.2)/0.01, slope, 1e-9)
	assert.InDelta(t, 4/0.01, info, 1e-9)
}

// Dives are shared out to two levels anew until none changes sides: one that lies above the mean of all, but
// nearer to those at rest, rests.
func TestByTurnsIsSharedOutAnew(t *testing.T) {
	a := plain(predict.UnloggedA, 0.1, 1, 0, 0.3, 0, 0, 1, 0, 0.05, 0, -0.05)
	h, ok := a.byTurns(a.index("not_logged:lights"), 0, a.r.Baseline)
	require.True(t, ok)
	assert.Equal(t, "1000010000", h.on)
	assert.Equal(t, "1010010000", string(a.apart(h.cause, 0, h.onset)), "to begin with parted at the mean")
	a = plain(predict.UnloggedA, 0.1, 1, 0, 0.15, 0, 1, 0)
	a.view[2] = saying(a.r, a.view[2].first, predict.UnloggedA, 0.02, 0.15) // which has 25 times the weight: the mean is 0.19
	assert.Equal(t, "100010", string(a.apart(h.cause, 0, h.onset)))
}

// Where a cause has several amplitudes, the dives are parted by the one that tells them apart best.
func TestPartedByWhatTellsMost(t *testing.T) {
	ohm, volts := []float64{0.03, 0.03, 0.03, 0, 0, 0}, []float64{0.4, 0, 0.4, 0, 0.4, 0}
	for want, sd := range map[string]struct{ ohm, volts float64 }{"111000": {0.002, 0.1}, "101010": {0.01, 0.02}} {
		a := plain(predict.BatteryOhm, sd.ohm, ohm...)
		a.also(predict.OpenCircuitV, sd.volts, volts...)
		assert.Equal(t, want, string(a.apart(a.index("not_logged:battery"), 0, a.r.Baseline)))
	}
}

// A contact that comes and goes shows nothing in three dives of ten, a jam by turns as well; one that stays acts in all.
func TestQuietDives(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0, 0)
	contact := a.index("intermittent_contact")
	for d := a.r.Baseline; d <= a.n; d++ {
		a.fixed[d] = hypothesis{} // so that none is read as one
	}
	assert.InDelta(t, 4*math.Log(0.3), a.constants(hypothesis{cause: contact, pattern: findings.Intermittent, onset: a.r.Baseline}), 1e-12)
	assert.InDelta(t, math.Log(0.3), a.constants(hypothesis{cause: contact, pattern: findings.Intermittent, onset: a.n}), 1e-12)
	assert.Zero(t, a.constants(hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline}))
}

// Another battery begins the trends of its own causes anew and no others.
func TestRestartCauses(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1)
	a.restartCauses(a.r.Space.Place[predict.BatteryOhm], 9, true)
	for i := range a.causes {
		is := a.causes[i].Name == "battery" || a.causes[i].Name == "not_logged:battery"
		assert.Equal(t, is, a.renewed[i], a.causes[i].Name)
		assert.Equal(t, is, a.epoch[i] == 9, a.causes[i].Name)
	}
}

// A cause by turns is weighed with those of the others that it leaves something to explain, and without the rest.
func TestBesides(t *testing.T) {
	const sd = 0.1
	turns, joint := []float64{0.8, 0, 0.8, 0, 0.8, 0, 0.8, 0}, []float64{0, 0, 0, 0.4, 0.4, 0.4, 0.4, 0.4}
	for _, worse := range []bool{true, false} {
		a := plain(predict.UnloggedA, sd, turns...)
		if !worse {
			joint = make([]float64, len(turns))
		}
		a.also(predict.LoopOhm, sd, joint...)
		from := a.r.Baseline
		lights := hypothesis{cause: a.index("not_logged:lights"), pattern: findings.Turns, onset: from, on: "10101010"}
		loop := hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: from + 3}
		wrong := hypothesis{cause: lights.cause, pattern: findings.Once, onset: from + 2}
		friction := hypothesis{cause: a.index("friction"), pattern: findings.Step, onset: from + 1}
		hs := []hypothesis{lights}
		if worse {
			hs = append(hs, loop)
		}
		want := a.logOf(hs) + a.prior(hs)
		assert.InDelta(t, want, a.besides(lights, []hypothesis{wrong, loop, friction}), 1e-9, "the loop is worse: %t", worse)
	}
}

// A battery has its own level since it first came after the baseline; the first one keeps the baseline's when it is back.
func TestBatteriesBegin(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	for d := range r.Dives {
		r.Dives[d].Battery = "A"
	}
	r.Dives[7].Battery, r.Dives[9].Battery = "B", "B"
	a := newAnalysis(&r)
	k, at := a.index("battery"), r.Space.Place[predict.BatteryOhm]
	other := r.OtherBattery()[0].SD
	for _, c := range []struct {
		n       int
		another bool
		since   int
		sd      float64
	}{{5, false, 5, 0}, {6, false, 5, 0}, {7, true, 7, other}, {8, true, 5, 0}, {9, true, 7, other}, {10, true, 5, 0}, {11, false, 5, 0}} {
		assert.Equal(t, c.another, a.begin(c.n, &explanation{}), "dive %d", c.n)
		assert.Equal(t, []any{c.since, c.sd}, []any{a.levels[at].since, a.levels[at].sd}, "dive %d", c.n)
		assert.Equal(t, []any{c.since, c.sd > 0}, []any{a.epoch[k], a.renewed[k]}, "dive %d", c.n)
	}
}

// The departure of a dive is what the static parameters say, and of each column that is kept its profile there times its
// amplitude, on each of its places by what one unit adds.
func TestDeparture(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0, 0, 0)
	static := a.r.Space.Static
	s := &state{n: len(static) + 2, lin: make([]float64, len(static)+2)}
	s.lin[0], s.lin[len(static)], s.lin[len(static)+1] = 0.5, 0.1, 3
	friction, loop := a.r.Space.Place[predict.FrictionA], a.r.Space.Place[predict.LoopOhm]
	cols := []column{{terms: []placed{{loop, 2}, {friction, -4}}, pattern: findings.Ramp, onset: 6}, {terms: []placed{{friction, 1}}, pattern: findings.Step, onset: 7}}
	want := func(ohm, amps float64) []float64 {
		out := make([]float64, len(a.r.Space.All))
		out[static[0]] += 0.5
		out[loop] += ohm
		out[friction] += amps
		return out
	}
	assert.InDeltaSlice(t, want(0, 0), a.departure(s, cols, 5, nil), 1e-12)
	assert.InDeltaSlice(t, want(0.2, -0.4), a.departure(s, cols, 6, nil), 1e-12)
	assert.InDeltaSlice(t, want(0.4, -0.8+3), a.departure(s, cols, 7, nil), 1e-12)
	assert.InDeltaSlice(t, want(0.4, -0.8), a.departure(s, cols, 7, func(c *column) bool { return c.pattern == findings.Ramp }), 1e-12)
}

// What is likelier than not asks for an explanation where a single onset of a single cause is no more than twenty times
// less likely than that nothing has changed: of hundreds of dives' changes too small to be seen none does.
func TestAsks(t *testing.T) {
	for _, c := range []struct {
		none, single float64
		want         bool
	}{{0.49, 1, true}, {0.51, 1, false}, {0.01, 0.051, true}, {0.01, 0.049, false}} {
		assert.Equal(t, c.want, (&component{none: c.none, single: math.Log(c.single)}).asks(), "%+v", c)
	}
	a := plain(predict.LoopOhm, 0.05, 0, 0, 0.2, 0.2, 0.2)
	s, ok := a.scanner(nil)
	require.True(t, ok)
	found := s.scan()
	e, best := s.weigh(found), math.Inf(-1)
	for _, w := range found[a.index("power_loop")].onsets {
		best = max(best, w.log)
	}
	assert.Equal(t, hypothesis{cause: a.index("power_loop"), pattern: findings.Step, onset: a.r.Baseline + 2, size: e.hypothesis.size}, e.hypothesis)
	assert.InDelta(t, best-s.base.log, e.single, 1e-9)
	assert.Greater(t, e.single, 5.0)
}

// Onsets are weighed alike whether the dives before them stand alone or in blocks, and as the hypothesis by itself, for
// each of the dives that it stands for.
func TestOnsetsBeforeBlocks(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05)
	i := slices.Index(a.r.Space.Static, a.r.Space.Place[predict.LoopOhm])
	a.sum.info[i*a.sum.n+i] += 1/sq(0.05) - 1e12 // the calibration knows it no better
	from := a.r.Baseline
	var single []block
	for i := range 64 {
		x := 0.01 * float64(i%5-2)
		if i >= 10 {
			x += 0.004 * float64(i-9)
		}
		b := saying(a.r, 0, predict.LoopOhm, 0.05, x)
		b.first = from + i
		single = append(single, b)
		a.sum.addBlock(a.r.Space.Static, &b, 1)
	}
	a.n, a.held = from+63, single[12:]
	scan := func(view []block) map[hypothesis]float64 {
		a.view = view
		s, ok := a.scanner(nil)
		require.True(t, ok)
		out := map[hypothesis]float64{}
		s.allCrossTerms()
		var e evidenceOf
		s.amplitudes(&e, a.index("power_loop"))
		for _, w := range append(e.onsets, e.once...) {
			out[w.h] = w.log
		}
		return out
	}
	want, got := scan(single), scan(append(joined(joined(single[:12])), single[12:]...))
	require.Len(t, got, len(want))
	steps, ramps := 0, 0
	c := &a.causes[a.index("power_loop")]
	for h, log := range want {
		assert.InDelta(t, log, got[h], 1e-6, "%+v", h)
		if prior := map[string]float64{findings.Step: c.Step, findings.Ramp: c.Ramp}[h.pattern]; h.onset >= from && h.onset < from+12 {
			assert.InDelta(t, a.logOf([]hypothesis{h})+math.Log(4*prior*causes.Sizes[h.size].P), log, 1e-5, "%+v", h)
		}
		if h.onset < from { // each by itself, less often than a later one
			prior := map[string]float64{findings.Step: c.Step, findings.Ramp: c.Ramp}[h.pattern]
			assert.InDelta(t, a.logOf([]hypothesis{h})+math.Log(unsound*prior*causes.Sizes[h.size].P), log, 1e-5, "%+v", h)
			continue
		}
		if h.onset < from+12 && h.pattern == findings.Step {
			steps++
		}
		if h.onset < from+12 && h.pattern == findings.Ramp {
			ramps++
		}
	}
	assert.Equal(t, 3*len(causes.Sizes), steps, "one for each four dives")
	assert.Equal(t, steps, ramps)
}

// Nothing is weighed to begin within a block: not where the first dive that a service leaves is in one, nor where what explained
// the dives so far began in one.
func TestOnsetsBeginWithBlocks(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05)
	from, c := a.r.Baseline, a.index("power_loop")
	var single []block
	for i := range 60 {
		b := saying(a.r, 0, predict.LoopOhm, 0.05, 0.01*float64(i%5-2))
		b.first = from + i
		single = append(single, b)
		a.sum.addBlock(a.r.Space.Static, &b, 1)
	}
	a.n, a.held = from+59, single[4:]
	a.view = append(joined(single[:4]), single[4:]...)
	a.renewed[c], a.epoch[c] = true, from
	for _, a.onsets = range [][]int{nil, {from + 3}} {
		s, ok := a.scanner(nil)
		require.True(t, ok)
		s.allCrossTerms()
		var e evidenceOf
		s.amplitudes(&e, c)
		require.NotEmpty(t, e.onsets)
		oldest := a.n
		for _, w := range e.onsets {
			assert.True(t, slices.ContainsFunc(a.view, func(b block) bool { return b.first == w.h.onset }), "onset %d", w.h.onset-from)
			oldest = min(oldest, w.h.onset)
		}
		assert.Equal(t, from+2, oldest, "the first block begins before the level is known")
	}
}

// The thrust of all has of what a service left open of one its share, and nothing of what one alone has lost or how that bends, nor of what is beside it;
// the current meter's gain nothing of its zero.
func TestWeightsOfOneThruster(t *testing.T) {
	a := plain(predict.LoopOhm, 0.1, 0)
	at := func(param int) []placed { return []placed{{a.r.Space.Place[param], 1}} }
	one, n := predict.OfThruster(1, predict.LogOneThrust), float64(len(a.r.Model.Vehicle.Thrusters))
	cols := []column{
		{terms: at(one), pattern: findings.Step, of: -1, cause: -1},
		{terms: at(one), pattern: findings.Ramp, of: -1, cause: -1},
		{terms: at(one), pattern: findings.Step, of: 0, cause: a.index("thrust:port")},
		{terms: at(predict.LogThrust), pattern: findings.Step, of: -1, cause: -1},
		{terms: at(predict.ClampZeroA), pattern: findings.Step, of: -1, cause: -1},
		{terms: at(predict.LogThrust), pattern: findings.Turns, on: "1111", of: 0, cause: -1, offLevel: true},
	}
	s := &state{n: len(a.r.Space.Static) + len(cols)}
	weights := func(cause string) []float64 { return a.weightsAt(s, cols, a.index(cause), 3)[len(a.r.Space.Static):] }
	assert.Equal(t, []float64{1 / n, 0, 0, 1, 0, 0}, weights("thrust"))
	assert.Equal(t, []float64{0, 0, 0, 0, 0, 0}, weights("instrument:current_a"))
	assert.Equal(t, []float64{1, 4, 1, 0, 0, 0}, weights("thrust:"+a.r.Model.Vehicle.Thrusters[1].Name))
}

// A jammed thruster's resistance differs from a running one's in the dives that are read so, by 30 % of its winding's.
func TestStanding(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	from := r.Baseline
	for _, d := range []int{from, from + 2} {
		s := *r.Dives[d].Summary
		s.Failed = map[causes.Failure]fit.Failed{{Thruster: 2}: {Quadratic: &s.Firm}}
		r.Dives[d].Summary = &s
	}
	a := newAnalysis(&r)
	a.n, a.held = from+2, []block{{first: from}}
	name := r.Model.Vehicle.Thrusters[1].Name
	cols := a.ofCause(hypothesis{cause: a.index("stall:" + name), pattern: findings.Step, onset: from})
	require.Len(t, cols, 1)
	assert.Equal(t, "101", cols[0].on)
	assert.InDelta(t, 0.15*r.Model.ArmatureOhm(r.Base, 1), cols[0].sd, 1e-12, "the file gives it")
	assert.Equal(t, []placed{{r.Space.Place[predict.OfThruster(1, predict.BranchOhm)], 1}}, cols[0].terms)
}

// The vehicle of today as an explanation has it, and with something else in a part's place.
func TestParamsOfAnExplanation(t *testing.T) {
	a := plain(predict.LoopOhm, 0.05, 0, 0, 0.2, 0.2, 0.2)
	a.also(predict.FrictionA, 0.05, 0, 0, 0.3, 0.3, 0.3)
	step := func(cause string) hypothesis {
		return hypothesis{cause: a.index(cause), pattern: findings.Step, onset: a.r.Baseline + 2}
	}
	e := component{hypothesis: step("power_loop")}
	now := &explanation{components: []component{{hypothesis: step("battery")}, e}}
	for h, c := range map[string]struct{ ohm, amps float64 }{"power_loop": {0.2, 0}, "friction": {0, 0.3}} {
		p, ok := a.params(now, &e, step(h))
		require.True(t, ok)
		assert.InDelta(t, c.ohm, p[predict.LoopOhm]-a.r.Base[predict.LoopOhm], 0.02, h)
		assert.InDelta(t, c.amps, p[predict.FrictionA]-a.r.Base[predict.FrictionA], 0.02, h)
		assert.Equal(t, a.r.Model.Vehicle.Battery.RestV(), p[predict.OpenCircuitV])
		assert.Zero(t, p[predict.SagVPerMinute])
	}
}

// Where no dive has told more, and with the scatter that the calibration takes dives to have, what is known of the vehicle
// when sound is what is usual, and how that goes together; where they differ more, the less is known of it.
func TestStaticsBeforeMoreIsTold(t *testing.T) {
	a := newAnalysis(exampleFit())
	for i, at := range a.r.Space.Scatter {
		a.variance[i] = sq(a.r.Space.Known(at).Scatter)
	}
	a.review()
	s := a.statics(&explanation{})
	assert.InDeltaSlice(t, a.r.SoundOffset, s.Mean, 1e-9)
	n := len(s.Mean)
	for i := range n {
		sd := math.Sqrt(a.r.SoundCov.At(i, i))
		for j := range n {
			assert.InDelta(t, a.r.SoundCov.At(i, j), s.Cov.At(i, j), 1e-6*sd*math.Sqrt(a.r.SoundCov.At(j, j)), "%d, %d", i, j)
		}
	}
	trim := a.r.Space.Place[predict.TrimG]
	a.variance[a.r.ScatterAt(trim)] *= 25
	a.review()
	i := a.r.Space.InStatic[trim]
	assert.Greater(t, a.statics(&explanation{}).Cov.At(i, i), 4*s.Cov.At(i, i))
}

// A repair takes no more off a thruster's wiring than it had, as built, as calibrated and as may have been wrong with it before; a loop that loses more than its joints is
// another cable, and other repairs have no bound.
func TestMostMended(t *testing.T) {
	r := *exampleFit()
	a := newAnalysis(&r)
	k := predict.OfThruster(1, predict.BranchOhm)
	built, _ := r.Model.BuiltOhm(k)
	i := r.Space.InStatic[r.Space.Place[k]]
	sd := math.Sqrt(r.Cov.At(i, i))
	require.Positive(t, built)
	require.Positive(t, sd)
	cause := a.index("not_logged:repair:branch:" + r.Model.Vehicle.Thrusters[1].Name)
	most := a.mostMended(&a.causes[cause])
	assert.InDelta(t, built+r.Base[k]+1.96*math.Hypot(sd, 0.2), most, 1e-3)
	assert.Zero(t, a.mostMended(&a.causes[a.index("not_logged:repair:power_loop")]))
	assert.Zero(t, a.mostMended(&a.causes[a.index("not_logged:repair:thrust")]))
	col := a.ofCause(hypothesis{cause: cause, pattern: findings.Step, onset: r.Baseline})[0]
	assert.Equal(t, bounds{worse: -1, most: most}, a.boundsOf(&col))
	col = a.ofCause(hypothesis{cause: a.index("not_logged:repair:power_loop"), pattern: findings.Step, onset: r.Baseline})[0]
	assert.Equal(t, bounds{worse: -1}, a.boundsOf(&col))
}

// Magnets that weaken slowly may lose more than at once, when the motor would stand.
func TestMostWeakness(t *testing.T) {
	a := plain(predict.LoopOhm, 0.02, 0, 0, 0)
	col := a.ofCause(hypothesis{cause: a.index("motor:port"), pattern: findings.Step, onset: 5})[0]
	assert.Equal(t, bounds{worse: 1, most: 0.35}, a.boundsOf(&col))
	col.pattern = findings.Ramp
	assert.Equal(t, bounds{worse: 1}, a.boundsOf(&col))
}

// Lamps lose no more current than they draw, and may draw as much more as there is.
func TestMostLit(t *testing.T) {
	v, err := vehicle.Open("../../examples/sound")
	require.NoError(t, err)
	log, err := session.Open("../../examples/sound")
	require.NoError(t, err)
	log.Dives = log.Dives[:7]
	lines := log.Dives[6].Lines
	lines[len(lines)-1].Lights = true
	r, err := fit.Fit(v, log)
	require.NoError(t, err)
	place := r.Space.Place[predict.LightsA]
	require.GreaterOrEqual(t, place, 0)
	a := newAnalysis(r)
	i := r.Space.InStatic[place]
	want := r.Model.Vehicle.Lights.AmpsAt(r.Model.Vehicle.MostV()) + r.Base[predict.LightsA] + 1.96*math.Sqrt(r.Cov.At(i, i))
	col := a.ofCause(hypothesis{cause: a.index("not_logged:lights:lit"), pattern: findings.Step, onset: r.Baseline})[0]
	assert.InDelta(t, want, a.boundsOf(&col).least, 1e-3)
	assert.Equal(t, bounds{least: a.boundsOf(&col).least}, a.boundsOf(&col))
	down := bounds{least: 1}
	assert.InDelta(t, math.Log(0.5), down.log(-1, 0.3, 1), 1e-9)
	assert.InDelta(t, 0, down.log(20, 0.3, 1), 1e-9)
	both := bounds{most: 2, least: 1}
	assert.InDelta(t, math.Log(0.5), both.log(2, 0.3, 1), 1e-9)
}

// What comes and goes may have been in the baseline's dives by turns too, which is a level of its own; where it is since the first
// dive of the log it is not.
func TestColumnsByTurns(t *testing.T) {
	a := plain(predict.UnloggedA, 0.1)
	for onset, want := range map[int][]string{a.r.Baseline: {findings.Turns, findings.Step}, 0: {findings.Turns}} {
		var got []string
		for _, col := range a.ofCause(hypothesis{cause: a.index("not_logged:lights"), pattern: findings.Turns, onset: onset, on: "1010"}) {
			got = append(got, col.pattern)
		}
		assert.Equal(t, want, got, "since %d", onset)
	}
}

// Of a battery with an open alarm it is said until it is used again or something was done about it.
func TestLaidAside(t *testing.T) {
	cause := causes.Cause{Words: "battery resistance"}
	for name, c := range map[string]struct {
		used   string // batteries of the dives
		served int    // dive before which the battery was worked on
		want   int    // remarks
	}{
		"set aside": {"AAAAAAABB", -1, 1}, "used again": {"AAAAAAABA", -1, 0}, "worked on": {"AAAAAAABB", 8, 0}, "worked on before": {"AAAAAAABB", 6, 1},
	} {
		r := *exampleFit()
		r.Dives = slices.Clone(r.Dives[:len(c.used)])
		for i := range r.Dives {
			log := *r.Dives[i].Log
			log.Lines = slices.Clone(log.Lines)
			if i == c.served {
				log.Lines[0].Serviced = []string{"battery"}
			}
			r.Dives[i].Log, r.Dives[i].Battery = &log, c.used[i:i+1]
		}
		a := &analysis{r: &r, n: len(c.used) - 1}
		closed := r.Dives[7].Log.Label
		alarm := findings.Alarm{OnsetDive: "6", Pattern: findings.Step, ClearedDive: &closed, OtherBattery: true, Cause: &cause}
		assert.Len(t, a.alarmsOfOtherBatteries([]findings.Alarm{alarm}), c.want, name)
		alarm.OtherBattery = false
		assert.Empty(t, a.alarmsOfOtherBatteries([]findings.Alarm{alarm}), name)
	}
}

// Ballast that was logged at the onset of "ballast not written down", or just before it, is named: it may never have been on.
func TestBallastAtTheOnset(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives[:9])
	for d, total := range []float64{0, 0, 0, 200, 200, 200, 200, 150, 150} {
		log := *r.Dives[d].Log
		log.Lines = slices.Clone(log.Lines)
		log.Lines[len(log.Lines)-1].BallastG = total
		r.Dives[d].Log = &log
	}
	a := &analysis{r: &r}
	label := func(d int) string { return r.Dives[d].Log.Label }
	for dive, want := range map[int][]string{
		0: nil, 2: nil, 3: {"dive " + label(3) + " has a ballast_g of +200: was that done as written?"},
		4: {"dive " + label(3) + " has a ballast_g of +200: was that done as written?"}, 5: nil,
		8: {"dive " + label(7) + " has a ballast_g of -50: was that done as written?"},
	} {
		assert.Equal(t, want, a.ballastLogged(dive), "dive %d", dive)
	}
}
