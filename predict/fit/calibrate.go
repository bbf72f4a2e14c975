package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/session/quantity"
)

// ofBaseline are the parameters that each baseline dive has of its own during the calibration; the
// finer scatter is left to the posterior.
var ofBaseline = []int{predict.OpenCircuitV, predict.BatteryOhm, predict.LoopOhm, predict.LogThrust, predict.TrimG, predict.StreamMS}

// A calibration fits the baseline dives together by robust least squares: shared departures from
// the file, and each dive's own. Each dive is a group of its own (lsq.Problem).
type calibration struct {
	models   []*predict.Model // of each dive
	sp       *priors.Space
	prior    *priors.Prior // of the static parameters
	dives    []*dive
	noise    *instrument.Noise
	perDive  []int       // indices into predict.Params of each dive's own
	variance [][]float64 // of perDive, by dive
	sc       *scratch
	before   saved // state before any fit
	steps    int   // left to all fits

	each, shared, dim int // unknowns of a dive, index of the first shared one, total
}

func newCalibration(models []*predict.Model, sp *priors.Space, dives []*dive, n *instrument.Noise, sc *scratch) *calibration {
	c := &calibration{models: models, sp: sp, prior: &sp.Prior, dives: dives, noise: n, sc: sc}
	c.perDive = ofBaseline
	if !slices.ContainsFunc(dives, (*dive).streams) {
		c.perDive = slices.DeleteFunc(slices.Clone(ofBaseline), func(k int) bool { return k == predict.StreamMS })
	}
	c.each = len(c.perDive) + 1 // the sag
	c.shared = c.each * len(dives)
	c.dim = c.shared + len(sp.Static)
	c.variance = normal.Rows(len(dives), len(c.perDive))
	for b := range c.variance {
		for i, k := range c.perDive {
			c.variance[b][i] = sq(sp.Of[k].Scatter)
		}
	}
	c.steps = stepsOf(mostOfABaseline, leastOfABaseline, manyOfABaseline, c.cells())
	return c
}

// otherBattery widens the battery's variances of baseline dive b, which has another battery than
// the first.
func (c *calibration) otherBattery(b int) {
	for i, k := range c.perDive {
		if slices.Contains(priors.OfBattery, k) {
			c.variance[b][i] += sq(max(c.sp.Of[k].Prior, c.sp.Of[k].Fault))
		}
	}
}

// streams reports whether any run of a dive was timed over ground, so that a stream shows.
func (d *dive) streams() bool {
	return d.timedOneWay() || slices.ContainsFunc(d.cells, func(c Cell) bool { return c.stream })
}

// timedOneWay reports whether any run of a dive was timed one way only.
func (d *dive) timedOneWay() bool {
	return slices.ContainsFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.Speed && d.obs[c.obs].Cond.OneWay })
}

// assumesDepth reports whether thrusters ran at an assumed depth, as no line had given one yet.
func (d *dive) assumesDepth() bool {
	return slices.ContainsFunc(d.obs, func(o observation) bool {
		return o.Cond.DepthAssumed != 0 && slices.ContainsFunc(o.Cond.Sign, func(sign int8) bool { return sign != 0 })
	})
}

// assumesTether reports whether thrusters ran with an assumed length of tether out, as no line had
// given it yet.
func (d *dive) assumesTether() bool {
	return slices.ContainsFunc(d.obs, func(o observation) bool {
		return o.Cond.OutAssumed != 0 && slices.ContainsFunc(o.Cond.Sign, func(sign int8) bool { return sign != 0 })
	})
}

// climbsUntimed reports whether heave thrusters were read with nothing that says whether the vehicle
// climbed.
func (d *dive) climbsUntimed(m *predict.Model) bool {
	return slices.ContainsFunc(d.cells, func(c Cell) bool { return m.Untimed(&d.obs[c.obs].Cond) })
}

// reverses reports whether thruster i ran astern or down.
func (d *dive) reverses(i int) bool {
	return slices.ContainsFunc(d.obs, func(o observation) bool { return o.Cond.Sign[i] < 0 })
}

// weighsAgain reports whether a dive's hover weight was read before anything had run in it and again
// after that.
func (d *dive) weighsAgain() bool {
	weighs := func(underWay bool) bool {
		return slices.ContainsFunc(d.cells, func(c Cell) bool { return c.Quantity == quantity.Trim && d.obs[c.obs].Cond.UnderWay > 0 == underWay })
	}
	return weighs(false) && weighs(true)
}

// AssumesDepth reports whether the log has runs at an assumed depth, as no line had given one yet.
func (r *Result) AssumesDepth() bool { return r.Space.Place[predict.AssumedDepthM] >= 0 }

