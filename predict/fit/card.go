package fit

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// A Reading is one entry of the next dive's card: what to do, what to read,
// what it should be if nothing changed, and what it tells.
type Reading struct {
	Sign           []int8 // thrusters, as in predict.Condition
	Held, Climbing bool
	Quantity       quantity.Quantity
	Expected       float64 // base unit
	Low, High      float64 // 95 % of what it should be, instrument and scatter in it
	SD             float64 // of the instrument
	Param          int     // of predict.Params that it narrows most
	Before, After  float64 // half of that parameter's 95 % interval without and with it, and all readings above it on the card
}

// Spread is one standard deviation of the reading's instrument, base unit.
func (r *Reading) Spread() float64 {
	if r.Quantity.Log() {
		return r.SD * r.Expected
	}
	return r.SD
}

// leastGain is the gain of a reading, in nats, below which it is not worth a
// line of the card: common practice, no source.
const leastGain = 0.02

// Card picks the readings worth taking under a condition, most informative
// first: each is the one that, after those before it, narrows the open
// questions most (the sum over parameters of ln of the interval's shrinkage, by
// the readings' derivatives). Only quantities that the log has read are offered,
// all while it has read none.
// open weighs each parameter that a cause may change, 1 where nothing is known.
func (r *Result) Card(p predict.Params, c predict.Condition, open map[int]float64, n int) []Reading {
	candidates := r.candidates(p, c, r.read())
	doubt := r.covariance(r.faults())
	f := newForecast(r.Model, p)
	f.noise = r.noise
	f.cov.CopySym(r.covariance(nil))
	params := slices.Sorted(maps.Keys(open))
	var out []Reading
	for len(out) < n && len(candidates) > 0 {
		best, top := -1, 0.0
		for i := range candidates {
			if g := candidates[i].gain(doubt, params, open); g > top {
				best, top = i, g
			}
		}
		if best < 0 || top < leastGain {
			break
		}
		k := candidates[best]
		read := k.Reading
		is := f.reading(&read, c)
		read.Expected, read.Low, read.High = is.Value, is.Low, is.High
		read.Param, read.Before, read.After = k.take(doubt, params)
		out = append(out, read)
		candidates = slices.Delete(candidates, best, best+1)
	}
	return out
}

// reading is what a reading should be, for the rest voltage that f says.
func (f *Forecast) reading(x *Reading, c predict.Condition) Range {
	c.Sign, c.Held, c.Climbing, c.Electrical = x.Sign, x.Held, x.Climbing, true
	solve := func(p predict.Params) []float64 {
		f.m.Solve(&c, p, &f.pt, nil)
		return []float64{f.pt.Out[x.Quantity]}
	}
	value := []float64{instrument.OffScale(x.Quantity, x.Expected)}
	return f.Readings(value, []quantity.Quantity{x.Quantity}, map[int]float64{predict.OpenCircuitV: f.p[predict.OpenCircuitV]}, solve)[0]
}

// faults is how far causes may take each parameter.
func (r *Result) faults() map[int]float64 {
	out := map[int]float64{}
	for _, at := range r.free {
		k := r.Space.All[at]
		if f := r.Space.Of[k].Fault; f > 0 && !ofInstrument(k) {
			out[k] = f
		}
	}
	return out
}

// Faults are the parameters of predict.Params that a cause in the vehicle may
// change.
func (r *Result) Faults() []int {
	return slices.Sorted(maps.Keys(r.faults()))
}

// ofInstrument says whether a parameter is an instrument's or a circumstance's:
// the card asks of the vehicle.
func ofInstrument(k int) bool {
	return k >= predict.StreamMS && k < predict.FirstThruster || k == predict.OpenCircuitV || k == predict.UnloggedA
}

// candidate is a reading that could be taken: its derivatives and noise.
type candidate struct {
	Reading
	row *mat.VecDense
	sd  float64
}

// read are the quantities that a log has read.
func (r *Result) read() map[quantity.Quantity]bool {
	read := map[quantity.Quantity]bool{}
	for i := range r.Dives {
		for _, cell := range r.Dives[i].Cells {
			read[cell.Quantity] = true
		}
	}
	return read
}

// candidates are the readings that could be taken of some quantities, of all
// where none are given.
func (r *Result) candidates(p predict.Params, c predict.Condition, read map[quantity.Quantity]bool) []candidate {
	grad := normal.Rows(int(quantity.Count), r.Model.Dim())
	var pt predict.Point
	var out []candidate
	add := func(sign []int8, held, climbing bool) {
		c.Sign, c.Held, c.Climbing, c.Electrical = sign, held, climbing, true
		r.Model.Solve(&c, p, &pt, grad)
		instrument.Straighten(&pt, grad)
		for q := range quantity.Count {
			if len(read) > 0 && !read[q] || !pt.Known[q] || !worthReading(q, idle(sign), climbing) {
				continue
			}
			row := mat.NewVecDense(len(p), slices.Clone(grad[q]))
			out = append(out, candidate{Reading{Sign: sign, Held: held, Climbing: climbing, Quantity: q, Expected: instrument.Predicted(q, pt.Out[q]), SD: r.noise.SD(q, pt.Out[q])}, row, r.noise.SD(q, pt.Out[q])})
		}
	}
	for _, sign := range r.Model.Combinations() {
		add(sign, false, false)
		if idle(sign) {
			add(sign, false, true)
		} else if len(read) == 0 || read[quantity.Pull] {
			add(sign, true, false)
		}
	}
	return out
}

