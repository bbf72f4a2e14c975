package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagline/predict"
	"sagline/session/quantity"
)

// A Gain says how much one more kind of reading, taken on every line where it
// means something, would have narrowed one drift of a dive: half the width of
// its 95 % interval without and with it, in the drift's own unit.
type Gain struct {
	Drift        int // index into Result.Drift
	Quantity     quantity.Quantity
	Before, With float64
}

// Tells finds, for a dive and a drift, the unread quantity that would narrow
// it most. The drift and every other may be faults, so that what the readings
// cannot tell apart counts. ok is false when all are read already.
func (r *Result) Tells(dive, drift int) (best Gain, ok bool) {
	d := &r.Dives[dive]
	before := r.halfWidth(&d.Summary.Quadratic, drift)
	read := map[quantity.Quantity]bool{}
	for _, c := range d.Cells {
		read[c.Quantity] = true
	}
	for _, pair := range outputs {
		if read[pair.q] {
			continue
		}
		q := r.extended(d, pair.q)
		if w := r.halfWidth(&q, drift); !ok || w < best.With {
			best, ok = Gain{drift, pair.q, before, w}, true
		}
	}
	return best, ok
}

// extended is a dive's likelihood with one more kind of reading on each of
// its electrical lines. The battery's own voltage is taken as known to the
// dive: what a reading would say of it is left out.
func (r *Result) extended(d *DiveFit, q quantity.Quantity) Quadratic {
	ns := len(r.Shared)
	info := mat.NewSymDense(ns, nil)
	info.CopySym(d.Summary.Info)
	grad := rows(quantity.Predicted, r.Model.Dim())
	var pt predict.Point
	for i := range d.d.obs {
		o := &d.d.obs[i]
		r.Model.Solve(&o.cond, d.Summary.Params, &pt, grad)
		if !pt.Known[q] || len(o.line.Drives) == 0 && q != quantity.Trim && q != quantity.LoopOhm {
			continue
		}
		if q == quantity.LoopOhm && i > 0 {
			break // measured once, before the dive
		}
		sd := deviation(&r.Model.Vehicle.Instruments, q, pt.Out[q])
		for a, p := range r.Shared {
			for b := a; b < ns; b++ {
				info.SetSym(a, b, info.At(a, b)+grad[q][p]*grad[q][r.Shared[b]]/(sd*sd))
			}
		}
	}
	return Quadratic{info, d.Summary.Lin}
}

// halfWidth is half of a drift's 95 % interval when every drift may be a
// fault.
func (r *Result) halfWidth(q *Quadratic, drift int) float64 {
	ns, nd := len(r.Shared), len(r.Drift)
	sum := newInformation(ns + nd)
	calibrated := r.prec
	for a := range ns {
		for b := a; b < ns; b++ {
			sum.info.SetSym(a, b, calibrated.At(a, b))
		}
	}
	for i := range nd {
		sum.info.SetSym(ns+i, ns+i, 1/sq(pick(wide, branchWide, i)))
	}
	addBlock(&sum, q, r.positions(), ns)
	return z95 * math.Sqrt(Invert(sum.info).At(ns+drift, ns+drift))
}
