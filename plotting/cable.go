package plotting

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Cable draws a tether's shape from the operator (at the surface, 0) to the
// vehicle: x along the current, depth down, both in unit. Where the vehicle
// cannot hold there, cannot says so, the line is broken and the vehicle a cross.
func Cable(title, cannot, unit string, x, z []float64) (*plot.Plot, error) {
	if len(x) < 2 || len(x) != len(z) {
		return nil, fmt.Errorf("a cable of %d points, want two or more", len(x))
	}
	p := newPlot(SafeText(title, 100), cannot)
	p.X.Label.Text, p.Y.Label.Text = unit+" downstream of the operator; the current runs to the right", unit+" of depth"
	xy := make(plotter.XYs, len(x))
	for i := range x {
		xy[i] = plotter.XY{X: x[i], Y: -z[i]}
	}
	line, err := plotter.NewLine(xy)
	if err != nil {
		return nil, err
	}
	line.Color, line.Width = blue, 2
	ends, err := plotter.NewScatter(plotter.XYs{xy[0], xy[len(xy)-1]})
	if err != nil {
		return nil, err
	}
	names := []string{"operator", "vehicle"}
	ends.GlyphStyleFunc = func(int) draw.GlyphStyle { return draw.GlyphStyle{Shape: draw.BoxGlyph{}, Radius: 5, Color: ink} }
	if cannot != "" {
		names[1] = "vehicle: cannot hold here"
		line.Color, line.Dashes = red, []vg.Length{6, 4}
		ends.GlyphStyleFunc = func(i int) draw.GlyphStyle {
			if i == 0 {
				return draw.GlyphStyle{Shape: draw.BoxGlyph{}, Radius: 5, Color: ink}
			}
			return draw.GlyphStyle{Shape: draw.CrossGlyph{}, Radius: 7, Color: red}
		}
	}
	p.Add(line, ends)
	trueScale(p)
	p.Y.Tick.Marker = plot.TickerFunc(depthTicks)
	p.Add(across{{0, "surface", grey, false}})
	for i, name := range names {
		end := xy[i*(len(xy)-1)]
		l, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{end}, Labels: []string{name}})
		if err != nil {
			return nil, err
		}
		l.TextStyle[0], l.Offset = words(ink), vg.Point{X: 8, Y: vg.Length(6 - 20*i)}
		p.Add(l)
	}
	return p, nil
}

// trueScale gives both axes one scale, so that shapes are true: the picture is
// twice as wide as high.
func trueScale(p *plot.Plot) {
	wide, high := p.X.Max-p.X.Min, p.Y.Max-p.Y.Min
	span := 1.25 * max(wide, 2*high)
	mid, low := (p.X.Min+p.X.Max)/2, (p.Y.Min+p.Y.Max)/2
	p.X.Min, p.X.Max = mid-span/2, mid+span/2
	p.Y.Min, p.Y.Max = low-span/4, low+span/4
}

// depthTicks are evenTicks with depth counted down.
func depthTicks(lo, hi float64) []plot.Tick {
	ticks := evenTicks(-hi, -lo)
	for i := range ticks {
		ticks[i].Value = -ticks[i].Value
	}
	return ticks
}