// worthReading says whether a quantity is read on such a line: hover weight,
// loop and insulation with everything off, a climb by itself.
func worthReading(q quantity.Quantity, idle, climbing bool) bool {
	switch q {
	case quantity.Climb:
		return climbing
	case quantity.Trim, quantity.LoopOhm, quantity.Insulation:
		return idle && !climbing
	case quantity.VehicleV, quantity.CurrentA:
		return !idle && !climbing
	}
	return !climbing
}

func idle(sign []int8) bool {
	for _, s := range sign {
		if s != 0 {
			return false
		}
	}
	return true
}

// gain is the sum over open parameters of ln(variance before/after) of the
// reading.
func (k *candidate) gain(cov *mat.SymDense, params []int, open map[int]float64) float64 {
	var cr mat.VecDense
	cr.MulVec(cov, k.row)
	total := k.sd*k.sd + mat.Dot(k.row, &cr)
	sum := 0.0
	for _, i := range params {
		if v := cov.At(i, i); v > 0 {
			sum -= open[i] * math.Log1p(-min(sq(cr.AtVec(i))/total/v, 1-1e-12))
		}
	}
	return sum
}

// take updates the covariance by the reading and says which parameter it
// narrows most, from which half of its 95 % interval to which.
func (k *candidate) take(cov *mat.SymDense, params []int) (param int, before, after float64) {
	was := make([]float64, len(params))
	for i, p := range params {
		was[i] = cov.At(p, p)
	}
	var cr mat.VecDense
	cr.MulVec(cov, k.row)
	cov.SymRankOne(cov, -1/(k.sd*k.sd+mat.Dot(k.row, &cr)), &cr)
	least := 1.0
	for i, p := range params {
		if s := cov.At(p, p) / was[i]; s < least {
			least, param = s, p
			before, after = z95*math.Sqrt(was[i]), z95*math.Sqrt(max(cov.At(p, p), 0))
		}
	}
	return param, before, after
}

// Separates finds the one reading under a condition that best separates a
// vehicle at p from the same one at other: Expected is what p says, there what
// other says, and apart is how many of the reading's standard deviations lie
// between the two. ok is false when nothing that the log reads, or with any
// nothing that can be read, separates them by more than two.
func (r *Result) Separates(p, other predict.Params, c predict.Condition, any bool) (best Reading, there, apart float64, ok bool) {
	read := r.read()
	if any {
		clear(read)
	}
	this, that := r.candidates(p, c, read), r.candidates(other, c, read)
	for i := range min(len(this), len(that)) {
		k := &this[i]
		d := math.Abs(k.Expected-that[i].Expected) / k.sd
		if d > apart && d > 2 {
			best, there, apart, ok = k.Reading, instrument.OffScale(k.Quantity, that[i].Expected), d, true
			best.Expected = instrument.OffScale(k.Quantity, k.Expected)
		}
	}
	return best, there, apart, ok
}

// A Gain says how much one more kind of reading, taken on every line where it
// means something, would have narrowed one parameter of a dive: half the width
// of its 95 % interval without and with it, in the parameter's own unit.
type Gain struct {
	Quantity     quantity.Quantity
	Before, With float64
}

// MostTelling finds, for a dive and a parameter, the unread quantity that would
// narrow it most. Every parameter may have changed, so that what the readings
// cannot tell apart counts. ok is false when all are read already.
func (r *Result) MostTelling(dive, param int) (best Gain, ok bool) {
	d := &r.Dives[dive]
	faults := map[int]float64{}
	for _, k := range []int{predict.LoopOhm, predict.LogThrust, predict.FrictionA, predict.TrimG, predict.BatteryOhm} {
		faults[k] = r.Space.Of[k].Fault
	}
	cov := r.covariance(faults)
	read := map[quantity.Quantity]bool{}
	for _, c := range d.Cells {
		read[c.Quantity] = true
	}
	narrowed := func(more quantity.Quantity) float64 {
		out := mat.NewSymDense(cov.SymmetricDim(), nil)
		out.CopySym(cov)
		for _, k := range r.readingsOf(d, more) {
			k.take(out, nil)
		}
		return z95 * math.Sqrt(max(out.At(param, param), 0))
	}
	before := narrowed(-1)
	for q := range quantity.Count {
		if read[q] || q == quantity.Insulation {
			continue
		}
		if w := narrowed(q); !ok || w < best.With {
			best, ok = Gain{q, before, w}, true
		}
	}
	return best, ok
}

// readingsOf are a dive's readings as candidates, and one quantity more on each
// line where it means something (the loop's resistance once, before the dive).
func (r *Result) readingsOf(d *DiveFit, more quantity.Quantity) []candidate {
	grad := normal.Rows(int(quantity.Count), r.Model.Dim())
	var pt predict.Point
	var out []candidate
	add := func(q quantity.Quantity) {
		out = append(out, candidate{row: mat.NewVecDense(r.Model.Dim(), slices.Clone(grad[q])), sd: r.noise.SD(q, pt.Out[q])})
	}
	looped := false
	for i := range d.d.obs {
		o := &d.d.obs[i]
		r.models[d.Era].Solve(&o.Cond, d.Summary.Params, &pt, grad)
		instrument.Straighten(&pt, grad)
		for k := range d.d.cells {
			if c := &d.d.cells[k]; c.obs == i && !c.stream && !c.Outlier {
				add(c.Quantity)
			}
		}
		if more < 0 || !pt.Known[more] || !worthReading(more, len(o.line.Drives) == 0, o.Cond.Climbing) || more == quantity.LoopOhm && looped {
			continue
		}
		add(more)
		looped = looped || more == quantity.LoopOhm
	}
	return out
}
