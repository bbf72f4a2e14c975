package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/session/quantity"
)

// predictions are what the model says of each cell of a dive, kept until they
// are asked for elsewhere: a fit ends, is weighed and is expanded at one point.
type predictions struct {
	d      *dive
	p      predict.Params
	perObs []float64
	sloped bool

	want  []float64   // cells
	slope [][]float64 // cells × Dim
}

// are says whether they are those of d at p and perObs, with slopes if wanted.
func (s *predictions) are(d *dive, p predict.Params, perObs []float64, slopes bool) bool {
	return s.d == d && (s.sloped || !slopes) && slices.Equal(s.p, p) && slices.Equal(s.perObs, perObs)
}

// predict fills the scratch's predictions of d. perObs, when not empty, is each
// observation's loop resistance besides p's.
func (d *dive) predict(m *predict.Model, p predict.Params, perObs []float64, sc *scratch, slopes bool) {
	s := &sc.predicted
	if s.are(d, p, perObs, slopes) {
		return
	}
	s.d, s.sloped = d, slopes
	s.p, s.perObs = append(s.p[:0], p...), append(s.perObs[:0], perObs...)
	var grad [][]float64
	if slopes {
		grad = sc.grad
	}
	last, loop := -1, p[predict.LoopOhm]
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			if len(perObs) > 0 {
				p[predict.LoopOhm] = loop + perObs[c.obs]
			}
			m.Solve(&d.obs[c.obs].cond, p, &sc.pt, grad)
		}
		s.want[k] = c.expected(&sc.pt, p)
		if slopes {
			c.slopes(s.slope[k], &sc.pt, grad)
		}
	}
	p[predict.LoopOhm] = loop
}

// expected is what the model says of a cell at a solved point.
func (c *Cell) expected(pt *predict.Point, p predict.Params) float64 {
	if c.stream {
		return p[predict.StreamMS]
	}
	return predicted(c.Quantity, pt.Out[c.Quantity])
}

// slopes copies the derivatives of what expected says.
func (c *Cell) slopes(to []float64, pt *predict.Point, grad [][]float64) {
	if !c.stream {
		by := slope(c.Quantity, pt.Out[c.Quantity])
		for i, x := range grad[c.Quantity] {
			to[i] = by * x
		}
		return
	}
	clear(to)
	to[predict.StreamMS] = 1
}

// noiseAt is one standard deviation of a cell's instrument where its quantity
// should be at, and of what was rounded off.
func (c *Cell) noiseAt(n *noise, at float64) float64 {
	if c.stream { // a share of the speed that was timed
		return n.sd(quantity.Speed, c.Line.Readings[quantity.Speed].X)
	}
	if c.Quantity == quantity.Climb {
		at = offScale(c.Quantity, at)
	}
	return math.Hypot(n.sd(c.Quantity, at), c.rounded)
}

// residuals fills r with (measured − predicted)/sd, weighted, and with slopes
// jac (cells × Dim) with the derivatives of the prediction over sd.
func (d *dive) residuals(m *predict.Model, p predict.Params, perObs []float64, sc *scratch, slopes bool) {
	d.predict(m, p, perObs, sc, slopes)
	for k := range d.cells {
		c := &d.cells[k]
		w := math.Sqrt(c.weight) / math.Hypot(c.SD, c.inexact)
		if c.Outlier {
			w = 0
		}
		sc.r[k] = w * (c.Value - sc.predicted.want[k])
		if slopes {
			for j, x := range sc.predicted.slope[k] {
				sc.jac[k][j] = w * x
			}
		}
	}
}
