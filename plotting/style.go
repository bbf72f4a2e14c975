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

func init() {
	plot.DefaultFont = font.Font{Typeface: "Liberation", Variant: "Sans"}
	plotter.DefaultFont = plot.DefaultFont
}

// newPlot is a plot in the house's style. Its title's first line is title,
// the second says what is seen; Size draws them, and the y axis's label, left
// aligned above the picture.
func newPlot(title, says string) *plot.Plot {
	p := plot.New()
	p.Title.Text = title + "\n" + says
	p.BackgroundColor = ground
	p.X.Tick.Marker, p.Y.Tick.Marker = plot.TickerFunc(evenTicks), plot.TickerFunc(evenTicks)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = 11, 11
		a.Label.TextStyle.Color, a.Tick.Label.Color, a.Color, a.Tick.Color = grey, grey, grey, grey
		a.Width, a.Tick.Width, a.Tick.Length = 0.6, 0.6, 4
	}
	p.X.Label.Padding = 4
	grid := plotter.NewGrid()
	grid.Vertical.Color = nil
	grid.Horizontal.Color, grid.Horizontal.Width = rule, 0.5
	p.Add(grid)
	return p
}

// margin is left clear around every picture.
const margin = vg.Length(10)

// compose draws a plot with its heading on a canvas.
func compose(p *plot.Plot, c draw.Canvas) {
	title, unit, along := p.Title.Text, p.Y.Label.Text, p.X.Label.Text
	defer func() { p.Title.Text, p.Y.Label.Text, p.X.Label.Text = title, unit, along }()
	c.FillPolygon(p.BackgroundColor, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
	c = draw.Crop(c, margin, -margin, margin, -margin)
	wide := c.Max.X - c.Min.X
	name, says, _ := strings.Cut(title, "\n")
	top := c.Max.Y
	for _, line := range []struct {
		text string
		size vg.Length
		tint color.Color
	}{{name, 16, ink}, {says, 12, grey}, {unit, 11, grey}} {
		s := words(line.tint)
		s.Font.Size = line.size
		for _, part := range wrap(s, line.text, wide) {
			top -= line.size * 1.3
			c.FillText(s, vg.Point{X: c.Min.X, Y: top}, part)
		}
	}
	p.Title.Text, p.Y.Label.Text = "", ""
	p.X.Label.Text = strings.Join(wrap(p.X.Label.TextStyle, along, wide), "\n")
	p.Draw(draw.Crop(c, 0, 0, 0, top-c.Max.Y-4))
}

// wrap cuts text into lines no wider than wide where words allow.
func wrap(s draw.TextStyle, text string, wide vg.Length) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		if longer := line + " " + word; line != "" && s.Width(longer) > wide {
			out = append(out, line)
			line = word
		} else {
			line = strings.TrimSpace(longer)
		}
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// TextWidth is how wide words are in the pictures' font, in the unit of size.
func TextWidth(text string, size float64) float64 {
	s := words(ink)
	s.Font.Size = vg.Length(size)
	return float64(s.Width(text))
}

func stroke(c color.Color, wide vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: wide}
}

// words is the style of the words beside lines and marks.
func words(c color.Color) draw.TextStyle {
	s := draw.TextStyle{Color: c, Font: plotter.DefaultFont, Handler: plot.DefaultTextHandler}
	s.Font.Size = 11
	return s
}
