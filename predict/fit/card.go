package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
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
	Drift          int     // index into Result.Drift that it narrows most
	Before, After  float64 // half of that drift's 95 % interval without and with it, and all readings above it on the card
}

// Card picks the readings worth taking under a condition, most informative
// first: each is the one that, after those before it, narrows the open
// questions most (the sum over drifts of ln of the interval's shrinkage, by the
// readings' derivatives). Only quantities that the log has read are offered,
// all while it has read none.
// open weighs each drift, 1 where nothing is known.
func (r *Result) Card(p predict.Params, c predict.Condition, open []float64, n int) []Reading {
	candidates := r.candidates(p, c)
	ns, nd := len(r.Shared), len(r.Drift)
	doubt := r.doubt(func(k int) float64 { return pick(wide, branchWide, k) })
	variance := r.Scatter(len(r.Dives))
	calm := r.doubt(func(k int) float64 { return math.Sqrt(variance[k]) })
	rest := calm.SymmetricDim() - 1
	calm.SetSym(rest, rest, 0) // the ranges are for the rest voltage that p says
	var out []Reading
	for len(out) < n && len(candidates) > 0 {
		best, top := -1, 0.0
		for i := range candidates {
			if g := gain(doubt, candidates[i].row, candidates[i].sd, ns, open); g > top {
				best, top = i, g
			}
		}
		if best < 0 || top < 0.02 {
			break
		}
		k := candidates[best]
		spread := math.Sqrt(k.sd*k.sd + mat.Inner(k.row, calm, k.row))
		read := k.Reading
		read.Low, read.High = read.Expected-z95*spread, read.Expected+z95*spread
		before := make([]float64, nd)
		for i := range nd {
			before[i] = doubt.At(ns+i, ns+i)
		}
		take(doubt, k.row, k.sd)
		least := 1.0
		for i := range nd {
			if s := doubt.At(ns+i, ns+i) / before[i]; s < least {
				least, read.Drift = s, i
			}
		}
		read.Before, read.After = z95*math.Sqrt(before[read.Drift]), z95*math.Sqrt(doubt.At(ns+read.Drift, ns+read.Drift))
		out = append(out, read)
		candidates = append(candidates[:best], candidates[best+1:]...)
	}
	return out
}

// candidate is a reading that could be taken: its derivatives by the shared
// parameters, the drifts and the battery's voltage.
type candidate struct {
	Reading
	row *mat.VecDense
	sd  float64
}

func (r *Result) candidates(p predict.Params, c predict.Condition) []candidate {
	read := map[quantity.Quantity]bool{}
	for i := range r.Dives {
		for _, cell := range r.Dives[i].Cells {
			read[cell.Quantity] = true
		}
	}
	grad := rows(quantity.Predicted, r.Model.Dim())
	var pt predict.Point
	var out []candidate
	add := func(sign []int8, held, climbing bool) {
		c.Sign, c.Held, c.Climbing, c.Electrical = sign, held, climbing, true
		r.Model.Solve(&c, p, &pt, grad)
		for _, pair := range outputs {
			if len(read) > 0 && !read[pair.q] || !pt.Known[pair.o] || (pair.q == quantity.Trim && idle(sign) == climbing) || (pair.q == quantity.Trim && !idle(sign)) {
				continue
			}
			if climbing && pair.q != quantity.Climb || pair.q == quantity.VehicleV && idle(sign) || pair.q == quantity.CurrentA && idle(sign) {
				continue
			}
			row := mat.NewVecDense(len(r.Shared)+len(r.Drift)+1, nil)
			for i, k := range r.Shared {
				row.SetVec(i, grad[pair.o][k])
			}
			for i, k := range r.Drift {
				row.SetVec(len(r.Shared)+i, grad[pair.o][k])
			}
			row.SetVec(row.Len()-1, grad[pair.o][predict.OpenCircuitV])
			out = append(out, candidate{Reading{Sign: sign, Held: held, Climbing: climbing, Quantity: pair.q, Expected: pt.Out[pair.o]}, row,
				deviation(&r.Model.Vehicle.Instruments, pair.q, pt.Out[pair.o])})
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

func idle(sign []int8) bool {
	for _, s := range sign {
		if s != 0 {
			return false
		}
	}
	return true
}

// restDoubt is one standard deviation of a rested battery's voltage, V.
const restDoubt = 0.3

// doubt is the covariance of the shared parameters, the drifts and the rest
// voltage before a dive.
func (r *Result) doubt(sd func(drift int) float64) *mat.SymDense {
	ns, nd := len(r.Shared), len(r.Drift)
	out := mat.NewSymDense(ns+nd+1, nil)
	for i := range ns {
		for j := i; j < ns; j++ {
			out.SetSym(i, j, r.Cov.At(i, j))
		}
	}
	for i := range nd {
		out.SetSym(ns+i, ns+i, sq(sd(i)))
	}
	out.SetSym(ns+nd, ns+nd, sq(restDoubt))
	return out
}

// gain is the sum over drifts of ln(variance before/after) of one reading.
func gain(cov *mat.SymDense, row *mat.VecDense, sd float64, ns int, open []float64) float64 {
	var cr mat.VecDense
	cr.MulVec(cov, row)
	total := sd*sd + mat.Dot(row, &cr)
	sum := 0.0
	for i, w := range open {
		sum -= w * math.Log1p(-sq(cr.AtVec(ns+i))/total/cov.At(ns+i, ns+i))
	}
	return sum
}

// take updates the covariance by one reading.
func take(cov *mat.SymDense, row *mat.VecDense, sd float64) {
	var cr mat.VecDense
	cr.MulVec(cov, row)
	cov.SymRankOne(cov, -1/(sd*sd+mat.Dot(row, &cr)), &cr)
}
