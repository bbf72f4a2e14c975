// Package plotting draws what a log shows. It assumes that a picture must be
// readable without a legend: every line says in words what it is, colour
// never stands alone, a sound quantity looks sound because its limit is in
// the picture, and the same log gives the same bytes.
package plotting

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict/drift"
)

// Trend draws one quantity over the dives: each dive's estimate with its
// 95 % bar, what all dives say as a band, baseline, limit, services and alarms.
func Trend(rep *drift.Report, quantity string) (*plot.Plot, error) {
	t, err := ReadTrace(rep, quantity)
	if err != nil {
		return nil, err
	}
	line, err := ReadTimeline(rep.Dives, true)
	if err != nil {
		return nil, err
	}
	p := newPlot(SafeText(rep.Vehicle, 60)+": "+t.Title, t.Says)
	if p.Y.Label.Text = t.Unit; t.Unit == "" {
		p.Y.Label.Text = "1: as in the baseline"
	}
	p.X.Tick.Marker = plot.TickerFunc(line.marker)
	p.X.Label.Text = "day of the dive; bars and band hold 95 %"
	if t.Begun != nil {
		p.X.Label.Text += "; strip below: when it began, the darker the likelier"
	}
	if len(t.Ahead) > 0 {
		p.X.Label.Text += "; dashed: ahead"
	}
	p.Add(&tracing{t, line})
	p.X.Min, p.X.Max = t.Span(line)
	p.Y.Min, p.Y.Max = t.Low, t.High
	return p, nil
}

// tracing draws a trace; what fits depends on the size, so it is decided when
// the canvas is known.
type tracing struct {
	*Trace
	line *Timeline
}

const (
	dotRadius = vg.Length(2.6) // where dives stand apart
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
	for _, b := range t.Bands {
		c.FillPolygon(band, edge(x[b.From:], b.Levels, y))
	}
	t.ahead(c, fx, y)
	t.begun(c, x)
	levels(c, t.levels(), fy)
	t.marks(c, x)
	dot, bar := max(0.8, min(dotRadius, dotRadius*vg.Length(room(x)/6))), blue
	if dot < dotRadius {
		bar = faded
	}
	for d, e := range t.Points {
		c.StrokeLine2(stroke(bar, min(1.1, dot)), vg.Length(x[d]), y(e.Low), vg.Length(x[d]), y(e.High))
	}
	for d, e := range t.Points {
		c.DrawGlyph(draw.GlyphStyle{Color: blue, Radius: dot, Shape: draw.CircleGlyph{}}, vg.Point{X: vg.Length(x[d]), Y: fy(e.Value)})
	}
}

// room is how far dives stand from each other on average.
func room(x []float64) float64 {
	if len(x) < 2 {
		return 10
	}
	return (x[len(x)-1] - x[0]) / float64(len(x)-1)
}

// edge is the outline of a band over dives at x.
func edge(x []float64, levels []drift.Estimate, y func(float64) vg.Length) []vg.Point {
	var out []vg.Point
	for i, l := range levels {
		out = append(out, vg.Point{X: vg.Length(x[i]), Y: y(l.High)})
	}
	for i, l := range slices.Backward(levels) {
		out = append(out, vg.Point{X: vg.Length(x[i]), Y: y(l.Low)})
	}
	return out
}

// ahead draws the cone from the newest dive to those that follow.
func (t *tracing) ahead(c draw.Canvas, fx, y func(float64) vg.Length) {
	if len(t.Ahead) < 2 {
		return
	}
	var x []float64
	var cone []drift.Estimate
	var middle []vg.Point
	for k, a := range t.Ahead {
		at := fx(t.line.After(k))
		x, cone = append(x, float64(at)), append(cone, a.Level)
		middle = append(middle, vg.Point{X: at, Y: y(a.Level.Value)})
	}
	outline := edge(x, cone, y)
	for _, l := range [][]vg.Point{append(outline, outline[0]), middle} {
		line := stroke(blue, 0.8)
		line.Dashes = []vg.Length{3, 2}
		c.StrokeLines(line, l)
	}
}

// begun is a strip at the foot: the darker, the likelier it began at that dive.
func (t *tracing) begun(c draw.Canvas, x []float64) {
	if t.Begun == nil {
		return
	}
	half, most := vg.Length(room(x)/2), slices.Max(t.Begun)
	for d, p := range t.Begun {
		if p > 0.01*most {
			c.FillPolygon(mix(red, ground, p/most), box(vg.Length(x[d])-half, c.Min.Y, vg.Length(x[d])+half, c.Min.Y+6))
		}
	}
}

// levels are the baseline and, where it is drawn, the limit.
func (t *tracing) levels() []level {
	out := []level{{t.Baseline, "sound\n" + Number(t.Baseline, t.Unit), grey, false}}
	limit := level{t.Limit, "limit\n" + Number(t.Limit, t.Unit), red, false}
	if !t.LimitDrawn() {
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
	xmin, xmax = t.Span(t.line)
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

// Span is the range of x to draw: the dives, and those ahead.
func (t *Trace) Span(line *Timeline) (lo, hi float64) {
	lo, hi = line.Span()
	if len(t.Ahead) > 0 {
		hi = max(hi, line.After(len(t.Ahead)-1)+(hi-line.X[len(line.X)-1]))
	}
	return lo, hi
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