// params sets p to the parameters of baseline dive b at unknowns x and returns it.
func (c *calibration) params(p predict.Params, x []float64, b int) predict.Params {
	clear(p)
	p[predict.OpenCircuitV], p[predict.LogInsulation] = 0, 0
	for i, at := range c.sp.Static {
		p[c.sp.All[at]] = x[c.shared+i]
	}
	block := x[b*c.each:]
	for i, k := range c.perDive {
		p[k] += block[i]
	}
	p[predict.SagVPerMinute] = block[len(c.perDive)]
	for _, k := range priors.OfOneDive[1:] {
		p[k] = c.sp.Of[k].Mean
	}
	return p
}

// start returns where the fit begins: the vehicle as built, each dive at its rest voltage.
func (c *calibration) start() []float64 {
	x := make([]float64, c.dim)
	copy(x[c.shared:], c.prior.Mean)
	for b, d := range c.dives {
		x[b*c.each] = d.rest - c.models[b].Vehicle.Battery.RestV()
	}
	return x
}

func (c *calibration) evaluate(r []float64, jac *mat.Dense, x []float64) {
	s := lsq.System{R: r, Jac: jac, X: x, PerGroup: c.each, Groups: len(c.dives)}
	for b, d := range c.dives {
		d.apartFrom(c.models[b], c.params(c.sc.params, x, b), perLine{}, c.sc, jac != nil)
		for k := range d.cells {
			slopes := s.Add(-c.sc.r[k])
			if slopes == nil {
				continue
			}
			per, by := c.sc.per[k], c.sc.predicted.slope[k]
			for i, p := range c.perDive {
				slopes[i] = per * by[p]
			}
			slopes[len(c.perDive)] = per * by[predict.SagVPerMinute]
			for i, at := range c.sp.Static {
				slopes[c.each+i] = per * by[c.sp.All[at]]
			}
		}
		for i := range c.perDive {
			s.Known(b*c.each+i, 0, math.Sqrt(c.variance[b][i]))
		}
		s.Known(b*c.each+len(c.perDive), priors.SagMean, c.sp.Of[predict.SagVPerMinute].Prior)
	}
	c.prior.Known(&s, c.shared)
}

// fit finds the most probable parameters of the baseline dives and learns the instruments' noise.
// It also tries a restart with noisier instruments, and columns or dives with their outliers
// exchanged.
func (c *calibration) fit() (*lsq.Result, error) {
	best, err := c.descend(c.start())
	if err != nil {
		return nil, err
	}
	if best.Status.Early() || best.Cost > misfits*float64(c.cells()) {
		best = c.likelier(best, c.restart)
	}
	if columns := mostlyOutliers(c.dives...); len(columns) > 0 {
		best = c.likelier(best, func() (*lsq.Result, error) { return c.descend(c.turn(columns, best.X)) })
	}
	if slices.ContainsFunc(c.dives, func(d *dive) bool { return len(mostlyOutliers(d)) > 0 }) {
		best = c.likelier(best, func() (*lsq.Result, error) { return c.descend(c.turnDives(best.X)) })
	}
	return best, nil
}

// likelier returns the result of another fit if that is likelier; else it restores the cells and
// returns best.
func (c *calibration) likelier(best *lsq.Result, another func() (*lsq.Result, error)) *lsq.Result {
	if c.steps <= 0 {
		return best
	}
	before, loss := c.save(), c.loss(best.X)
	if again, err := another(); err == nil && again != nil && c.loss(again.X) < loss {
		return again
	}
	before.restore()
	return best
}

// turn exchanges the outliers of columns in all dives. It returns x with the shared unknowns at
// their start: one slip far off may have drawn them its way, where no other reading tells them.
func (c *calibration) turn(columns []quantity.Quantity, x []float64) []float64 {
	for _, d := range c.dives {
		for _, q := range columns {
			d.turn(q)
		}
	}
	from := c.start()
	copy(from[:c.shared], x)
	return from
}

// turnDives exchanges the outliers of columns that a dive has mostly set aside. It returns x with
// the own unknowns of those dives at their start: one slip far off may have drawn them its way,
// such as a stream that no other dive has.
func (c *calibration) turnDives(x []float64) []float64 {
	from, start := slices.Clone(x), c.start()
	for b, d := range c.dives {
		for _, q := range mostlyOutliers(d) {
			copy(from[b*c.each:(b+1)*c.each], start[b*c.each:])
			d.turn(q)
		}
	}
	return from
}

// ofDives returns the full parameters of each baseline dive at x.
func (c *calibration) ofDives(x []float64) []predict.Params {
	out := make([]predict.Params, len(c.dives))
	for b := range c.dives {
		out[b] = slices.Clone(c.params(c.sc.params, x, b))
	}
	return out
}

