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
	p := newPlot(SafeText(vehicle, 60)+": what "+SafeText(key, 60)+" would change", "")
	p.X.Label.Text, p.Y.Label.Text = SafeText(key, 60), "% of today"
	var ends across
	for i, s := range []struct {
		y     []float64
		words string
	}{{speed, "speed"}, {pull, "pull"}} {
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
		ends = append(ends, level{s.y[len(x)-1], s.words, line.Color, true})
	}
	p.Add(append(ends, level{100, "today", grey, false}))
	span := max(p.Y.Max-p.Y.Min, 1)
	p.Y.Min, p.Y.Max = p.Y.Min-0.1*span, p.Y.Max+0.3*span
	return p, nil
}
