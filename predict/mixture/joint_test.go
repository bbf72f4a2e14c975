package mixture

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict/causes"
	"sagline/predict/normal"
	"sagline/predict/priors"
)

// definite is a positive definite matrix with no zeros.
func definite(n int) *mat.SymDense {
	root := mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			root.Set(i, j, float64((3*i+5*j)%7)/7-0.4)
		}
		root.Set(i, i, root.At(i, i)+2)
	}
	out := mat.NewSymDense(n, nil)
	out.SymOuterK(1, root)
	return out
}

// solve is the mean and covariance of a likelihood with coordinates x = B·z and independent priors on z, and the logarithm of
// its integral over z, priors without what they are at their means.
func solve(t *testing.T, info *mat.SymDense, lin []float64, b *mat.Dense, mean, variance []float64) (*mat.VecDense, *mat.SymDense, float64) {
	_, n := b.Dims()
	var half, of mat.Dense
	half.Mul(info, b)
	of.Mul(b.T(), &half)
	sum, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	rhs.MulVec(b.T(), mat.NewVecDense(len(lin), lin))
	for i := range n {
		for j := i; j < n; j++ {
			sum.SetSym(i, j, of.At(i, j))
		}
		if variance[i] > 0 {
			sum.SetSym(i, i, sum.At(i, i)+1/variance[i])
			rhs.SetVec(i, rhs.AtVec(i)+mean[i]/variance[i])
		}
	}
	var chol mat.Cholesky
	require.True(t, chol.Factorize(sum))
	cov, ok := normal.Invert(sum)
	require.True(t, ok)
	var x mat.VecDense
	x.MulVec(cov, rhs)
	return &x, cov, 0.5*mat.Dot(rhs, &x) - 0.5*chol.LogDet()
}

// What is kept of a dive are its departures and some static parameters, the other static ones integrated out under what the
// calibration knows of them.
func TestAlone(t *testing.T) {
	sp := &priors.Space{All: []int{0, 1, 2, 3}, Static: []int{1, 2, 3}}
	for _, c := range []struct{ keep, kept, out []int }{{[]int{1}, []int{0, 1, 2, 4}, []int{3, 5}}, {[]int{2, 0}, []int{0, 1, 2, 5, 3}, []int{4}}} {
		of := &Calibrated{Space: sp, Free: []int{0, 1, 2}, Keep: c.keep, Precision: definite(3)}
		info, lin := definite(4), []float64{1, -2, 0.5, 3}
		a, err := of.Alone(&normal.Quadratic{Info: info, Lin: lin, Log: -3})
		require.NoError(t, err)

		// δ = M·(three departures, three static): place k of the dive has both.
		b := mat.NewDense(4, 6, nil)
		for i, k := range of.Free {
			b.Set(k, i, 1)
		}
		for i, k := range sp.Static {
			b.Set(k, 3+i, 1)
		}
		var half, all mat.Dense
		half.Mul(info, b)
		all.Mul(b.T(), &half)
		rhs := mat.NewVecDense(6, nil)
		rhs.MulVec(b.T(), mat.NewVecDense(4, lin))
		for i := range 3 {
			for j := range 3 {
				all.Set(3+i, 3+j, all.At(3+i, 3+j)+of.Precision.At(i, j))
			}
		}
		inner := mat.NewDense(len(c.out), len(c.out), nil)
		for p, k := range c.out {
			for q, l := range c.out {
				inner.Set(p, q, all.At(k, l))
			}
		}
		var inverse mat.Dense
		require.NoError(t, inverse.Inverse(inner))
		column := func(j int) func(l int) float64 { return func(l int) float64 { return all.At(l, j) } }
		schur := func(left, right func(l int) float64) float64 {
			sum := 0.0
			for p, k := range c.out {
				for q, l := range c.out {
					sum += left(k) * inverse.At(p, q) * right(l)
				}
			}
			return sum
		}
		assert.InDelta(t, -3+0.5*schur(rhs.AtVec, rhs.AtVec)-0.5*math.Log(mat.Det(inner)), a.log, 1e-9)
		for i, k := range c.kept {
			assert.InDelta(t, rhs.AtVec(k)-schur(column(k), rhs.AtVec), a.lin[i], 1e-9, "lin %d", i)
			for j, l := range c.kept {
				assert.InDelta(t, all.At(k, l)-schur(column(k), column(l)), a.info.At(i, j), 1e-9, "info %d %d", i, j)
			}
		}
	}
}

