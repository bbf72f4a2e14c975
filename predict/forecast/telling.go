package forecast

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/priors"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/quantity"
)

// A Gain is how much one more kind of reading, taken on every line where it has a meaning, would
// have narrowed a parameter of a dive: half the width of its 95 % interval without and with it, in
// the parameter's own unit.
type Gain struct {
	Quantity     quantity.Quantity
	Before, With float64
}

// MostTelling returns the unread quantity that would narrow a parameter of a dive most, if every
// parameter may have changed. ok is false if all are read already.
func MostTelling(r *fit.Result, dive, param int) (best Gain, ok bool) {
	read := map[quantity.Quantity]bool{}
	for _, c := range r.Dives[dive].Cells {
		read[c.Quantity] = true
	}
	cov := changedCov(r, param)
	before := narrowed(r, cov, dive, param, nothingMore)
	for q := range quantity.Count {
		if read[q] || q == quantity.Insulation {
			continue
		}
		if w := narrowed(r, cov, dive, param, q); !ok || w < best.With {
			best, ok = Gain{q, before, w}, true
		}
	}
	return best, ok
}

// nothingMore stands for no further quantity.
const nothingMore = quantity.Quantity(-1)

// changedCov returns the covariance of a vehicle in which param, and what it may be mistaken for,
// may have changed.
func changedCov(r *fit.Result, param int) *mat.SymDense {
	faults := map[int]float64{}
	for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA, predict.TrimG, predict.BatteryOhm, param} {
		faults[k] = r.Space.Of[k].Fault
	}
	return covariance(r, faults, fit.Posterior{})
}

// narrowed returns half the width of a parameter's 95 % interval after a dive's readings and those
// of one more quantity.
func narrowed(r *fit.Result, cov *mat.SymDense, dive, param int, more quantity.Quantity) float64 {
	out := mat.NewSymDense(cov.SymmetricDim(), nil)
	out.CopySym(cov)
	for _, k := range readingsOf(r, dive, more) {
		k.take(out, nil)
	}
	return vehicle.Z95 * math.Sqrt(max(out.At(param, param), 0))
}

// LeftOpen returns half the width of a parameter's 95 % interval that a dive's readings leave, if
// every parameter may have changed by as much as faults do. A dive's own estimate also accounts for
// most dives changing nothing.
func LeftOpen(r *fit.Result, dive, param int) float64 {
	return narrowed(r, changedCov(r, param), dive, param, nothingMore)
}

// readingsOf returns a dive's readings as candidates, and one more quantity on each line where it
// has a meaning (the loop's resistance once).
func readingsOf(r *fit.Result, dive int, more quantity.Quantity) []candidate {
	m := r.ModelOf(dive)
	grad := normal.Rows(int(quantity.Count), r.Model.Dim())
	var pt predict.Point
	var out []candidate
	add := func(q quantity.Quantity) {
		out = append(out, candidate{Reading{SD: r.Noise.SD(q, pt.Out[q])}, mat.NewVecDense(r.Model.Dim(), slices.Clone(grad[q]))})
	}
	looped := false
	r.Dives[dive].Observed(func(c *predict.Condition, l *session.Line, read []quantity.Quantity) {
		m.Solve(c, r.Dives[dive].Summary.Params, &pt, grad)
		instrument.Straighten(&pt, grad)
		for _, q := range read {
			add(q)
		}
		if more < 0 || !pt.Known[more] || !worthReading(more, len(l.Drives) == 0, c.Climbing) || more == quantity.LoopOhm && looped {
			return
		}
		add(more)
		looped = looped || more == quantity.LoopOhm
	})
	return out
}

// Separates returns the reading under a condition that best separates a vehicle at p from the same
// vehicle at other. best.Expected is the reading at p, there that at other, and apart their
// distance in standard deviations of the reading from dive to dive: a rest voltage differs by more
// than the voltmeter's noise. ok is false if no reading separates them by more
// than two. It considers the quantities that the log reads, or all if unread is true, and only readings
// with all thrusters of together running, or none of them.
func Separates(r *fit.Result, p, other predict.Params, c predict.Condition, unread bool, together ...int) (best Reading, there, apart float64, ok bool) {
	read := r.Reads()
	if unread {
		clear(read)
	}
	this, that := candidates(r, p, c, read), candidates(r, other, c, read)
	for i := range min(len(this), len(that)) {
		k := &this[i]
		running := 0
		for _, t := range together {
			if k.Sign[t] != 0 {
				running++
			}
		}
		if running > 0 && running < len(together) {
			continue
		}
		scatter := sq(k.SD)
		for j := range k.row.Len() {
			scatter += sq(k.row.AtVec(j) * r.Space.Of[j].Scatter)
		}
		d := math.Abs(k.Expected-that[i].Expected) / math.Sqrt(scatter)
		if d > plainlyBetter*apart && d > 2 {
			best, there, apart, ok = k.Reading, instrument.OffScale(k.Quantity, that[i].Expected), d, true
			best.Expected = instrument.OffScale(k.Quantity, k.Expected)
		}
	}
	return best, there, apart, ok
}

// plainlyBetter is how many times farther apart, in standard deviations, a reading must separate two
// vehicles to be asked for instead of a simpler one, such as astern instead of ahead: common
// practice, no source.
const plainlyBetter = 1.1

// A Narrowing is by how much measuring a key that the file leaves out would narrow readings: as a
// share of the variance of their logarithms.
type Narrowing struct {
	Path  string // of the first thruster, if all have one
	Share float64
}

// Narrowings returns those of the keys that a vehicle's file leaves out, best first, for its
// readings under the conditions before its first dive. Readings that may be 0 or less are left out;
// rest voltage and trim are measured on any first dive.
func Narrowings(v *vehicle.Vehicle, conditions []predict.Condition) (out []Narrowing) {
	f, keys := AsBuilt(v), priors.Doubts(v)
	shares, total := make([]float64, len(keys)), 0.0
	for i := range conditions {
		f.m.Solve(&conditions[i], f.p, &f.pt, f.grad)
		for q := range quantity.Count {
			x := f.pt.Out[q]
			if !f.pt.Known[q] || q.Log() || q == quantity.Trim || q == quantity.LoopOhm || x <= 0 {
				continue
			}
			for k, d := range keys {
				by := 0.0
				for j, slope := range f.grad[q] {
					by += slope * d.By[j] / x
				}
				total += sq(by)
				shares[k] += sq(by)
			}
		}
	}
	for k, d := range keys {
		if b := v.Belief(d.Paths[0]); b.Origin == vehicle.Prior && b.Residual > b.Tolerance && total > 0 {
			out = append(out, Narrowing{b.Path, shares[k] / total * (1 - sq(b.Tolerance/b.Residual))})
		}
	}
	slices.SortStableFunc(out, func(a, b Narrowing) int { return cmp.Compare(b.Share, a.Share) })
	return out
}
