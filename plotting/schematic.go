package plotting

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Schematic draws a vehicle with each part filled by how far it has gone to its
// limit, and hatched over what its 95 % range leaves open.
func Schematic(name string, d *Drawing) *plot.Plot {
	p := newPlot(SafeText(name, 60)+": how far each part has gone to its limit",
		"filled: the share of the way; hatched: its 95 % range; ?: these readings cannot tell; ▲: found")
	p.HideAxes()
	p.Add(schematic{d})
	return p
}

// schematic draws parts and wires.
type schematic struct{ *Drawing }

// drawingWide is the width that places in a Drawing are in.
const drawingWide = 320.0

// Plot implements plot.Plotter.
func (s schematic) Plot(c draw.Canvas, _ *plot.Plot) {
	scale := min((c.Max.X-c.Min.X)/drawingWide, (c.Max.Y-c.Min.Y)/vg.Length(s.High))
	left := c.Min.X + (c.Max.X-c.Min.X-scale*drawingWide)/2
	at := func(x, y float64) vg.Point {
		return vg.Point{X: left + vg.Length(x)*scale, Y: c.Max.Y - vg.Length(y)*scale}
	}
	rect := func(x0, y0, x1, y1 float64) []vg.Point {
		a, b := at(x0, y0), at(x1, y1)
		return append(box(a.X, a.Y, b.X, b.Y), a)
	}
	c.StrokeLines(stroke(grey, 0.8), rect(2, s.Frame, drawingWide-2, s.High-2))
	for _, w := range s.Wires {
		for i := 2; i < len(w); i += 2 {
			a, b := at(w[i-2], w[i-1]), at(w[i], w[i+1])
			c.StrokeLine2(stroke(ink, 2), a.X, a.Y, b.X, b.Y)
		}
	}
	text := words(ink)
	text.Font.Size = max(9, min(12*scale, 20))
	for i := range s.Parts {
		p := &s.Parts[i]
		tint := color.Color(blue)
		if text.Color = ink; p.Found {
			tint, text.Color = red, red
		}
		to, from, until := p.Fill()
		c.FillPolygon(ground, rect(p.X, p.Y, p.X+p.Wide, p.Y+p.High))
		if to > 0 {
			c.FillPolygon(tint, rect(p.X, p.Y, p.X+to*p.Wide, p.Y+p.High))
		}
		if until > from {
			for _, l := range Hatch(p.X+from*p.Wide, p.Y, p.X+until*p.Wide, p.Y+p.High) {
				a, b := at(l[0], l[1]), at(l[2], l[3])
				c.StrokeLine2(stroke(tint, 0.8), a.X, a.Y, b.X, b.Y)
			}
		}
		c.StrokeLines(stroke(ink, 0.8), rect(p.X, p.Y, p.X+p.Wide, p.Y+p.High))
		c.FillText(text, at(p.LabelX, p.LabelY), p.Label)
	}
	for _, x := range s.Joints {
		c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: 4, Shape: diamond{}}, at(x, tetherY))
	}
	text.Color = red
	for i, n := range s.Notes {
		c.FillText(text, at(60, s.Frame-6-16*float64(len(s.Notes)-1-i)), "▲ "+n)
	}
}

// Hatch are slanting lines within a box, each x, y to x, y.
func Hatch(x0, y0, x1, y1 float64) [][4]float64 {
	const gap = 4.0
	var out [][4]float64
	high := y1 - y0
	for x := x0 + gap - high; x < x1; x += gap {
		from, to := max(x, x0), min(x+high, x1)
		out = append(out, [4]float64{from, y1 - (from - x), to, y1 - (to - x)})
	}
	return out
}
