package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/priors"
)

// A diver fits dives one by one against a calibration.
type diver struct {
	baseline  *predict.Model // the baseline's vehicle
	m         *predict.Model
	sp        *priors.Space
	free      []int          // places of the space
	base      predict.Params // the sound vehicle about which a dive is fitted
	noise     *instrument.Noise
	cov       *mat.SymDense // of the base's static parameters
	precision *mat.SymDense // its inverse
	sc        *scratch

	origin predict.Params // the calibrated vehicle; expansions are relative to it

	scatter []float64 // variance from dive to dive by scattering parameter; of circumstances as earlier dives show it
}

// mostOfADive bounds the steps of all fits of one dive together. Of 6,100 dives of simulated
// seasons 95 in 100 take 122 or less, 99 in 100 281, one 1,162; lines that contradict one another
// would take thousands.
const mostOfADive = 400

// manyCells is the number of cells of a dive above which its fits may take fewer steps, so that
// their total cost does not grow: a hundred lines of four readings, where people write down some
// twenty.
const manyCells = 400

// stepsOf returns the steps left to a number of cells: most for up to many cells, in proportion
// fewer for more, but at least least.
func stepsOf(most, least, many, cells int) int {
	return max(most*many/max(cells, many), least)
}

// fewest is the least steps that a dive's fits may take, whatever its cells: twice what a sound
// dive takes.
const fewest = 30

// fit finds the parameters of one dive: departures with wide priors, robust weights, and parameters
// that vary from line to line where the readings ask for it. It then fits the failures.
func (f *diver) fit(d *dive) (*Summary, error) {
	if d.unrested {
		d.rest = f.base[predict.OpenCircuitV]
	}
	d.markSlips(f.m, f.noise, f.resting(d), f.sc, func(c *Cell, want float64, _ []float64) float64 { return f.byFault(c, want) })
	f.markHoverSlip(d)
	sum := &Summary{}
	start := make([]float64, len(f.free)+1)
	start[slices.Index(f.free, f.sp.Place[predict.OpenCircuitV])] = d.rest - f.base[predict.OpenCircuitV]
	start[len(f.free)] = priors.SagMean
	x, none, err := f.solve(d, start, 0)
	if err != nil {
		return nil, err
	}
	sum.Params = slices.Clone(f.params(f.sc.params, x))
	suspects := func(param int, sizes []float64) bool {
		return d.lineScatterGain(f.m, sum.Params, param, sizes, f.sc) > 0 || d.lineScatterGain(f.m, soundOn(f.base, sum), param, sizes, f.sc) > 0
	}
	intermittent := suspects(predict.LoopOhm, intermittentSizes[:])
	uneven := slices.DeleteFunc(f.uneven(d), func(u unevenness) bool { return !suspects(u.param, u.sizes) })
	if err := d.summarise(f.m, f.sp, f.origin, sum, f.sc); err != nil {
		return nil, err
	}
	for _, u := range uneven {
		if none, err = f.allowUneven(d, u, sum, start, none); err != nil {
			return nil, err
		}
	}
	if intermittent {
		if err := f.compareIntermittent(d, sum, start, none); err != nil {
			return nil, err
		}
	}
	return sum, f.fitFailures(d, sum)
}

// compareIntermittent also fits a dive with an intermittent contact, and takes that fit if its
// evidence is high enough. Both likelihoods stay in sum.
func (f *diver) compareIntermittent(d *dive, sum *Summary, start []float64, none float64) error {
	firmCells := slices.Clone(d.cells)
	at, worth, err := f.fitIntermittent(d, sum, start, none)
	if err != nil || !worth {
		copy(d.cells, firmCells)
		return err
	}
	intermittentCells := slices.Clone(d.cells)
	copy(d.cells, firmCells)
	d.allowInexact(f.baseline, f.m, sum.Params, soundOn(f.base, sum), f.sc)
	if err := d.summarise(f.m, f.sp, f.origin, sum, f.sc); err != nil {
		return err
	}
	copy(d.cells, intermittentCells)
	sum.Params, sum.Quadratic = at, *sum.Intermittent
	return nil
}

// apart is one standard deviation of how far a parameter may differ in one dive from the calibrated
// vehicle's: scatter and what a cause may change.
func (f *diver) apart(place int) float64 {
	p := f.sp.Known(place)
	if i := slices.Index(f.sp.Scatter, place); i >= 0 {
		return math.Sqrt(f.scatter[i] + sq(p.Fault))
	}
	return p.Fault
}

