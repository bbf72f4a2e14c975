package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/circumstances"
	"sagline/predict/normal"
	"sagline/predict/priors"
)

// A dive's quadratic is the density of its residuals as one normal vector: what
// lines do not give of their circumstances, alone and together, the battery's sag and
// a loose contact are in its covariance. Checked against that vector's density.
func TestExpandIsTheMarginal(t *testing.T) {
	const dim = predict.FirstThruster
	sp := &priors.Space{Of: make([]priors.Parameter, dim), All: []int{predict.LoopOhm, predict.LogDrag, predict.TrimG}}
	sp.Of[predict.SagVPerMinute] = priors.Parameter{Mean: 0.02, Prior: 0.03}
	depth, warm := circumstances.Unknown{Param: predict.DepthM, Dive: 0.4, Line: 0.7}, circumstances.Unknown{Param: predict.WarmK, Line: 2, Cell: 3}
	for _, loose := range []float64{0, 0.2} {
		rng := rand.New(rand.NewPCG(3, 4))
		d := &dive{obs: []observation{{Circumstance: circumstances.Circumstance{Unknown: []circumstances.Unknown{depth}}}, {Circumstance: circumstances.Circumstance{Unknown: []circumstances.Unknown{depth, warm}}}, {}, {Circumstance: circumstances.Circumstance{Unknown: []circumstances.Unknown{warm}}}}}
		for _, obs := range []int{0, 0, 1, 1, 1, 2, 3, 3} {
			d.cells = append(d.cells, Cell{obs: obs, weight: 1})
		}
		n := len(d.cells)
		sc := newScratch(dim, n)
		base, at := make(predict.Params, dim), make(predict.Params, dim)
		for _, k := range sp.All {
			at[k] = rng.NormFloat64()
		}
		for k := range n {
			sc.r[k] = rng.NormFloat64()
			for i := range dim {
				sc.jac[k][i] = rng.NormFloat64()
			}
		}
		cov := mat.NewSymDense(n, nil)
		for i := range n {
			for j := i; j < n; j++ {
				x := sq(0.03) * sc.jac[i][predict.SagVPerMinute] * sc.jac[j][predict.SagVPerMinute]
				same := d.cells[i].obs == d.cells[j].obs
				for _, u := range d.obs[d.cells[i].obs].Unknown {
					for _, w := range d.obs[d.cells[j].obs].Unknown {
						if u.Param == w.Param {
							x += sq(u.Dive) * sc.jac[i][u.Param] * sc.jac[j][u.Param]
							if same {
								x += sq(u.Line) * sc.jac[i][u.Param] * sc.jac[j][u.Param]
							}
							if i == j {
								x += sq(u.Cell * sc.jac[i][u.Param])
							}
						}
					}
				}
				contact := sq(loose) * sc.jac[i][predict.LoopOhm] * sc.jac[j][predict.LoopOhm]
				if x += contact; same {
					x += contact
				}
				if i == j {
					x++
				}
				cov.SetSym(i, j, x)
			}
		}
		var chol mat.Cholesky
		require.True(t, chol.Factorize(cov))
		density := func(departure []float64) float64 { // from base
			e := mat.NewVecDense(n, nil)
			for k := range n {
				x := sc.r[k] - sc.jac[k][predict.SagVPerMinute]*0.02
				for i, p := range sp.All {
					x -= sc.jac[k][p] * (departure[i] - at[p])
				}
				e.SetVec(k, x)
			}
			var y mat.VecDense
			require.NoError(t, chol.SolveVecTo(&y, e))
			return -0.5*mat.Dot(e, &y) - 0.5*chol.LogDet()
		}
		var q normal.Quadratic
		require.NoError(t, d.expand(&q, sp, base, at, loose, sc))
		beside := math.Log(0.03) // of the sag's prior, the same for every departure
		for range 5 {
			x := []float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
			v := mat.NewVecDense(3, x)
			got := q.Log + mat.Dot(mat.NewVecDense(3, q.Lin), v) - 0.5*mat.Inner(v, q.Info, v)
			assert.InDelta(t, density(x)+beside, got, 1e-9, "contact of %g Ω", loose)
		}
	}
}

// One reading tells a parameter at most three thousand times better than was known before; its residual shrinks along.
func TestBoundSlopes(t *testing.T) {
	d, sc, _, _ := preset(predict.LoopOhm, 0.2, [][]float64{{1}, {1}}, 10, 0)
	sp := &priors.Space{Of: make([]priors.Parameter, predict.FirstThruster)}
	sp.Of[predict.LoopOhm], sp.Of[predict.LogDrag] = priors.Parameter{Prior: 0.5, Fault: 0.1, Scatter: 0.01}, priors.Parameter{Fault: 2}
	sc.jac[0][predict.LoopOhm], sc.jac[0][predict.LogDrag], sc.r[0] = -12000, 1000, 5 // 6000 and 2000
	sc.jac[1][predict.LoopOhm], sc.r[1] = 5000, 5
	d.boundSlopes(sp, sc)
	assert.InDeltaSlice(t, []float64{-6000, 500, 2.5}, []float64{sc.jac[0][predict.LoopOhm], sc.jac[0][predict.LogDrag], sc.r[0]}, 1e-9)
	assert.Equal(t, []float64{5000, 5}, []float64{sc.jac[1][predict.LoopOhm], sc.r[1]})
}
