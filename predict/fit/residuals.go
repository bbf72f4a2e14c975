package fit

import (
	"math"
	"slices"

	"sagline/predict"
)

// predictions are what the model says of each cell of a dive, kept until they
// are asked for elsewhere: a fit ends, is weighed and is expanded at one point.
type predictions struct {
	d      *dive
	p      predict.Params
	own    []float64
	sloped bool

	want  []float64   // cells
	slope [][]float64 // cells × Dim
}

// are says whether they are those of d at p and own, with slopes if wanted.
func (s *predictions) are(d *dive, p predict.Params, own []float64, slopes bool) bool {
	return s.d == d && (s.sloped || !slopes) && slices.Equal(s.p, p) && slices.Equal(s.own, own)
}

// predict fills the scratch's predictions of d. own, when not empty, is each
// observation's loop resistance besides p's.
func (d *dive) predict(m *predict.Model, p predict.Params, own []float64, sc *scratch, slopes bool) {
	s := &sc.seen
	if s.are(d, p, own, slopes) {
		return
	}
	s.d, s.sloped = d, slopes
	s.p, s.own = append(s.p[:0], p...), append(s.own[:0], own...)
	var grad [][]float64
	if slopes {
		grad = sc.grad
	}
	last, loop := -1, p[predict.LoopOhm]
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			if len(own) > 0 {
				p[predict.LoopOhm] = loop + own[c.obs]
			}
			m.Solve(&d.obs[c.obs].cond, p, &sc.pt, grad)
		}
		s.want[k] = sc.pt.Out[c.Output]
		if slopes {
			copy(s.slope[k], grad[c.Output])
		}
	}
	p[predict.LoopOhm] = loop
}

// residuals fills r with (measured − predicted)/sd, weighted, and with slopes
// jac (cells × Dim) with the derivatives of the prediction over sd.
func (d *dive) residuals(m *predict.Model, p predict.Params, own []float64, sc *scratch, slopes bool) {
	d.predict(m, p, own, sc, slopes)
	for k := range d.cells {
		c := &d.cells[k]
		w := math.Sqrt(c.weight) / c.SD
		if c.Aside {
			w = 0
		}
		sc.r[k] = w * (c.Value - sc.seen.want[k])
		if slopes {
			for j, x := range sc.seen.slope[k] {
				sc.jac[k][j] = w * x
			}
		}
	}
}