// The static parameters given departures are those of the dive's likelihood and the calibration, with the departures held.
func TestStaticGiven(t *testing.T) {
	sp := &priors.Space{All: []int{0, 1, 2, 3}, Static: []int{1, 2, 3}}
	of := &Calibrated{Space: sp, Free: []int{0, 1}, Precision: definite(3)}
	info, lin, free := definite(4), []float64{1, -2, 0.5, 3}, []float64{0.3, -0.7}
	got, err := of.StaticGiven(&normal.Quadratic{Info: info, Lin: lin}, free)
	require.NoError(t, err)
	for i, k := range sp.Static { // where the slope of the log posterior vanishes
		slope := lin[k]
		for j, l := range sp.Static {
			slope -= (info.At(k, l) + of.Precision.At(i, j)) * got[j]
		}
		for j, x := range free {
			slope -= info.At(k, j) * x
		}
		assert.InDelta(t, 0, slope, 1e-9)
	}
}

// Odds that are known of a cause count in place of how common it is.
func TestOddsOfACause(t *testing.T) {
	sp := &priors.Space{Of: []priors.Parameter{{Scatter: 0.5}}, All: []int{0}, Scatter: []int{0}, InStatic: []int{-1},
		Causes: []causes.Cause{{Once: 0.01}, {Once: 0.01}}, Columns: []priors.Column{{Cause: 0, SD: 2, Terms: []priors.Term{{At: 0, Per: 1}}}, {Cause: 1, SD: 2, Terms: []priors.Term{{At: 0, Per: 1}}}}}
	weight := func(odds map[int]float64) (out [2]float64) {
		c := &Calibrated{Space: sp, Free: []int{0}, SoundOffset: []float64{}, Apart: []float64{0}, Odds: odds}
		m, err := c.Mixture(Alone{mat.NewSymDense(1, []float64{4}), []float64{3}, 0}, []float64{0.25})
		require.NoError(t, err)
		for _, p := range m.components {
			if len(p.columns) == 1 {
				out[p.columns[0]] = p.weight
			}
		}
		return out
	}
	usual := weight(nil)
	assert.InDelta(t, usual[0], usual[1], 1e-12)
	assert.Equal(t, usual, weight(map[int]float64{0: math.Log(0.01 / 0.99), 1: math.Log(0.01 / 0.99)}))
	known := weight(map[int]float64{1: math.Log(0.9 / 0.1)})
	assert.InEpsilon(t, (0.9/0.1)/(0.01/0.99), known[1]/known[0], 1e-9)
}

// Without causes, and with one of two terms, a mixture's part is what scatter, the kept static parameter and the
// amplitude solved for together are.
func TestMixtureIsTheJointSolution(t *testing.T) {
	const sd = 0.7
	sp := &priors.Space{Of: []priors.Parameter{{Scatter: 0.5}, {}, {Scatter: 0.3}}, All: []int{0, 1, 2}, Scatter: []int{0, 2}, InStatic: []int{-1, -1, 0},
		Causes:  []causes.Cause{{Once: 0.01}},
		Columns: []priors.Column{{Cause: 0, SD: sd, Terms: []priors.Term{{At: 0, Per: 0.8}, {At: 1, Per: -1.5}}}}}
	c := &Calibrated{Space: sp, Free: []int{0, 1, 2}, Keep: []int{0}, SoundOffset: []float64{0.2}, Apart: []float64{0.05, 0.02}}
	a := Alone{definite(4), []float64{1.5, -2, 0.7, 0.4}, -3}
	variance := []float64{0.25, 0.09}
	m, err := c.Mixture(a, variance)
	require.NoError(t, err)
	usual := []float64{0.25 * (1 + 0.05/0.25), 0.09 * (1 + 0.02/0.09)}

	sound := mat.NewDense(4, 3, []float64{1, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 1})
	x, cov, none := solve(t, a.info, a.lin, sound, []float64{0, 0.2, 0}, []float64{usual[0], usual[1], 0})
	for i := range 3 {
		assert.InDelta(t, x.AtVec(i), m.mean[i], 1e-9)
		for j := range 3 {
			assert.InDelta(t, cov.At(i, j), m.cov[i][j], 1e-9)
		}
	}
	faulty := mat.NewDense(4, 4, []float64{1, 0, 0, 0.8, 0, 0, 0, -1.5, 0, 1, 0, 0, 0, 0, 1, 0})
	x, cov, acting := solve(t, a.info, a.lin, faulty, []float64{0, 0.2, 0, 0}, []float64{usual[0], usual[1], 0, sd * sd})
	assert.InDelta(t, -3+math.Log(math.Exp(none)+0.01/0.99*math.Exp(acting)/sd), m.Log, 1e-9)
	require.Len(t, m.components, 2)
	assert.InDelta(t, x.AtVec(3), m.components[1].amplitude[0], 1e-9)
	assert.InDelta(t, cov.At(3, 3), m.components[1].cov.At(0, 0), 1e-9)
	m.components[0].weight, m.components[1].weight = 0, 1
	assert.InDeltaSlice(t, []float64{x.AtVec(0) + 0.8*x.AtVec(3), -1.5 * x.AtVec(3), x.AtVec(1)}, m.Mean(), 1e-9)
	w := []float64{1, 2, -1, 0.5} // a linear form of the departures and the kept parameter
	form := mat.NewVecDense(4, []float64{1, -1, 0.5, 0.8 - 2*1.5})
	f := m.form(w)
	got := f.under(&m.components[1])
	assert.InDelta(t, mat.Dot(form, x), got.Mean, 1e-9)
	assert.InDelta(t, mat.Inner(form, cov, form), got.Variance, 1e-9)
}