// resting is the calibrated vehicle with the battery that a dive shows at rest.
func (f *diver) resting(d *dive) predict.Params {
	p := append(predict.Params(nil), f.base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = d.rest, priors.SagMean
	return p
}

// soundOn is the vehicle base with the battery of a dive's fit.
func soundOn(base predict.Params, sum *Summary) predict.Params {
	p := slices.Clone(base)
	for _, k := range []int{predict.OpenCircuitV, predict.SagVPerMinute} {
		p[k] = sum.Params[k]
	}
	return p
}

// params sets p to the base plus a dive's own unknowns x (the free ones, then the sag) and returns
// it.
func (f *diver) params(p predict.Params, x []float64) predict.Params {
	copy(p, f.base)
	for i, at := range f.free {
		p[f.sp.All[at]] += x[i]
	}
	p[predict.SagVPerMinute] = x[len(f.free)]
	return p
}

// solve fits one dive's unknowns from start. Parameters in d.uneven vary from line to line; with
// withinOhm > 0 each line also has a loop resistance of its own. The lines' own unknowns come
// before the dive's. It returns the unknowns and the log evidence.
//
// Each line is a group of its own (lsq.Problem), so that the time per line does not grow with the
// number of lines.
func (f *diver) solve(d *dive, start []float64, withinOhm float64) ([]float64, float64, error) {
	n := len(f.free)
	of := slices.Clone(d.uneven)
	if withinOhm > 0 {
		of = append(of, lineScatter{predict.LoopOhm, withinOhm})
	}
	extra := len(of) * len(d.obs)
	dim := n + 1 + extra
	x := make([]float64, dim)
	copy(x[dim-len(start):], start)
	rest := d.rest - f.base[predict.OpenCircuitV]
	var lines []int
	if len(of) > 0 {
		lines = d.rows(len(of))
	}
	eval := func(r []float64, jac *mat.Dense, x []float64) {
		d.apartFrom(f.m, f.params(f.sc.params, x[extra:]), perLine{of, x[:extra]}, f.sc, jac != nil)
		s := lsq.System{R: r, Jac: jac, X: x, PerGroup: len(of), Groups: len(lines)}
		for k := range d.cells {
			obs := d.cells[k].obs
			if slopes := s.Add(-f.sc.r[k]); slopes != nil {
				per, by := f.sc.per[k], f.sc.predicted.slope[k]
				for j := range of {
					slopes[j] = per * by[of[j].param]
				}
				shared := slopes[len(of):]
				for i, at := range f.free {
					shared[i] = per * by[f.sp.All[at]]
				}
				shared[n] = per * by[predict.SagVPerMinute]
			}
			if k+1 == len(d.cells) || d.cells[k+1].obs != obs {
				for j := range of {
					s.Known(obs*len(of)+j, 0, of[j].sd)
				}
			}
		}
		for i, at := range f.free {
			if p := f.sp.Known(at); f.sp.All[at] == predict.OpenCircuitV {
				s.Known(extra+i, rest, p.Prior)
			} else {
				s.Known(extra+i, 0, f.apart(at))
			}
		}
		s.Known(dim-1, priors.SagMean, f.sp.Of[predict.SagVPerMinute].Prior)
	}
	log := 0.0
	for range robustPasses {
		res, err := f.sc.solver.Fit(lsq.Problem{Dim: dim, Size: len(d.cells) + dim, PerGroup: len(of), Rows: lines, Eval: eval}, x,
			&lsq.Settings{CostTol: closeEnoughDive, PointOnly: true, MaxIter: max(1, min(mostSteps, d.steps))})
		if err != nil {
			return nil, 0, err
		}
		d.steps -= res.Iterations
		x, log, d.notConverged = res.X, d.evidence(res, of), res.Status.Early()
		if !d.reweigh(f.m, f.noise, f.params(f.sc.params, x[extra:]), perLine{of, x[:extra]}, f.sc) || d.steps <= 0 {
			break
		}
	}
	return x, log, nil
}

// rows returns the number of residuals of each line: its cells, and the priors of its own unknowns.
func (d *dive) rows(unknowns int) []int {
	out := make([]int, len(d.obs))
	for k := range out {
		out[k] = unknowns
	}
	for k := range d.cells {
		out[d.cells[k].obs]++
	}
	return out
}
