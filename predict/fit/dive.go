package fit

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/lsq"
)

// fitDive finds the parameters of one dive, the calibration given: drifts
// with wide priors, robust weights, and a loop resistance that may scatter
// from line to line when the readings ask for it.
func fitDive(m *predict.Model, l layout, d *dive, base predict.Params, sc *scratch) (*Summary, error) {
	d.markSlips(m, withBattery(base, d.rest), 0.3, 150)
	d.markTrimSlip(m, withBattery(base, d.rest))
	sum := &Summary{}
	start := make([]float64, len(l.drift)+2)
	start[len(l.drift)], start[len(l.drift)+1] = d.rest, sagMean
	x, none, err := d.solve(m, l, base, sc, start, 0)
	if err != nil {
		return nil, err
	}
	own := slices.Clone(l.params(sc.params, base, x))
	sum.Within = d.within(m, own, sc)
	sound := withBattery(base, own[predict.OpenCircuitV])
	sound[predict.SagVPerMinute] = own[predict.SagVPerMinute]
	if slices.Max(sum.Within) > 0 || slices.Max(d.within(m, sound, sc)) > 0 {
		if x, err = d.solveWithin(m, l, base, sc, sum, x, none); err != nil {
			return nil, err
		}
	}
	sum.Params = l.params(own, base, x)
	d.summarise(m, l, base, sum, sc)
	return sum, nil
}

func withBattery(base predict.Params, rest float64) predict.Params {
	p := append(predict.Params(nil), base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = rest, sagMean
	return p
}

// params sets p to base with a dive's own unknowns x (drifts, rest voltage,
// sag) and returns it.
func (l layout) params(p, base predict.Params, x []float64) predict.Params {
	copy(p, base)
	for i, k := range l.drift {
		p[k] += x[i]
	}
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = x[len(l.drift)], x[len(l.drift)+1]
	return p
}

// slopes copies those of a dive's own unknowns from those by predict.Params.
func (l layout) slopes(to, by []float64) {
	for i, k := range l.drift {
		to[i] = by[k]
	}
	to[len(l.drift)], to[len(l.drift)+1] = by[predict.OpenCircuitV], by[predict.SagVPerMinute]
}

// solve fits one dive's unknowns from a start; with withinOhm > 0 each line has
// a loop resistance of its own besides, which comes before them. It returns the
// log evidence as well.
//
// Unknowns of one line, its readings and its prior stand together and first, so
// that the factorisation meets nothing but zeros outside of them.
func (d *dive) solve(m *predict.Model, l layout, base predict.Params, sc *scratch, start []float64, withinOhm float64) ([]float64, float64, error) {
	nd := len(l.drift) + 2
	extra := 0
	if withinOhm > 0 {
		extra = len(d.obs)
	}
	dim := nd + extra
	x := make([]float64, dim)
	copy(x[dim-len(start):], start)
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		d.residuals(m, l.params(sc.params, base, x[extra:]), x[:extra], sc, jac != nil)
		s := system{r: r, jac: jac, x: x}
		for k := range d.cells {
			obs := d.cells[k].obs
			if slopes := s.reading(-sc.r[k]); slopes != nil {
				if extra > 0 {
					slopes[obs] = sc.jac[k][predict.LoopOhm]
				}
				l.slopes(slopes[extra:], sc.jac[k])
			}
			if extra > 0 && (k+1 == len(d.cells) || d.cells[k+1].obs != obs) {
				s.believed(obs, 0, withinOhm)
			}
		}
		for i := range l.drift {
			s.believed(extra+i, 0, pick(wide, branchWide, i))
		}
		s.believed(dim-2, d.rest, prior[predict.OpenCircuitV])
		s.believed(dim-1, sagMean, prior[predict.SagVPerMinute])
	}
	log := 0.0
	for range robustPasses {
		res, err := sc.solver.Fit(lsq.Problem{Dim: dim, Size: len(d.cells) + dim, Eval: eval}, x,
			&lsq.Settings{CostTol: closeEnough, PointOnly: true})
		if err != nil {
			return nil, 0, err
		}
		x, log = res.X, d.evidence(res, withinOhm, extra)
		if !d.reweigh(m, l.params(sc.params, base, x[extra:]), x[:extra], sc) {
			break
		}
	}
	return x, log, nil
}
