package fit

import (
	"cmp"
	"math"
	"slices"

	"sagline/predict"
)

// byItself fits dive i against the calibration and expands it about its mixture's mean. Where that leaves a cell
// unexplained, it does so again with one cell after the other set aside, the farthest from a sound vehicle first, and takes
// what is likeliest: least squares alone explain a slip, or two lines in each other's place, by as many changes as it takes.
func (f *fitting) byItself(i int, w worker, scatter []float64) error {
	d, m := &f.r.Dives[i], &f.matched[i]
	if err := f.fitOnce(i, w, scatter); err != nil {
		return err
	}
	model := w.models[d.Era]
	if !m.unexplained(model, d.Summary.Params, w.sc) {
		return nil
	}
	sum, best, cells := d.Summary, *m, slices.Clone(m.cells)
	most := d.Summary.likeliest() - chargeOfSlips(m.cells)
	far := f.farthest(i, w)
	for n := range far {
		if m.steps <= 0 && len(m.cells) > manyCells {
			break
		}
		m.setAnew()
		for _, k := range far[:n+1] {
			m.cells[k].Outlier, m.cells[k].slip = true, true
		}
		if f.fitOnce(i, w, scatter) != nil {
			break
		}
		if log := d.Summary.turning - chargeOfSlips(m.cells); log > most {
			sum, best, cells, most = d.Summary, *m, slices.Clone(m.cells), log
		}
		if !m.unexplained(model, d.Summary.Params, w.sc) {
			break
		}
	}
	d.Summary, *m = sum, best
	copy(m.cells, cells)
	m.spreadUneven()
	return nil
}

// farthest are the cells of dive i beyond hopeless from the calibrated vehicle, at most a few of them, the farthest first.
func (f *fitting) farthest(i int, w worker) (cells []int) {
	r, m := f.r, &f.matched[i]
	at := slices.Clone(r.Base)
	at[predict.OpenCircuitV] = m.rest
	m.predict(w.models[r.Dives[i].Era], at, perLine{}, w.sc, true)
	z := make([]float64, len(m.cells))
	for k := range m.cells {
		c, want := &m.cells[k], w.sc.predicted.want[k]
		if z[k] = math.Abs(c.Value-want) / math.Hypot(c.noiseAt(r.Noise, want), m.obs[c.obs].Doubt(w.sc.predicted.slope[k])); z[k] > hopeless {
			cells = append(cells, k)
		}
	}
	slices.SortStableFunc(cells, func(a, b int) int { return cmp.Compare(z[b], z[a]) })
	return cells[:min(len(cells), int(math.Ceil(fewFar*float64(len(m.cells)))))]
}

// fitOnce fits dive i against the calibration and expands it about its mixture's mean.
func (f *fitting) fitOnce(i int, w worker, scatter []float64) error {
	r, d, m := f.r, &f.r.Dives[i], &f.matched[i]
	model := w.models[d.Era]
	fit := diver{was: w.models[0], m: model, sp: r.Space, free: r.Free, base: r.Base, noise: r.Noise, cov: r.Cov, sc: w.sc}
	sum, err := fit.fit(m)
	if err != nil {
		return orAbsurd(err, f.log, m)
	}
	d.Summary, sum.Fitted = sum, slices.Clone(sum.Params)
	if err := r.expandAgain(w.models[0], model, d, m, w.sc, scatter); err != nil {
		return absurd(f.log, m)
	}
	if err := r.weighFailures(sum, scatter); err != nil {
		return absurd(f.log, m)
	}
	return nil
}

// unexplained says whether a cell that counts lies beyond hopeless from what a dive is expanded about.
func (d *dive) unexplained(m *predict.Model, p predict.Params, sc *scratch) bool {
	d.residuals(m, p, perLine{}, sc, false)
	for k := range d.cells {
		if math.Abs(sc.r[k]) > hopeless && !d.cells[k].Outlier {
			return true
		}
	}
	return false
}

// expandAgain expands a dive's likelihood about its mixture's mean: where a
// dive alone cannot tell causes apart, its best fit lies far out.
func (r *Result) expandAgain(was, m *predict.Model, d *DiveFit, own *dive, sc *scratch, variance []float64) error {
	sum := d.Summary
	a, err := r.Alone(&sum.Quadratic)
	if err != nil {
		return err
	}
	mix, err := r.Mixture(a, variance)
	if err != nil {
		return err
	}
	if sum.turning = mix.Log; sum.Intermittent() {
		return nil // expanded where it fits, with the contact loose
	}
	for i, x := range mix.Mean() {
		k := r.Space.All[r.Free[i]]
		sum.Params[k] = r.Base[k] + x
	}
	own.allowInexact(was, m, sum.Params, soundOn(r.Base, sum), sc)
	return own.summarise(m, r.Space, r.Base, sum, sc)
}
