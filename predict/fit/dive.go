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

// A diver fits one dive after the other against a calibration.
type diver struct {
	was       *predict.Model // of the baseline's vehicle
	m         *predict.Model
	sp        *priors.Space
	free      []int          // places
	base      predict.Params // the sound vehicle that a dive is fitted about
	noise     *instrument.Noise
	cov       *mat.SymDense // of the base's static parameters
	precision *mat.SymDense // its inverse
	sc        *scratch

	origin predict.Params // the calibrated vehicle, which expansions are relative to

	scatter []float64 // variance from dive to dive of each scattering parameter, of circumstances as dives before show it
}

// mostOfADive bounds the steps of all fits of one dive together. Of 6,100 dives of simulated seasons 95 in 100 take 122
// and less, 99 in 100 281, one 1,162; lines that contradict one another would take thousands.
const mostOfADive = 400

// manyCells are the cells of a dive beyond which its fits take fewer steps, for the sake of time, so that all of them together
// cost no more: a hundred lines of four readings, where people write down some twenty.
const manyCells = 400

// stepsOf is how many steps are left to cells that may take most, where many of them take fewer, but at least a few.
func stepsOf(most, least, many, cells int) int {
	return max(most*many/max(cells, many), least)
}

// fewest are the steps that a dive's fits may take however many cells it has: what a sound one takes, twice.
const fewest = 30

// fit finds the parameters of one dive: drifts with wide priors, robust
// weights, and a loop resistance that may scatter from line to line when the
// readings ask for it.
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
	loose := suspects(predict.LoopOhm, intermittentSizes[:])
	uneven := slices.DeleteFunc(f.uneven(d), func(u unevenness) bool { return !suspects(u.param, u.sizes) })
	if err := d.summarise(f.m, f.sp, f.origin, sum, f.sc); err != nil {
		return nil, err
	}
	for _, u := range uneven {
		if none, err = f.allowUneven(d, u, sum, start, none); err != nil {
			return nil, err
		}
	}
	if loose {
		if err := f.compareIntermittent(d, sum, start, none); err != nil {
			return nil, err
		}
	}
	return sum, f.fitFailures(d, sum)
}

// compareIntermittent fits a dive with a contact that comes and goes too, and takes that
// where the readings ask for it.
func (f *diver) compareIntermittent(d *dive, sum *Summary, start []float64, none float64) error {
	firm := slices.Clone(d.cells)
	at, worth, err := f.fitIntermittent(d, sum, start, none)
	if err != nil || !worth {
		copy(d.cells, firm)
		return err
	}
	loose := slices.Clone(d.cells)
	copy(d.cells, firm)
	d.allowInexact(f.was, f.m, sum.Params, soundOn(f.base, sum), f.sc)
	if err := d.summarise(f.m, f.sp, f.origin, sum, f.sc); err != nil {
		return err
	}
	copy(d.cells, loose)
	sum.Params, sum.Quadratic = at, *sum.Intermittent
	return nil
}

// apart is by how much a parameter may differ from the calibrated vehicle's in one dive, one standard deviation: scatter and what
// a cause may change.
func (f *diver) apart(place int) float64 {
	p := f.sp.Known(place)
	if i := slices.Index(f.sp.Scatter, place); i >= 0 {
		return math.Sqrt(f.scatter[i] + sq(p.Fault))
	}
	return p.Fault
}

// resting is the calibrated vehicle on the battery that a dive shows at rest.
func (f *diver) resting(d *dive) predict.Params {
	p := append(predict.Params(nil), f.base...)
	p[predict.OpenCircuitV], p[predict.SagVPerMinute] = d.rest, priors.SagMean
	return p
}

// soundOn is a calibrated vehicle on the battery that a dive's fit finds.
func soundOn(base predict.Params, sum *Summary) predict.Params {
	p := slices.Clone(base)
	for _, k := range []int{predict.OpenCircuitV, predict.SagVPerMinute} {
		p[k] = sum.Params[k]
	}
	return p
}

// params sets p to the base with a dive's own unknowns x (those left free, and
// the sag) and returns it.
func (f *diver) params(p predict.Params, x []float64) predict.Params {
	copy(p, f.base)
	for i, at := range f.free {
		p[f.sp.All[at]] += x[i]
	}
	p[predict.SagVPerMinute] = x[len(f.free)]
	return p
}

// solve fits one dive's unknowns from a start; what may go from line to line does so as far as the dive lets it, and with
// withinOhm > 0 each line has a loop resistance of its own. What lines have of their own comes before the
// dive's unknowns. It returns the log evidence as well.
//
// Each line is a group of its own (lsq.Problem), so that a dive of many lines
// takes no more a line than one of few.
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
		s := lsq.System{R: r, Jac: jac, X: x, Own: len(of), Groups: len(lines)}
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
		res, err := f.sc.solver.Fit(lsq.Problem{Dim: dim, Size: len(d.cells) + dim, Own: len(of), Rows: lines, Eval: eval}, x,
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

// rows are how many each line of a dive has in a fit: its cells, and what is known of so many unknowns of its own.
func (d *dive) rows(own int) []int {
	out := make([]int, len(d.obs))
	for k := range out {
		out[k] = own
	}
	for k := range d.cells {
		out[d.cells[k].obs]++
	}
	return out
}
