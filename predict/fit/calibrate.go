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
// drifts is left with: more than scatter's where the dive itself was bad. As in
// solve, what is one dive's stands together, before what all share.
func calibrate(m *predict.Model, l layout, dives []*dive, sc *scratch) ([]predict.Params, [][]float64, error) {
	ns, nd := len(l.shared), len(l.drift)+2
	shared := nd * len(dives) // where these begin
	dim := shared + ns
	size := dim
	for _, d := range dives {
		size += len(d.cells)
	}
	variance := rows(len(dives), len(l.drift))
	for b := range variance {
		for i := range variance[b] {
			variance[b][i] = sq(pick(scatter, branchScatter, i))
		}
	}
	x := make([]float64, dim)
	for b, d := range dives {
		x[b*nd+nd-2], x[b*nd+nd-1] = d.rest, sagMean
	}
	params := func(x []float64, b int) predict.Params {
		p := sc.params
		clear(p)
		for i, k := range l.shared {
			p[k] = x[shared+i]
		}
		own := x[b*nd:]
		for i, k := range l.drift {
			p[k] += own[i]
		}
		p[predict.OpenCircuitV], p[predict.SagVPerMinute] = own[nd-2], own[nd-1]
		return p
	}
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		s := system{r: r, jac: jac, x: x}
		for b, d := range dives {
			d.residuals(m, params(x, b), nil, sc, jac != nil)
			for k := range d.cells {
				if slopes := s.reading(-sc.r[k]); slopes != nil {
					l.slopes(slopes[b*nd:], sc.jac[k])
					for i, p := range l.shared {
						slopes[shared+i] = sc.jac[k][p]
					}
				}
			}
			for i, v := range variance[b] {
				s.believed(b*nd+i, 0, math.Sqrt(v))
			}
			s.believed(b*nd+nd-2, d.rest, prior[predict.OpenCircuitV])
			s.believed(b*nd+nd-1, sagMean, prior[predict.SagVPerMinute])
		}
		for i, k := range l.shared {
			s.believed(shared+i, 0, priorSD(k))
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
			changed = loosen(variance[b], x, res.Cov, b*nd) || changed
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
