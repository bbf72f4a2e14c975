package forecast

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/predict/fit"
	"sagline/predict/instrument"
	"sagline/predict/normal"
	"sagline/predict/vehicle"
	"sagline/session/quantity"
)

// A Reading is one entry of the next dive's card: what to do, what to read, what it should be if
// nothing changed, and what it tells.
type Reading struct {
	Sign           []int8 // thrusters, as in predict.Condition
	Held, Climbing bool
	Quantity       quantity.Quantity
	Expected       float64 // base unit
	Low, High      float64 // 95 % range of what it should be, with instrument and scatter
	SD             float64 // of the instrument
	Param          int     // index in predict.Params of what it narrows most, given all readings above it on the card
}

// Spread returns one standard deviation of the reading's instrument, in the base unit.
func (r *Reading) Spread() float64 {
	if r.Quantity.Log() {
		return r.SD * r.Expected
	}
	return r.SD
}

// leastGain is the gain of a reading, in nats, below which it is not worth a
// line of the card: common practice, no source.
const leastGain = 0.02

// Card picks up to n readings worth taking under a condition, most informative first: each narrows
// the open questions most given those before it (candidate.gain). Only quantities in read are
// offered, or all if it is empty. posterior is as in New. open weighs each parameter that a cause may change, 1 where
// nothing is known.
func Card(r *fit.Result, p predict.Params, posterior fit.Posterior, c predict.Condition, read map[quantity.Quantity]bool, open map[int]float64, n int) []Reading {
	left := candidates(r, p, c, read)
	doubt := covariance(r, r.Space.Faults(), fit.Posterior{})
	f := forecastAt(r.Model, p)
	f.noise = r.Noise
	f.cov.CopySym(covariance(r, nil, posterior))
	params := slices.Sorted(maps.Keys(open))
	var out []Reading
	for len(out) < n && len(left) > 0 {
		best, top := -1, 0.0
		for i := range left {
			if g := left[i].gain(doubt, params, open); g > top {
				best, top = i, g
			}
		}
		if best < 0 || top < leastGain {
			break
		}
		k := left[best]
		is := f.reading(&k.Reading, c)
		k.Expected, k.Low, k.High = is.Value, is.Low, is.High
		k.Param = k.take(doubt, params)
		out = append(out, k.Reading)
		left = slices.Delete(left, best, best+1)
	}
	return out
}

// reading returns the range of a reading, at the rest voltage of f; of the rest voltage itself, the range
// over dives.
func (f *Forecast) reading(x *Reading, c predict.Condition) normal.Range {
	c.Sign, c.Held, c.Climbing, c.Electrical = x.Sign, x.Held, x.Climbing, true
	solve := func(p predict.Params) []float64 {
		f.m.Solve(&c, p, &f.pt, nil)
		return []float64{f.pt.Out[x.Quantity]}
	}
	value, rested := []float64{instrument.OffScale(x.Quantity, x.Expected)}, map[int]float64{predict.OpenCircuitV: f.p[predict.OpenCircuitV]}
	if idle(x.Sign) && !x.Climbing {
		rested = nil
	}
	return f.Readings(value, []quantity.Quantity{x.Quantity}, rested, solve)[0]
}

// candidate is a reading that could be taken, with its derivatives.
type candidate struct {
	Reading
	row *mat.VecDense
}

// candidates returns the readings that could be taken, of the quantities in read, or of all if it
// is empty.
func candidates(r *fit.Result, p predict.Params, c predict.Condition, read map[quantity.Quantity]bool) []candidate {
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
			out = append(out, candidate{Reading{Sign: sign, Held: held, Climbing: climbing, Quantity: q, Expected: instrument.Predicted(q, pt.Out[q]), SD: r.Noise.SD(q, pt.Out[q])}, row})
		}
	}
	reverses := reversible(r)
	for _, sign := range r.Model.Combinations() {
		if !canRun(sign, reverses) {
			continue
		}
		add(sign, false, false)
		if idle(sign) {
			add(sign, false, true)
		} else if len(read) == 0 || read[quantity.Pull] {
			add(sign, true, false)
		}
	}
	return out
}

// reversible reports for each thruster whether it can be reversed as far as is known: the file
// gives its pull astern, or the log has run it so.
func reversible(r *fit.Result) []bool {
	v := r.Model.Vehicle
	names, out := v.ThrusterNames(), make([]bool, len(v.Thrusters))
	for i := range out {
		out[i] = v.Belief("thruster."+names[i]+".astern").Origin != vehicle.Prior
	}
	for d := range r.Dives {
		for k := range r.Dives[d].Log.Lines {
			signs, _ := r.Dives[d].Log.Lines[k].Signs(names)
			for i, s := range signs {
				out[i] = out[i] || s < 0
			}
		}
	}
	return out
}

// canRun reports whether thrusters can run with these signs.
func canRun(sign []int8, reverses []bool) bool {
	for i, s := range sign {
		if s < 0 && !reverses[i] {
			return false
		}
	}
	return true
}

// worthReading reports whether a quantity is read on such a line: some only with everything off, a
// climb only on a climb.
func worthReading(q quantity.Quantity, idle, climbing bool) bool {
	switch {
	case q == quantity.Climb:
		return climbing
	case q.Still():
		return idle && !climbing
	case q == quantity.VehicleV || q == quantity.CurrentA:
		return !idle && !climbing
	}
	return !climbing
}

// idle reports whether no thruster is on.
func idle(sign []int8) bool { return !slices.ContainsFunc(sign, func(s int8) bool { return s != 0 }) }

// gain returns the sum over open parameters, each with its weight, of ln(variance before/after) of
// the reading, by its derivatives.
func (k *candidate) gain(cov *mat.SymDense, params []int, open map[int]float64) float64 {
	var cr mat.VecDense
	cr.MulVec(cov, k.row)
	total := k.SD*k.SD + mat.Dot(k.row, &cr)
	sum := 0.0
	for _, i := range params {
		if v := cov.At(i, i); v > 0 {
			sum -= open[i] * math.Log1p(-min(sq(cr.AtVec(i))/total/v, 1-1e-12))
		}
	}
	return sum
}

// take updates the covariance by the reading and returns the parameter that it narrows most among
// those that it depends on, else among all.
func (k *candidate) take(cov *mat.SymDense, params []int) (param int) {
	before := make([]float64, len(params))
	for i, p := range params {
		before[i] = cov.At(p, p)
	}
	var cr mat.VecDense
	cr.MulVec(cov, k.row)
	cov.SymRankOne(cov, -1/(k.SD*k.SD+mat.Dot(k.row, &cr)), &cr)
	least, direct := 1.0, false
	for i, p := range params {
		s, acts := cov.At(p, p)/before[i], k.row.AtVec(p) != 0
		if before[i] > 0 && (acts && !direct || acts == direct && s < least) {
			least, param, direct = s, p, acts
		}
	}
	return param
}
