package drift

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/normal"
)

// Without some of its columns a state is what the other unknowns have; the logarithm of their sizes goes back.
func TestWithoutColumns(t *testing.T) {
	s := &state{n: 5, lin: []float64{1, 2, 3, 4, 5}, log: 7}
	for i := range 5 {
		for j := range 5 {
			s.info = append(s.info, float64(10*min(i, j)+max(i, j)))
		}
	}
	cols := []column{{sd: 0.5}, {sd: 2}, {sd: 4}}
	for _, c := range []struct {
		drop []int // of the columns
		at   []int // of the unknowns
		log  float64
	}{
		{nil, []int{0, 1, 2, 3, 4}, 7}, {[]int{0}, []int{0, 1, 3, 4}, 7 + math.Log(0.5)}, {[]int{1}, []int{0, 1, 2, 4}, 7 + math.Log(2)},
		{[]int{0, 1, 2}, []int{0, 1}, 7 + math.Log(4)},
	} {
		dropped := map[float64]bool{}
		for _, i := range c.drop {
			dropped[cols[i].sd] = true
		}
		out, kept := s.without(2, cols, func(col *column) bool { return dropped[col.sd] })
		assert.Equal(t, len(c.at), out.n)
		assert.Len(t, kept, len(c.at)-2)
		assert.InDelta(t, c.log, out.log, 1e-12)
		for i, from := range c.at {
			assert.Equal(t, s.lin[from], out.lin[i])
			if from >= 2 {
				assert.Equal(t, cols[from-2].sd, kept[i-2].sd)
			}
			for j := i; j < len(c.at); j++ {
				assert.Equal(t, s.info[from*5+c.at[j]], out.info[i*out.n+j])
			}
		}
	}
	assert.Equal(t, 5, s.n)
}

// Readings that tell more than a float holds have no solution: a probability of theirs is no number.
func TestStateWithoutSolution(t *testing.T) {
	for _, c := range []struct {
		info, lin float64
		ok        bool
	}{{2, 3, true}, {1e300, 1e150, true}, {math.Inf(1), 3, false}, {-1, 3, false}, {2, math.Inf(-1), false}, {2, math.NaN(), false}} {
		s := &state{n: 1, info: []float64{c.info}, lin: []float64{c.lin}}
		assert.Equal(t, c.ok, s.solve(), "%+v", c)
	}
}

// What comes and goes by turns is no scatter: its parameter's stays as it was known, that of others is learnt.
func TestWhatComesAndGoesIsNoScatter(t *testing.T) {
	for _, byTurns := range []bool{false, true} {
		a := newAnalysis(exampleFit())
		want := slices.Clone(a.variance)
		a.variance[1], a.variance[2] = 3*want[1], 3*want[2] // as was known, which the dives do not bear out
		if byTurns {
			a.byTurnsNow = []int{1}
			want[1] *= 3
		}
		a.learn(a.r.Baseline)
		assert.InEpsilonSlice(t, want[1:3], a.variance[1:3], 0.01, "by turns: %t", byTurns)
	}
}

// What dives begin with as a rule is another where it has moved by more than half of what they scatter, or of a battery that no dive
// had; dives are then read anew.
func TestMoved(t *testing.T) {
	a := newAnalysis(exampleFit())
	battery := a.r.Dives[0].Battery
	sd := math.Sqrt(a.variance[a.r.ScatterAt(a.r.Space.Place[predict.OpenCircuitV])])
	for sds, want := range map[float64]bool{0: false, 0.45: false, -0.45: false, 0.55: true, -0.55: true} {
		assert.Equal(t, want, a.moved(map[string]float64{battery: a.rests[battery] + sds*sd}), "%g", sds)
	}
	assert.True(t, a.moved(map[string]float64{battery: a.rests[battery], "another": 0}))
	a.rests[battery] += 5 * sd
	a.learn(a.r.Baseline)
	assert.Equal(t, a.r.TypicalRests(a.r.Baseline+1, a.variance), a.rests)
}

// A dive has the loop higher than scatter where it lies beyond one and a half standard deviations by itself.
func TestOutstandingDives(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	const d = 7
	own := make([]normal.Normal, len(r.Space.All))
	r.Dives[d].Departures = own
	for z, want := range map[float64]bool{-3: false, 1.4: false, 1.6: true} {
		own[r.Space.Place[predict.LoopOhm]] = normal.Normal{Mean: z * 0.1, Variance: sq(0.1)}
		a := newAnalysis(&r)
		a.learn(d)
		assert.Equal(t, want, slices.Contains(a.worse[d], predict.LoopOhm), "%g", z)
	}
}

// With the first dive after the baseline it is told which of the baseline's dives have a contact worse, each by its own readings.
func TestOutstandingDivesOfTheBaseline(t *testing.T) {
	r := *exampleFit()
	r.Dives = slices.Clone(r.Dives)
	const d = 2
	sum, n, at := *r.Dives[d].Summary, len(r.Space.All), r.Space.Place[predict.LoopOhm]
	sum.Firm = normal.Quadratic{Info: mat.NewSymDense(n, nil), Lin: make([]float64, n)}
	sum.Firm.Info.SetSym(at, at, 1) // ± 1 Ω, far more than scatter
	sum.Firm.Lin[at] = 1.7
	r.Dives[d].Summary = &sum
	a := newAnalysis(&r)
	a.learn(r.Baseline)
	for dive, worse := range a.worse {
		assert.Equal(t, dive == d, slices.Contains(worse, predict.LoopOhm), "dive %d", dive+1)
	}
	assert.Len(t, a.worse, r.Baseline+1)
}
