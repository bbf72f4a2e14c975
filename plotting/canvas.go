//go:build !js

package plotting

import (
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// draw draws a picture at the top of a canvas, as large as fits and centred.
func (p *Picture) draw(c draw.Canvas) {
	scale := min((c.Max.X-c.Min.X)/vg.Length(p.Width), (c.Max.Y-c.Min.Y)/vg.Length(p.High))
	left := c.Min.X + (c.Max.X-c.Min.X-scale*vg.Length(p.Width))/2
	at := func(q Point) vg.Point {
		return vg.Point{X: left + vg.Length(q.X)*scale, Y: c.Max.Y - vg.Length(q.Y)*scale}
	}
	for _, s := range p.Shapes {
		k := strokeOf(s.Class)
		if s.Text != "" {
			text := words(k.tint)
			text.Font.Size, text.XAlign = textSize*scale, k.align
			align(c, k.align)
			c.FillText(text, at(s.At), s.Text)
			continue
		}
		style := draw.LineStyle{Color: k.tint, Width: k.width * scale}
		for _, d := range k.dashes {
			style.Dashes = append(style.Dashes, d*scale)
		}
		for _, part := range s.Path {
			points := make([]vg.Point, len(part.points))
			for i, q := range part.points {
				points[i] = at(q)
			}
			switch {
			case len(points) == 1:
				c.DrawGlyph(draw.GlyphStyle{Color: k.tint, Radius: k.width * scale / 2, Shape: draw.CircleGlyph{}}, points[0])
				continue
			case k.fill != nil:
				c.FillPolygon(k.fill, points)
			}
			if part.closed {
				points = append(points, points[0])
			}
			if k.width > 0 {
				c.StrokeLines(style, points)
			}
		}
	}
}

// align sets how the next text of an SVG is aligned. c may be a crop of the SVG's canvas.
func align(c vg.Canvas, to draw.XAlignment) {
	switch c := c.(type) {
	case draw.Canvas:
		align(c.Canvas, to)
	case *measuredSVG:
		c.align = to
	}
}

// A brush is how a shape is drawn.
type brush struct {
	tint   color.NRGBA
	fill   color.Color // nil for none
	width  vg.Length
	dashes []vg.Length
	align  draw.XAlignment
}

// strokeOf interprets a shape's classes as page.css does: a colour of the palette or of a
// part, then how it is used.
func strokeOf(class string) brush {
	b := brush{tint: ink, width: 1}
	share, full, edge := 1.0, false, ""
	for _, name := range strings.Fields(class) {
		switch name {
		case "e":
			b.align = draw.XRight
		case "m":
			b.align = draw.XCenter
		case "full":
			full = true
		case "empty":
			b.fill = ground
		case "bar", "thick", "dot", "disc":
			b.width = map[string]vg.Length{"bar": 1.3, "thick": 2, "dot": 5, "disc": 12}[name]
		case "small", "tiny":
			b.width *= map[string]vg.Length{"small": 0.6, "tiny": 0.35}[name]
		case "dashed":
			b.dashes = []vg.Length{5, 3}
		case "dotted":
			b.dashes = []vg.Length{2, 2}
		case "f3":
			share = 0.75
		case "line":
			b.tint, b.width = tint(name), 0.6
		case "band":
			b.tint, edge = tint(name), "measured"
		default:
			if b.tint = tint(name); len(name) == 2 && name[0] == 'p' {
				edge = "quiet" // some parts are as light as the ground
			}
		}
	}
	b.tint = mix(b.tint, ground, share)
	if full {
		b.fill, b.width = b.tint, 0
	}
	if edge != "" {
		b.tint, b.width = tint(edge), 0.6
	}
	return b
}

// tint returns a colour of the palette by its name. "p3" is the colour of part 3 of the budget,
// "o3" that of words on it.
func tint(name string) color.NRGBA {
	if part := int(name[len(name)-1] - '0'); len(name) == 2 && part < len(PartColours) {
		if name[0] == 'o' {
			return OnPart(part)
		}
		return PartColours[part]
	}
	return onLight(name)
}

func init() {
	plot.DefaultFont = font.Font{Typeface: "Liberation", Variant: "Sans"}
	plotter.DefaultFont = plot.DefaultFont
}

const (
	margin    = vg.Length(10) // around every picture
	leading   = 1.3           // distance of a heading's lines, in units of their words' size
	titleSize = 1.25          // size of the title relative to the other words
)

// compose draws a picture on a canvas, below a heading of the given size: its title, its words and
// its key. Lines are broken so that they still fit in a font that is wider by the factor wider.
func compose(title string, p *Picture, size, wider vg.Length, c draw.Canvas) {
	c.FillPolygon(ground, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c = draw.Crop(c, margin, -margin, margin, -margin)
	width := c.Max.X - c.Min.X
	top := c.Max.Y
	for _, line := range []struct {
		text string
		size vg.Length
		tint color.Color
	}{{title, titleSize * size, ink}, {p.Says, size, grey}, {p.Key, size, grey}} {
		s := words(line.tint)
		s.Font.Size = line.size
		for _, part := range wrap(line.text, float64(line.size), float64(width/wider)) {
			top -= line.size * leading
			c.FillText(s, vg.Point{X: c.Min.X, Y: top}, part)
		}
	}
	p.draw(draw.Crop(c, 0, 0, 0, top-c.Max.Y-8))
}

// words returns the style of words in a picture.
func words(c color.Color) draw.TextStyle {
	s := draw.TextStyle{Color: c, Font: plotter.DefaultFont, Handler: plot.DefaultTextHandler}
	s.Font.Size = 11
	return s
}
