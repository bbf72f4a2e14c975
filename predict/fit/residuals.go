package fit

import (
	"math"
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/session/quantity"
)

// predictions are what the model says of each cell of a dive, kept until they
// are asked for elsewhere: a fit ends, is weighed and is expanded at one point.
type predictions struct {
	d      *dive
	m      *predict.Model
	p      predict.Params
	own    perLine
	sloped bool

	want  []float64   // cells
	slope [][]float64 // cells × Dim
}

// A lineScatter is a parameter that has a value of its own on each line of a dive, within a standard
// deviation of the dive's.
type lineScatter struct {
	param int
	sd    float64
}

// perLine is what observations have besides a dive's parameters: x of each of some, observation by
// observation.
type perLine struct {
	of []lineScatter
	x  []float64 // observations × len(of)
}

func (l *perLine) add(p predict.Params, obs int, sign float64) {
	for j, s := range l.of {
		p[s.param] += sign * l.x[obs*len(l.of)+j]
	}
}

// are says whether they are those of d under m at p and own, with slopes if wanted.
func (s *predictions) are(d *dive, m *predict.Model, p predict.Params, own perLine, slopes bool) bool {
	return s.d == d && s.m == m && (s.sloped || !slopes) && slices.Equal(s.p, p) && slices.Equal(s.own.of, own.of) && slices.Equal(s.own.x, own.x)
}

// predict fills the scratch's predictions of d.
func (d *dive) predict(m *predict.Model, p predict.Params, own perLine, sc *scratch, slopes bool) {
	s := &sc.predicted
	if s.are(d, m, p, own, slopes) {
		return
	}
	s.d, s.m, s.sloped = d, m, slopes
	s.p, s.own = append(s.p[:0], p...), perLine{append(s.own.of[:0], own.of...), append(s.own.x[:0], own.x...)}
	var grad [][]float64
	if slopes {
		grad = sc.grad
	}
	last := -1
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			own.add(p, c.obs, 1)
			m.Solve(&d.obs[c.obs].Cond, p, &sc.pt, grad)
			own.add(p, c.obs, -1)
		}
		s.want[k] = c.expected(&sc.pt, p)
		if slopes {
			c.slopes(s.slope[k], &sc.pt, grad)
		}
	}
}

// expected is what the model says of a cell at a solved point.
func (c *Cell) expected(pt *predict.Point, p predict.Params) float64 {
	if c.stream {
		return p[predict.StreamMS]
	}
	return instrument.Predicted(c.Quantity, pt.Out[c.Quantity])
}

// slopes copies the derivatives of what expected says.
func (c *Cell) slopes(to []float64, pt *predict.Point, grad [][]float64) {
	if !c.stream {
		by := instrument.Slope(c.Quantity, pt.Out[c.Quantity])
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
func (c *Cell) noiseAt(n *instrument.Noise, at float64) float64 {
	if c.stream { // a share of the speed that was timed
		return c.times() * n.SD(quantity.Speed, c.Line.Readings[quantity.Speed].X)
	}
	if c.Quantity == quantity.Climb {
		at = instrument.OffScale(c.Quantity, at)
	}
	return math.Hypot(c.times()*n.SD(c.Quantity, at), c.rounded)
}

// times is how many times its instrument's noise a cell has.
func (c *Cell) times() float64 {
	if c.noisier == 0 {
		return 1
	}
	return c.noisier
}

// residuals fills r with (measured − predicted)/sd, weighted, per with what that is multiplied by, and with
// slopes jac (cells × Dim) with the derivatives of the prediction over sd.
func (d *dive) residuals(m *predict.Model, p predict.Params, own perLine, sc *scratch, slopes bool) {
	d.apartFrom(m, p, own, sc, slopes)
	for k := range d.cells {
		if w := sc.per[k]; slopes {
			for j, x := range sc.predicted.slope[k] {
				sc.jac[k][j] = w * x
			}
		}
	}
}

// apartFrom is residuals without jac: predicted has the slopes.
func (d *dive) apartFrom(m *predict.Model, p predict.Params, own perLine, sc *scratch, slopes bool) {
	d.predict(m, p, own, sc, slopes)
	for k := range d.cells {
		c := &d.cells[k]
		w := math.Sqrt(c.weight) / math.Hypot(c.SD, c.inexact)
		if c.Outlier {
			w = 0
		}
		if d.leftOut {
			w *= ofLeftOut
		}
		sc.per[k] = w
		sc.r[k] = w * (c.Value - sc.predicted.want[k])
	}
}

func sq(x float64) float64 { return x * x }
