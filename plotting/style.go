//go:build !js

package plotting

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

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