// However many static parameters are kept, they are solved for with the departures.
func TestMixtureOfKept(t *testing.T) {
	const sd = 0.7
	for kept := range 4 {
		sp := &priors.Space{Of: []priors.Parameter{{Scatter: 0.5}, {}, {Scatter: 0.3}}, All: []int{0, 1, 2}, Scatter: []int{0, 2}, InStatic: []int{-1, -1, 0},
			Causes:  []causes.Cause{{Once: 0.01}},
			Columns: []priors.Column{{Cause: 0, SD: sd, Terms: []priors.Term{{At: 0, Per: 0.8}, {At: 1, Per: -1.5}}}}}
		c := &Calibrated{Space: sp, Free: []int{0, 1, 2}, SoundOffset: []float64{0.2}, Apart: []float64{0.05, 0.02}}
		n := 3 + kept
		a := Alone{definite(n), []float64{1.5, -2, 0.7, 0.4, -0.9, 1.3}[:n], -3}
		mean, variance := []float64{0, 0.2}, []float64{0.3, 0.11}
		sound, faulty := mat.NewDense(n, 2+kept, nil), mat.NewDense(n, 3+kept, nil)
		for _, of := range []*mat.Dense{sound, faulty} {
			of.Set(0, 0, 1)
			of.Set(2, 1, 1)
			for j := range kept {
				of.Set(3+j, 2+j, 1)
			}
		}
		faulty.Set(0, 2+kept, 0.8)
		faulty.Set(1, 2+kept, -1.5)
		for j := range kept {
			c.Keep = append(c.Keep, j)
			mean, variance = append(mean, 0), append(variance, 0)
		}
		m, err := c.Mixture(a, []float64{0.25, 0.09})
		require.NoError(t, err)
		x, cov, none := solve(t, a.info, a.lin, sound, mean, variance)
		require.Len(t, m.mean, 2+kept)
		for i := range m.mean {
			assert.InDelta(t, x.AtVec(i), m.mean[i], 1e-9, "%d kept", kept)
			for j := range m.mean {
				assert.InDelta(t, cov.At(i, j), m.cov[i][j], 1e-9, "%d kept", kept)
			}
		}
		x, _, acting := solve(t, a.info, a.lin, faulty, append(mean, 0), append(variance, sd*sd))
		assert.InDelta(t, -3+math.Log(math.Exp(none)+0.01/0.99*math.Exp(acting)/sd), m.Log, 1e-9, "%d kept", kept)
		assert.InDelta(t, x.AtVec(2+kept), m.components[1].amplitude[0], 1e-9, "%d kept", kept)
		w := make([]float64, n) // the last that is kept, or the last departure
		w[n-1] = 1
		f := m.form(w)
		want := x.AtVec(1)
		if kept > 0 {
			want = x.AtVec(1 + kept)
		}
		assert.InDelta(t, want, f.under(&m.components[1]).Mean, 1e-9, "%d kept", kept)
	}
}

// With the static parameters known, a dive says of its departures what its likelihood does where they are 0.
func TestGivenStatics(t *testing.T) {
	of := &Calibrated{Space: &priors.Space{All: []int{0, 1, 2, 3}, Static: []int{1, 2, 3}}, Free: []int{0, 2}, Keep: []int{2, 0}, Precision: definite(3)}
	info, lin := definite(4), []float64{1, -2, 0.5, 3}
	a := of.GivenStatics(&normal.Quadratic{Info: info, Lin: lin, Log: -3})
	assert.Equal(t, -3.0, a.log)
	assert.Equal(t, []float64{1, 0.5, 0, 0}, a.lin)
	for i, k := range of.Free {
		for j, l := range of.Free {
			assert.Equal(t, info.At(k, l), a.info.At(i, j))
		}
		assert.Zero(t, a.info.At(i, 2))
		assert.Zero(t, a.info.At(i, 3))
	}
	assert.Zero(t, a.info.At(2, 3))
	for j, at := range of.Keep {
		assert.Equal(t, 1e4*of.Precision.At(at, at), a.info.At(2+j, 2+j))
	}
}
