package fit

import (
	"math"

	"sagline/predict"
	"sagline/predict/lsq"
)

// WithinSizes are the standard deviations in Ω, from line to line, that are
// tried for an intermittent contact.
var WithinSizes = [...]float64{0.05, 0.1, 0.2, 0.4}

// withinWorth is the log of the evidence above which a dive is fitted with a
// contact that comes and goes.
const withinWorth = 2

// solveWithin fits a dive with each size of contact scatter, notes its
// evidence against none, and keeps the best that is worth it.
func (f *diver) solveWithin(d *dive, sum *Summary, x []float64, none float64) ([]float64, error) {
	kept := append(f.sc.kept[:0], d.cells...)
	best := float64(withinWorth)
	sum.Within = make([]float64, len(WithinSizes))
	fresh := append(f.sc.fresh[:0], d.cells...)
	for k := range fresh {
		fresh[k].Outlier, fresh[k].weight = fresh[k].slip, 1
	}
	y := x
	for i, ohm := range WithinSizes {
		copy(d.cells, fresh)
		var log float64
		var err error
		if y, log, err = f.solve(d, y, ohm); err != nil {
			return nil, err
		}
		sum.Within[i] = log - none
		if sum.Within[i] > best {
			best, x, sum.Used = sum.Within[i], y[len(y)-len(x):], ohm
			copy(kept, d.cells)
		}
	}
	copy(d.cells, kept)
	return x, nil
}

// evidence is the log of the integral over a dive's unknowns about its fit,
// by Laplace's method, with Huber's loss and a bounded one for cells set
// aside. Constants that no choice of withinOhm changes are left out.
func (d *dive) evidence(res *lsq.Result, withinOhm float64, extra int) float64 {
	loss := res.Cost + d.robustLoss()
	out := -0.5*loss - 0.5*res.LogDet
	if extra > 0 {
		out -= float64(extra) * math.Log(withinOhm)
	}
	return out
}

// within is the log likelihood ratio, for each of WithinSizes, of a loop
// resistance that scatters from line to line against one that does not.
// Residuals are taken at the dive's fit; the loss of freedom by fitting the
// dive's mean is allowed for by integrating a free common level out.
func (d *dive) within(m *predict.Model, p predict.Params, sc *scratch) []float64 {
	keep := append(sc.cells[:0], d.cells...)
	for k := range d.cells {
		c := &d.cells[k]
		if c.weight < 1 || c.Outlier {
			c.weight = 1
			c.Outlier = c.slip
		}
	}
	d.residuals(m, p, nil, sc, true)
	copy(d.cells, keep)
	type point struct{ at, info float64 }
	var pts []point
	for start := 0; start < len(d.cells); {
		end := start
		var g, h float64
		for end < len(d.cells) && d.cells[end].obs == d.cells[start].obs {
			j := sc.jac[end][predict.LoopOhm]
			g, h = g+j*sc.r[end], h+j*j
			end++
		}
		if h > 0 {
			pts = append(pts, point{g / h, h})
		}
		start = end
	}
	like := func(ohm float64) float64 {
		var w, wx, ll float64
		for _, q := range pts {
			v := 1/q.info + ohm*ohm
			w, wx = w+1/v, wx+q.at/v
		}
		if w == 0 {
			return 0
		}
		mean := wx / w
		for _, q := range pts {
			v := 1/q.info + ohm*ohm
			ll -= 0.5 * (math.Log(v) + sq(q.at-mean)/v)
		}
		return ll - 0.5*math.Log(w)
	}
	out := make([]float64, len(WithinSizes))
	none := like(0)
	for i, s := range WithinSizes {
		out[i] = like(s) - none
	}
	return out
}
