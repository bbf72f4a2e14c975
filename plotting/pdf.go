package plotting

import (
	"image"
	"image/color"
	"io"
	"math"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// pdfCanvas draws a plot into a PDF page. Unlike gonum's it writes Unicode,
// Ω and any vehicle's name among it, and only the letters it uses.
type pdfCanvas struct {
	doc        *fpdf.Fpdf
	wide, high vg.Length
	now        pen
	kept       []pen
}

// pen is the state that Push keeps: an affine map to the page, in points from
// its lower left, and the line's look.
type pen struct {
	xx, xy, yx, yy, x0, y0 float64
	width                  vg.Length
	dashes                 []float64
	phase                  float64
	tint                   color.Color
}

// epoch stands in every PDF as the day it was made, so that the same log
// gives the same bytes.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

func newPDF(wide, high vg.Length) *pdfCanvas {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: wide.Points(), Ht: high.Points()}})
	doc.SetCreationDate(epoch)
	doc.SetModificationDate(epoch)
	doc.SetCatalogSort(true)
	doc.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddPage()
	return &pdfCanvas{doc: doc, wide: wide, high: high, now: pen{xx: 1, yy: 1, width: 1, tint: color.Black}}
}

// WriteTo writes the page, once.
func (c *pdfCanvas) WriteTo(w io.Writer) (int64, error) { return 0, c.doc.Output(w) }

// Size implements vg.CanvasSizer.
func (c *pdfCanvas) Size() (x, y vg.Length) { return c.wide, c.high }

// SetLineWidth implements vg.Canvas.
func (c *pdfCanvas) SetLineWidth(w vg.Length) { c.now.width = w }

// SetLineDash implements vg.Canvas.
func (c *pdfCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.now.dashes, c.now.phase = nil, offset.Points()
	for _, p := range pattern {
		c.now.dashes = append(c.now.dashes, p.Points())
	}
}

// SetColor implements vg.Canvas.
func (c *pdfCanvas) SetColor(tint color.Color) {
	if tint == nil {
		tint = color.Black
	}
	c.now.tint = tint
}

// Rotate implements vg.Canvas.
func (c *pdfCanvas) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	n := &c.now
	n.xx, n.xy, n.yx, n.yy = n.xx*cos+n.xy*sin, n.xy*cos-n.xx*sin, n.yx*cos+n.yy*sin, n.yy*cos-n.yx*sin
}

// Translate implements vg.Canvas.
func (c *pdfCanvas) Translate(pt vg.Point) {
	n := &c.now
	n.x0, n.y0 = n.x0+n.xx*pt.X.Points()+n.xy*pt.Y.Points(), n.y0+n.yx*pt.X.Points()+n.yy*pt.Y.Points()
}

// Scale implements vg.Canvas.
func (c *pdfCanvas) Scale(x, y float64) {
	n := &c.now
	n.xx, n.yx, n.xy, n.yy = n.xx*x, n.yx*x, n.xy*y, n.yy*y
}

// Push implements vg.Canvas.
func (c *pdfCanvas) Push() { c.kept = append(c.kept, c.now) }

// Pop implements vg.Canvas.
func (c *pdfCanvas) Pop() { c.now, c.kept = c.kept[len(c.kept)-1], c.kept[:len(c.kept)-1] }

// Stroke implements vg.Canvas.
func (c *pdfCanvas) Stroke(p vg.Path) {
	if c.now.width <= 0 {
		return
	}
	r, g, b := c.rgb()
	c.doc.SetDrawColor(r, g, b)
	c.doc.SetLineWidth(c.now.width.Points() * math.Hypot(c.now.xx, c.now.yx))
	c.doc.SetDashPattern(c.now.dashes, c.now.phase)
	c.path(p)
	c.doc.DrawPath("D")
}

// Fill implements vg.Canvas.
func (c *pdfCanvas) Fill(p vg.Path) {
	c.doc.SetFillColor(c.rgb())
	c.path(p)
	c.doc.DrawPath("F")
}

// FillString implements vg.Canvas.
func (c *pdfCanvas) FillString(f font.Face, at vg.Point, s string) {
	x, y := c.page(at)
	c.doc.SetTextColor(c.rgb())
	c.doc.SetFont("sans", "", f.Font.Size.Points())
	c.doc.TransformBegin()
	c.doc.TransformRotate(math.Atan2(c.now.yx, c.now.xx)*180/math.Pi, x, y)
	c.doc.Text(x, y, s)
	c.doc.TransformEnd()
}

// DrawImage implements vg.Canvas; the house's pictures hold no images.
func (c *pdfCanvas) DrawImage(vg.Rectangle, image.Image) {}

func (c *pdfCanvas) rgb() (r, g, b int) {
	n := color.NRGBAModel.Convert(c.now.tint).(color.NRGBA)
	c.doc.SetAlpha(float64(n.A)/255, "Normal")
	return int(n.R), int(n.G), int(n.B)
}

// page is a point of the drawing on the page, from its upper left.
func (c *pdfCanvas) page(p vg.Point) (x, y float64) {
	n, px, py := &c.now, p.X.Points(), p.Y.Points()
	return n.x0 + n.xx*px + n.xy*py, c.high.Points() - (n.y0 + n.yx*px + n.yy*py)
}

func (c *pdfCanvas) path(p vg.Path) {
	started := false
	for _, part := range p {
		x, y := c.page(part.Pos)
		switch part.Type {
		case vg.MoveComp:
			c.doc.MoveTo(x, y)
		case vg.LineComp:
			c.doc.LineTo(x, y)
		case vg.ArcComp:
			c.arc(part, started)
		case vg.CurveComp:
			c.curve(part, x, y)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
		started = true
	}
}

func (c *pdfCanvas) curve(part vg.PathComp, x, y float64) {
	x1, y1 := c.page(part.Control[0])
	if len(part.Control) == 1 {
		c.doc.CurveTo(x1, y1, x, y)
		return
	}
	x2, y2 := c.page(part.Control[1])
	c.doc.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
}

// arc draws a circle's arc as cubic curves of a quarter or less: control
// points at 4/3·tan(a/4) radii along the tangents.
func (c *pdfCanvas) arc(a vg.PathComp, started bool) {
	pieces := max(1, int(math.Ceil(math.Abs(a.Angle)/(math.Pi/2)-1e-9)))
	step := a.Angle / float64(pieces)
	k := 4.0 / 3 * math.Tan(step/4)
	on := func(angle, along float64) (x, y float64) {
		sin, cos := math.Sincos(angle)
		return c.page(vg.Point{X: a.Pos.X + a.Radius*vg.Length(cos-along*sin), Y: a.Pos.Y + a.Radius*vg.Length(sin+along*cos)})
	}
	if x, y := on(a.Start, 0); started {
		c.doc.LineTo(x, y)
	} else {
		c.doc.MoveTo(x, y)
	}
	for i := range pieces {
		from := a.Start + step*float64(i)
		x1, y1 := on(from, k)
		x2, y2 := on(from+step, -k)
		x, y := on(from+step, 0)
		c.doc.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
	}
}