// descend alternates least squares from x and reweighting.
func (c *calibration) descend(x []float64) (res *lsq.Result, err error) {
	for range robustPasses {
		if res, err = c.solve(x); err != nil {
			return nil, err
		}
		x = res.X
		changed := c.learnNoise(x, res.Cov)
		changed = c.inflateOutlying(x, res.Cov) || changed
		if changed = c.reweigh(x) || changed; !changed || c.steps <= 0 {
			break
		}
	}
	return res, nil
}

func (c *calibration) cells() (n int) {
	for _, d := range c.dives {
		n += len(d.cells)
	}
	return n
}

func (c *calibration) solve(x []float64) (*lsq.Result, error) {
	rows := make([]int, len(c.dives))
	for b, d := range c.dives {
		rows[b] = len(d.cells) + c.each
	}
	res, err := c.sc.solver.Fit(lsq.Problem{Dim: c.dim, Size: c.dim + c.cells(), PerGroup: c.each, Rows: rows, Eval: c.evaluate}, x,
		&lsq.Settings{CostTol: closeEnough, MaxIter: max(1, min(mostCalibrating, c.steps))})
	if err == nil {
		c.steps -= res.Iterations
	}
	return res, err
}

func (c *calibration) reweigh(x []float64) (changed bool) {
	for b, d := range c.dives {
		changed = d.reweigh(c.models[b], c.noise, c.params(c.sc.params, x, b), perLine{}, c.sc) || changed
	}
	return changed
}

// learnNoise updates the instruments' noise from the residuals about the fit: each reading has one
// degree of freedom less its leverage.
func (c *calibration) learnNoise(x []float64, cov *mat.SymDense) bool {
	if cov == nil {
		return false
	}
	var squares, freedom [quantity.Count]float64
	row, by := make([]float64, c.dim), mat.NewVecDense(c.dim, nil)
	for b, d := range c.dives {
		d.residuals(c.models[b], c.params(c.sc.params, x, b), perLine{}, c.sc, true)
		for k := range d.cells {
			cell := &d.cells[k]
			if cell.Outlier || cell.stream || d.leftOut {
				continue
			}
			clear(row)
			for i, p := range c.perDive {
				row[b*c.each+i] = c.sc.jac[k][p]
			}
			row[b*c.each+len(c.perDive)] = c.sc.jac[k][predict.SagVPerMinute]
			for i, at := range c.sp.Static {
				row[c.shared+i] = c.sc.jac[k][c.sp.All[at]]
			}
			v := mat.NewVecDense(c.dim, row)
			by.MulVec(cov, v)
			squares[cell.Quantity] += sq(c.sc.r[k])
			freedom[cell.Quantity] += cell.weight - min(mat.Dot(v, by), cell.weight)
		}
	}
	return c.noise.Learn(squares, freedom)
}

// misfits is the least cost per cell at which a calibration is restarted; noise alone leaves 1.
const misfits = 2.0

// blurs are the factors on the instruments' noise, one after the other, of a restarted calibration.
// With them one slip of many volts does not draw the fit its way, and is set aside (graduated
// non-convexity: Blake and Zisserman, Visual Reconstruction, 1987, chapter 6).
var blurs = []float64{32, 8, 2}

// restart is descend begun with noisier instruments. It returns nil if more cells of a column are
// set aside than may be slips.
func (c *calibration) restart() (*lsq.Result, error) {
	x := c.start()
	for _, blur := range blurs {
		c.blur(blur, x)
		res, err := c.solve(x)
		if err != nil {
			return nil, err
		}
		x = res.X
	}
	c.blur(1, x)
	res, err := c.descend(x)
	if err != nil || !c.fewOutliers() {
		return nil, err
	}
	return res, nil
}

// blur reweighs the cells at x with instruments times noisier than stated.
func (c *calibration) blur(times float64, x []float64) {
	for q := range c.noise.Factor {
		c.noise.Factor[q], c.noise.Worth[q] = times, c.noise.Doubt[q]
	}
	c.reweigh(x)
}

// fewOutliers reports whether no column has more than a share fewFar of its cells set aside.
func (c *calibration) fewOutliers() bool {
	out, all := count(c.dives, func(cell *Cell) bool { return cell.Outlier })
	for q := range out {
		if float64(out[q]) > fewFar*float64(all[q]) {
			return false
		}
	}
	return true
}

// loss is −2 times the log density of the readings and the priors, up to a constant.
func (c *calibration) loss(x []float64) float64 {
	r := make([]float64, c.dim+c.cells())
	c.evaluate(r, nil, x)
	loss := blas64.Dot(normal.Vector(r), normal.Vector(r)) + c.noise.Loss() - c.prior.LogDet
	for b, d := range c.dives {
		loss += d.robustLoss()
		for k := range d.cells {
			loss += 2 * math.Log(d.cells[k].SD)
		}
		for _, v := range c.variance[b] {
			loss += math.Log(v)
		}
	}
	return loss
}
