package fit

import (
	"math"
	"runtime"
	"slices"

	"sagline/predict"
	"sagline/predict/instrument"
	"sagline/predict/lsq"
	"sagline/predict/normal"
	"sagline/session/quantity"
)

// predictions are what the model says of each cell of a dive. They are cached, since a fit ends, is
// weighed and is expanded at one point.
type predictions struct {
	d      *dive
	m      *predict.Model
	p      predict.Params
	byLine perLine
	sloped bool

	want  []float64   // cells
	slope [][]float64 // cells × Dim
}

// A lineScatter is a parameter that has its own value on each line of a dive, with standard
// deviation sd about the dive's.
type lineScatter struct {
	param int
	sd    float64
}

// perLine holds the departures x of the parameters of on each line from the dive's values, line by
// line.
type perLine struct {
	of []lineScatter
	x  []float64 // observations × len(of)
}

func (l *perLine) add(p predict.Params, obs int, sign float64) {
	for j, s := range l.of {
		p[s.param] += sign * l.x[obs*len(l.of)+j]
	}
}

// are reports whether the predictions are those of d under m at p and byLine, with slopes if wanted.
func (s *predictions) are(d *dive, m *predict.Model, p predict.Params, byLine perLine, slopes bool) bool {
	return s.d == d && s.m == m && (s.sloped || !slopes) && slices.Equal(s.p, p) && slices.Equal(s.byLine.of, byLine.of) && slices.Equal(s.byLine.x, byLine.x)
}

// predict fills the scratch's predictions of d.
func (d *dive) predict(m *predict.Model, p predict.Params, byLine perLine, sc *scratch, slopes bool) {
	s := &sc.predicted
	if s.are(d, m, p, byLine, slopes) {
		return
	}
	s.d, s.m, s.sloped = d, m, slopes
	s.p, s.byLine = append(s.p[:0], p...), perLine{append(s.byLine.of[:0], byLine.of...), append(s.byLine.x[:0], byLine.x...)}
	var grad [][]float64
	if slopes {
		grad = sc.grad
	}
	last := -1
	for k := range d.cells {
		c := &d.cells[k]
		if c.obs != last {
			last = c.obs
			byLine.add(p, c.obs, 1)
			m.Solve(&d.obs[c.obs].Cond, p, &sc.pt, grad)
			byLine.add(p, c.obs, -1)
		}
		s.want[k] = c.expected(&sc.pt, p)
		if slopes {
			c.slopes(s.slope[k], &sc.pt, grad)
		}
	}
}

// expected is the cell's prediction at a solved point.
func (c *Cell) expected(pt *predict.Point, p predict.Params) float64 {
	if c.stream {
		return p[predict.StreamMS]
	}
	return instrument.Predicted(c.Quantity, pt.Out[c.Quantity])
}

// slopes copies the derivatives of the cell's prediction.
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

// noiseAt is one standard deviation of a cell's instrument, where its prediction is at, and of its
// rounding.
func (c *Cell) noiseAt(n *instrument.Noise, at float64) float64 {
	if c.stream { // noise in proportion to the timed speed
		return c.times() * n.SD(quantity.Speed, c.Line.Readings[quantity.Speed].X)
	}
	if c.Quantity == quantity.Climb {
		at = instrument.OffScale(c.Quantity, at)
	}
	return math.Hypot(c.times()*n.SD(c.Quantity, at), c.rounded)
}

// times is the factor on the noise of the cell's instrument.
func (c *Cell) times() float64 {
	if c.noisier == 0 {
		return 1
	}
	return c.noisier
}

// residuals fills sc.r with (measured − predicted)/sd, times the root of the weight, sc.per with
// the factor that turns differences into these, and with slopes sc.jac (cells × Dim) with per times
// the derivatives of the prediction.
func (d *dive) residuals(m *predict.Model, p predict.Params, byLine perLine, sc *scratch, slopes bool) {
	d.apartFrom(m, p, byLine, sc, slopes)
	for k := range d.cells {
		if w := sc.per[k]; slopes {
			for j, x := range sc.predicted.slope[k] {
				sc.jac[k][j] = w * x
			}
		}
	}
}

// apartFrom is residuals without jac; with slopes it leaves them in sc.predicted.
func (d *dive) apartFrom(m *predict.Model, p predict.Params, byLine perLine, sc *scratch, slopes bool) {
	d.predict(m, p, byLine, sc, slopes)
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

// scratch is storage reused by successive fits of one vehicle's dives.
type scratch struct {
	grad      [][]float64 // quantity.Count × Dim, of one observation
	jac       [][]float64 // cells × Dim
	sound     [][]float64 // jac of a sound vehicle
	r, per    []float64   // cells
	pt        predict.Point
	params    predict.Params
	predicted predictions
	solver    lsq.Solver
	line      lineRows

	cells, fresh []Cell // before something is tried
	best         []Cell // of the best fit so far
}

// newScratch allocates for dives of up to cells cells and vehicles of dim parameters.
func newScratch(dim, cells int) *scratch {
	return &scratch{
		grad: normal.Rows(int(quantity.Count), dim), jac: normal.Rows(cells, dim), sound: normal.Rows(cells, dim), r: make([]float64, cells), per: make([]float64, cells),
		predicted: predictions{want: make([]float64, cells), slope: normal.Rows(cells, dim)},
		params:    make(predict.Params, dim),
		cells:     make([]Cell, 0, cells), best: make([]Cell, 0, cells), fresh: make([]Cell, 0, cells),
	}
}

func mostCells(dives []dive) int {
	most := 0
	for i := range dives {
		most = max(most, len(dives[i].cells))
	}
	return most
}

// A worker has one model for each era and a scratch of its own.
type worker struct {
	models []*predict.Model
	sc     *scratch
}

// newWorkers returns a worker for each core, but no more than dives and at least one. The first
// uses the given models, the others copies.
func newWorkers(models []*predict.Model, dives []dive) []worker {
	cells, dim := mostCells(dives), models[0].Dim()
	out := []worker{{models, newScratch(dim, cells)}}
	for len(out) < min(runtime.GOMAXPROCS(0), len(dives)) {
		w := worker{sc: newScratch(dim, cells)}
		for _, m := range models {
			w.models = append(w.models, predict.NewModel(m.Vehicle))
		}
		out = append(out, w)
	}
	return out
}
