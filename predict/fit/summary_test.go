package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
)

// A dive's quadratic is the density of its residuals as one normal vector: what
// lines do not give of their circumstances, alone and together, the battery's sag and
// a loose contact are in its covariance. Checked against that vector's density.
func TestExpandIsTheMarginal(t *testing.T) {
	const dim = predict.FirstThruster
	sp := &space{of: make([]parameter, dim), all: []int{predict.LoopOhm, predict.LogDrag, predict.TrimG}}
	sp.of[predict.SagVPerMinute] = parameter{mean: 0.02, prior: 0.03}
	depth, warm := unknown{predict.DepthM, 0.4, 0.7, 0}, unknown{predict.WarmK, 0, 2, 3}
	for _, loose := range []float64{0, 0.2} {
		rng := rand.New(rand.NewPCG(3, 4))
		d := &dive{obs: []observation{{unknown: []unknown{depth}}, {unknown: []unknown{depth, warm}}, {}, {unknown: []unknown{warm}}}}
		for _, obs := range []int{0, 0, 1, 1, 1, 2, 3, 3} {
			d.cells = append(d.cells, Cell{obs: obs, weight: 1})
		}
		n := len(d.cells)
		sc := newScratch(dim, n)
		base, at := make(predict.Params, dim), make(predict.Params, dim)
		for _, k := range sp.all {
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
				for _, u := range d.obs[d.cells[i].obs].unknown {
					for _, w := range d.obs[d.cells[j].obs].unknown {
						if u.param == w.param {
							x += sq(u.dive) * sc.jac[i][u.param] * sc.jac[j][u.param]
							if same {
								x += sq(u.line) * sc.jac[i][u.param] * sc.jac[j][u.param]
							}
							if i == j {
								x += sq(u.cell * sc.jac[i][u.param])
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
				for i, p := range sp.all {
					x -= sc.jac[k][p] * (departure[i] - at[p])
				}
				e.SetVec(k, x)
			}
			var y mat.VecDense
			require.NoError(t, chol.SolveVecTo(&y, e))
			return -0.5*mat.Dot(e, &y) - 0.5*chol.LogDet()
		}
		var q Quadratic
		require.NoError(t, d.expand(&q, sp, base, at, loose, sc))
		beside := math.Log(0.03) + 0.5*sq(0.02/0.03) // of the sag's prior, the same for every departure
		for range 5 {
			x := []float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}
			v := mat.NewVecDense(3, x)
			got := q.Log + mat.Dot(mat.NewVecDense(3, q.Lin), v) - 0.5*mat.Inner(v, q.Info, v)
			assert.InDelta(t, density(x)+beside, got, 1e-9, "contact of %g Ω", loose)
		}
	}
}
