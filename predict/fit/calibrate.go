package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
)

// prior is one standard deviation of how a vehicle may differ from its file,
// by index of predict.Params: 10–30 % on factors, 40 g of trim, 0.03 Ω of
// joints; common practice, no source.
var prior = [predict.FirstBranch]float64{
	predict.LogTorque: 0.1, predict.LogThrust: 0.15, predict.LogPitch: 0.1, predict.LogDrag: 0.3,
	predict.LogClimbDrag: 0.3, predict.TrimG: 40, predict.LoopOhm: 0.03, predict.FrictionA: 0.05,
	predict.BatteryOhm: 0.015, predict.OpenCircuitV: 1, predict.SagVPerMinute: 0.01,
}

const (
	branchPrior = 0.01  // Ω, a branch against its file
	sagMean     = 0.004 // V/min a battery in use loses
)

// drifts are the parameters a dive may change, the branches after them.
var drifts = []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA, predict.TrimG, predict.BatteryOhm}

const trim = 3 // the trim's place among drifts

// wide is one standard deviation of a drift that is a fault.
var wide = []float64{0.4, 0.3, 0.3, 120, 0.02}

const branchWide = 0.4 // Ω

// layout numbers a vehicle's parameters.
type layout struct {
	dim    int   // of Params
	shared []int // Params that the calibration fits
	drift  []int // Params that a dive may change
}

func newLayout(m *predict.Model) layout {
	l := layout{dim: m.Dim()}
	for k := range l.dim {
		if k != predict.OpenCircuitV && k != predict.SagVPerMinute {
			l.shared = append(l.shared, k)
		}
	}
	l.drift = append(l.drift, drifts...)
	for k := predict.FirstBranch; k < l.dim; k++ {
		l.drift = append(l.drift, k)
	}
	return l
}

func pick(table []float64, rest float64, k int) float64 {
	if k < len(table) {
		return table[k]
	}
	return rest
}

func priorSD(k int) float64 { return pick(prior[:], branchPrior, k) }

// calibrate fits the baseline dives together: shared departures from the file
// and each dive's own drift and battery, by robust least squares. It returns
// the full parameters of each baseline dive, and the variance that each of its
// drifts is left with: more than scatter's where the dive itself was bad.
func calibrate(m *predict.Model, l layout, dives []*dive, sc *scratch) ([]predict.Params, [][]float64, error) {
	ns, nd := len(l.shared), len(l.drift)+2
	dim, size := ns+nd*len(dives), 0
	for _, d := range dives {
		size += len(d.cells)
	}
	size += dim
	variance := rows(len(dives), len(l.drift))
	for b := range variance {
		for i := range variance[b] {
			variance[b][i] = sq(pick(scatter, branchScatter, i))
		}
	}
	x := make([]float64, dim)
	for b, d := range dives {
		x[ns+b*nd+nd-2], x[ns+b*nd+nd-1] = d.rest, sagMean
	}
	params := func(x []float64, b int) predict.Params {
		p := sc.params
		clear(p)
		for i, k := range l.shared {
			p[k] = x[i]
		}
		own := x[ns+b*nd:]
		for i, k := range l.drift {
			p[k] += own[i]
		}
		p[predict.OpenCircuitV], p[predict.SagVPerMinute] = own[nd-2], own[nd-1]
		return p
	}
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		row := 0
		for b, d := range dives {
			d.residuals(m, params(x, b), nil, sc, jac != nil)
			for k := range d.cells {
				r[row] = -sc.r[k]
				if jac != nil {
					slopes := jac.RawRowView(row)
					for i, p := range l.shared {
						slopes[i] = sc.jac[k][p]
					}
					own := slopes[ns+b*nd:]
					for i, p := range l.drift {
						own[i] = sc.jac[k][p]
					}
					own[nd-2], own[nd-1] = sc.jac[k][predict.OpenCircuitV], sc.jac[k][predict.SagVPerMinute]
				}
				row++
			}
		}
		for i := range x {
			mean, sd := 0.0, 0.0
			switch own := (i - ns) % nd; {
			case i < ns:
				sd = priorSD(l.shared[i])
			case own == nd-2:
				mean, sd = dives[(i-ns)/nd].rest, prior[predict.OpenCircuitV]
			case own == nd-1:
				mean, sd = sagMean, prior[predict.SagVPerMinute]
			default:
				sd = math.Sqrt(variance[(i-ns)/nd][own])
			}
			r[row] = (x[i] - mean) / sd
			if jac != nil {
				jac.Set(row, i, 1/sd)
			}
			row++
		}
	}
	for range robustPasses {
		res, err := sc.solver.Fit(lsq.Problem{Dim: dim, Size: size, Eval: eval}, x, &lsq.Settings{CostTol: closeEnough})
		if err != nil {
			return nil, nil, err
		}
		x = res.X
		changed := false
		for b, d := range dives {
			changed = loosen(variance[b], x, res.Cov, ns+b*nd) || changed
			changed = d.reweigh(m, params(x, b), nil, sc) || changed
		}
		if !changed {
			break
		}
	}
	out := make([]predict.Params, len(dives))
	for b := range dives {
		out[b] = slices.Clone(params(x, b))
	}
	return out, variance, nil
}

// outlying is how many standard deviations a drift of a baseline dive may lie
// from nothing before it counts as a fault of that dive.
const outlying = 3.5

// loosen widens the variances of those drifts of a baseline dive, at place
// first of x, that lie too far out to be scatter, and says whether it did. An
// estimate that leans on scatter's variance s itself varies by s less its own.
func loosen(variance, x []float64, cov *mat.SymDense, first int) (changed bool) {
	if cov == nil {
		return false
	}
	for i := range variance {
		sound := sq(pick(scatter, branchScatter, i))
		varies := sound - cov.At(first+i, first+i)
		if variance[i] == sound && varies > sound/100 && sq(x[first+i]) > sq(outlying)*varies {
			variance[i], changed = sound+sq(pick(wide, branchWide, i)), true
		}
	}
	return changed
}
