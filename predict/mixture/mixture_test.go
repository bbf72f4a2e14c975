package mixture

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/causes"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
)

// What two amplitudes that act make of a linear form, worked out by hand: of departures that scatter and one that does
// not, and of a static parameter.
func TestFormsOfAMixture(t *testing.T) {
	m := &Mixture{of: &Calibrated{Keep: []int{0}}, at: []int{0, -1}, mean: []float64{0.5, 0.2}, cov: [][]float64{{0.04, 0.01}, {0.01, 0.09}},
		columns:    []mixed{{d: []float64{1, 2}, w: []float64{0.3, 0.1}}, {d: []float64{0, 1}, w: []float64{0, 0}}},
		components: []component{{weight: 1, columns: []int{0, 1}, amplitude: []float64{0.7, 0.1}, cov: mat.NewSymDense(2, []float64{0.0025, 0.001, 0.001, 0.0004})}}}
	w := []float64{2, -1, 1}
	f := m.form(w)
	assert.InDeltaSlice(t, []float64{1.2, 0.29, -0.7, -1}, []float64{f.Mean, f.Variance, f.by[0], f.by[1]}, 1e-12)
	x := m.Interval(w, 0.3, 0.04)
	sd := math.Sqrt(0.29 + 0.7*0.7*0.0025 + 2*0.7*0.001 + 0.0004 + 0.04)
	assert.InDelta(t, 1.2-0.7*0.7-0.1+0.3, x.Value, 1e-9)
	assert.InDelta(t, sd, x.SD, 1e-9)
	assert.InDelta(t, x.Value+vehicle.Z95*sd, x.High, 1e-4)
	assert.InDeltaSlice(t, []float64{0.5 + 0.7*0.7, 1.4 + 0.1}, m.Mean(), 1e-12)
}

func TestInvertSmall(t *testing.T) {
	one, log, ok := invertSmall(mat.NewSymDense(1, []float64{4}))
	require.True(t, ok)
	assert.Equal(t, []float64{0.25, math.Log(4)}, []float64{one.At(0, 0), log})
	two, log, ok := invertSmall(mat.NewSymDense(2, []float64{2, 1, 1, 3})) // determinant 5
	require.True(t, ok)
	assert.InDeltaSlice(t, []float64{0.6, -0.2, 0.4, math.Log(5)}, []float64{two.At(0, 0), two.At(0, 1), two.At(1, 1), log}, 1e-12)
	for _, s := range []*mat.SymDense{mat.NewSymDense(1, []float64{-1}), mat.NewSymDense(1, []float64{0}), mat.NewSymDense(2, []float64{1, 2, 2, 1})} {
		_, _, ok = invertSmall(s)
		assert.False(t, ok)
	}
}

// A cause acts in a dive by its beginning in one of thirty, or in that alone, up to a tenth.
func TestActing(t *testing.T) {
	s := &priors.Space{Causes: []causes.Cause{{Step: 0.0005, Ramp: 0.0005, Once: 0.02}, {Step: 0.01}, {Once: 0.001}}}
	for i, p := range []float64{0.05, 0.1, 0.001} {
		assert.InDelta(t, math.Log(p/(1-p)), Acting(&s.Causes[i]), 1e-12)
	}
}

// Of causes none, each by itself, and the three likeliest with every other are tried, each weighed as a normal integral.
func TestWeigh(t *testing.T) {
	const prior = 0.01
	sp := &priors.Space{}
	m := &Mixture{of: &Calibrated{Space: sp}}
	lins := []float64{3, 5, 2, 4, 6} // of unit information and amplitudes of unit size: each tells lin²/4 − ½·ln 2
	m.cross = normal.Rows(len(lins), len(lins))
	for i, lin := range lins {
		sp.Causes = append(sp.Causes, causes.Cause{Once: prior})
		sp.Columns = append(sp.Columns, priors.Column{Cause: i})
		m.columns = append(m.columns, mixed{lin: lin, sd: 1})
		m.cross[i][i] = 1
	}
	m.weigh()
	got := map[[2]int]float64{}
	for _, p := range m.components {
		key := [2]int{-1, -1}
		copy(key[:], p.columns)
		if slices.Sort(key[:]); p.columns == nil {
			key = [2]int{}
		}
		got[key] = p.weight / m.components[0].weight
	}
	of := func(i int) float64 { return prior / (1 - prior) * math.Exp(lins[i]*lins[i]/4) / math.Sqrt2 }
	want := map[[2]int]float64{{}: 1}
	for i := range lins {
		want[[2]int{-1, i}] = of(i)
		for j := range i {
			if i != 2 || j != 0 { // the two least likely
				want[[2]int{j, i}] = of(i) * of(j)
			}
		}
	}
	require.Len(t, got, len(want))
	total := 0.0
	for key, weight := range want {
		assert.InEpsilon(t, weight, got[key], 1e-9, "%v", key)
		total += weight
	}
	assert.InEpsilon(t, 1/total, m.components[0].weight, 1e-9)
}

// Of each scattering parameter a dive tells by itself what it would with a far wider scatter of that one alone.
func TestFreed(t *testing.T) {
	const variance = 0.04
	sp := &priors.Space{Of: []priors.Parameter{{Fault: 9}, {Scatter: 0.2, Fault: 3}, {Scatter: 0.2, Fault: 1}}, All: []int{0, 1, 2}, Scatter: []int{1, 2}, InStatic: []int{-1, -1, -1}}
	c := &Calibrated{Space: sp, Free: []int{0, 1, 2}, Apart: []float64{0.01, 0.01}}
	a := Alone{mat.NewSymDense(3, []float64{9, 7, 7, 7, 5, 1, 7, 1, 4}), []float64{8, 2, -3}, 0} // the first does not scatter
	held := variance * (1 + 0.01/0.04)
	for i, wide := range []float64{9, 4} { // the fault's variance, and a hundred times the scatter's
		info := mat.NewSymDense(2, []float64{5 + 1/held, 1, 1, 4 + 1/held})
		info.SetSym(i, i, info.At(i, i)-1/held+1/wide)
		cov, ok := normal.Invert(info)
		require.True(t, ok)
		got := c.Freed(a, []float64{variance, variance})[i]
		assert.InDelta(t, cov.At(i, i), got.Variance, 1e-9)
		assert.InDelta(t, 2*cov.At(i, 0)-3*cov.At(i, 1), got.Mean, 1e-9)
	}
}

// Where a dive's likelihood is none, nothing is known of it: each parameter is as wide as can be.
func TestFreedOfNoLikelihood(t *testing.T) {
	sp := &priors.Space{Of: []priors.Parameter{{Scatter: 0.2}}, All: []int{0}, Scatter: []int{0}, InStatic: []int{-1}}
	got := (&Calibrated{Space: sp, Free: []int{0}, Apart: []float64{0}}).Freed(Alone{mat.NewSymDense(1, []float64{-1e3}), []float64{5}, 0}, []float64{0.04})
	assert.Zero(t, got[0].Mean)
	assert.InDelta(t, 1e6*0.04, got[0].Variance, 1e-6)
}

// A dive may have of its own what scatters, and what a cause may change.
func TestFreely(t *testing.T) {
	sp := &priors.Space{Of: []priors.Parameter{{}, {Scatter: 1}, {Prior: 1}, {Fault: 1}, {Scatter: 1, Fault: 1}}, All: []int{0, 1, 2, 3, 4}}
	assert.Equal(t, []int{1, 3, 4}, freely(sp))
}
