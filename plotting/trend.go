// Package plotting draws what a log shows. It believes that a picture must be
// readable without a legend: every line says in words what it is, colour
// never stands alone, a sound quantity looks sound because its limit is in
// the picture, and the same log gives the same bytes.
package plotting

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict/drift"
)

// Trend draws one quantity over the dives: each dive's own estimate with its
// 95 % bar, what is believed as a band, baseline, limit, services and alarms.
func Trend(rep *drift.Report, quantity string) (*plot.Plot, error) {
	t, err := ReadTrace(rep, quantity)
	if err != nil {
		return nil, err
	}
	line, err := ReadTimeline(rep.Dives, true)
	if err != nil {
		return nil, err
	}
	p := newPlot(Shown(rep.Vehicle, 60)+": "+t.Title, t.Says)
	if p.Y.Label.Text = t.Unit; t.Unit == "" {
		p.Y.Label.Text = "1: as in the baseline"
	}
	p.X.Tick.Marker = plot.TickerFunc(line.marker)
	p.X.Label.Text = "day of the dive; bars and band hold 95 %"
	if len(t.Points) > manyDives {
		p.X.Label.Text += "; where dives and marks crowd, some stand for their neighbours"
	}
	p.Add(&tracing{t, line})
	p.X.Min, p.X.Max = line.Span()
	p.Y.Min, p.Y.Max = t.Low, t.High
	return p, nil
}

// tracing draws a trace; what fits depends on the size, so it is decided when
// the canvas is known.
type tracing struct {
	*Trace
	line *Timeline
}

// manyDives are so many that a picture may not show each.
const manyDives = 60

const (
	dotRadius = vg.Length(2.6)
	rowHigh   = vg.Length(14)
	markRows  = 3
)

// Plot implements plot.Plotter.
func (t *tracing) Plot(c draw.Canvas, p *plot.Plot) {
	fx, fy := p.Transforms(&c)
	y := func(v float64) vg.Length { return fy(t.Clip(v)) }
	x := make([]float64, len(t.line.X))
	for i := range x {
		x[i] = float64(fx(t.line.X[i]))
	}
	t.band(c, x, y)
	levels(c, t.levels(), fy)
	t.marks(c, x)
	for _, d := range Thin(x, t.Points, float64(2.4*dotRadius)) {
		e, at := t.Points[d.Dive], vg.Length(x[d.Dive])
		if d.Bar {
			c.StrokeLine2(stroke(blue, 1.1), at, y(e.Low), at, y(e.High))
		}
		c.DrawGlyph(draw.GlyphStyle{Color: blue, Radius: dotRadius, Shape: draw.CircleGlyph{}}, vg.Point{X: at, Y: fy(e.Value)})
	}
}

func (t *tracing) band(c draw.Canvas, x []float64, y func(float64) vg.Length) {
	if t.Levels == nil || len(x)-t.From < 2 {
		return
	}
	var edge []vg.Point
	for i := t.From; i < len(x); i++ {
		edge = append(edge, vg.Point{X: vg.Length(x[i]), Y: y(t.Levels[i].High)})
	}
	for i := len(x) - 1; i >= t.From; i-- {
		edge = append(edge, vg.Point{X: vg.Length(x[i]), Y: y(t.Levels[i].Low)})
	}
	c.FillPolygon(band, edge)
}

// levels are the baseline and, where it is drawn, the limit.
func (t *tracing) levels() []level {
	out := []level{{t.Baseline, "sound\n" + Number(t.Baseline, t.Unit), grey, false}}
	limit := level{t.Limit, "limit\n" + Number(t.Limit, t.Unit), red, false}
	if !t.LimitShown() {
		limit.words += "\n(far off)"
		limit.y = t.Clip(t.Limit)
		limit.off = true
	}
	return append(out, limit)
}

// marks draws alarms as triangles and services as diamonds above the points,
// with their words where there is room.
func (t *tracing) marks(c draw.Canvas, x []float64) {
	labels := make([]Label, len(t.Marks))
	for i, m := range t.Marks {
		labels[i] = Label{X: x[m.Dive], Wide: t.wide(m.Words), Short: t.wide(m.Short)}
	}
	for i, at := range PlaceLabels(labels, float64(c.Min.X), float64(c.Max.X+levelsWide(t.levels())), markRows) {
		if at.Crowded {
			continue
		}
		m, tint, shape := t.Marks[i], green, draw.GlyphDrawer(diamond{})
		if m.Alarm {
			tint, shape = red, draw.PyramidGlyph{}
		}
		px, base := vg.Length(labels[i].X), c.Max.Y+rowHigh*vg.Length(max(at.Row, 0))
		line := stroke(tint, 0.9)
		line.Dashes = []vg.Length{2, 2}
		c.StrokeLine2(line, px, c.Min.Y, px, base+rowHigh/2)
		// above the data area, where the canvas itself would draw no glyph
		shape.DrawGlyph(&c, draw.GlyphStyle{Color: tint, Radius: 4, Shape: shape}, vg.Point{X: px, Y: base + rowHigh/2})
		if at.Row >= 0 {
			c.FillText(words(tint), vg.Point{X: vg.Length(at.Left) + 7, Y: base + 3.5}, m.Fitting(at))
		}
	}
}

// wide is the width of a mark's words with room beside them.
func (*tracing) wide(s string) float64 { return float64(words(ink).Width(s) + 14) }

// DataRange implements plot.DataRanger.
func (t *tracing) DataRange() (xmin, xmax, ymin, ymax float64) {
	xmin, xmax = t.line.Span()
	return xmin, xmax, t.Low, t.High
}

// GlyphBoxes keeps room for the words right of the points and above them.
func (t *tracing) GlyphBoxes(*plot.Plot) []plot.GlyphBox {
	out := levelBoxes(t.levels())
	if len(t.Marks) > 0 {
		out = append(out, plot.GlyphBox{X: 0.5, Y: 1, Rectangle: vg.Rectangle{Max: vg.Point{Y: rowHigh * vg.Length(min(len(t.Marks), markRows))}}})
	}
	return out
}

func stroke(c color.Color, wide vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: wide}
}

func box(x0, y0, x1, y1 vg.Length) []vg.Point {
	return []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// words is the style of the words beside lines and marks.
func words(c color.Color) draw.TextStyle {
	s := draw.TextStyle{Color: c, Font: plotter.DefaultFont, Handler: plot.DefaultTextHandler}
	s.Font.Size = 11
	return s
}

// diamond is the glyph of a service.
type diamond struct{}

// DrawGlyph implements draw.GlyphDrawer.
func (diamond) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	r := s.Radius * 1.2
	c.FillPolygon(s.Color, []vg.Point{{X: at.X - r, Y: at.Y}, {X: at.X, Y: at.Y + r}, {X: at.X + r, Y: at.Y}, {X: at.X, Y: at.Y - r}})
}
