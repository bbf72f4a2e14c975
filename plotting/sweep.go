package plotting

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg/draw"
)

// Sweep draws speed and pull, in per cent of today's, over the values of a
// key.
func Sweep(vehicle, key string, x, speed, pull []float64) (*plot.Plot, error) {
	if len(x) < 2 || len(x) != len(speed) || len(x) != len(pull) {
		return nil, fmt.Errorf("a sweep of %d values, want two or more", len(x))
	}
	p := plot.New()
	p.Title.Text = "\n" + vehicle + ": what " + key + " would change"
	p.Title.TextStyle.Font.Size, p.Title.Padding = 14, 10
	p.X.Label.Text, p.Y.Label.Text = key, "% of today"
	p.Y.Tick.Marker, p.X.Tick.Marker = plot.TickerFunc(evenTicks), plot.TickerFunc(evenTicks)
	for i, s := range []struct {
		y     []float64
		words string
	}{{speed, "speed: circles"}, {pull, "pull: squares"}} {
		xy := make(plotter.XYs, len(x))
		for k := range x {
			xy[k] = plotter.XY{X: x[k], Y: s.y[k]}
		}
		line, dots, err := plotter.NewLinePoints(xy)
		if err != nil {
			return nil, err
		}
		line.Width = 1.5
		line.Color, dots.Shape = blue, draw.CircleGlyph{}
		if i == 1 {
			line.Color, dots.Shape = red, draw.BoxGlyph{}
		}
		dots.Color, dots.Radius = line.Color, 3.5
		p.Add(line, dots)
		p.Legend.Add(s.words, line, dots)
	}
	p.Legend.Top, p.Legend.TextStyle.Font.Size = true, 11
	lo, hi := p.X.Min, p.X.Max
	level(p, lo, hi, 100, grey, "today")
	span := max(p.Y.Max-p.Y.Min, 1)
	p.Y.Min, p.Y.Max = p.Y.Min-0.1*span, p.Y.Max+0.3*span
	return p, nil
}
