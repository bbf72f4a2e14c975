package plotting

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict/drift"
)

// Residuals draws a grid: a mark up where a dive's readings lie above a sound
// vehicle's, down where they lie below, the farther the higher.
func Residuals(rep *drift.Report, g *Grid) (*plot.Plot, error) {
	if len(g.Rows) == 0 {
		return nil, fmt.Errorf("no readings to draw")
	}
	all, far, setAside := g.Counts()
	p := newPlot(SafeText(rep.Vehicle, 60)+": measured and predicted",
		fmt.Sprintf("%d of %d readings lie more than %g standard deviations from a sound vehicle's", far, all, FarSD))
	p.Y.Label.Text = fmt.Sprintf("up: above the prediction; down: below; full height: %g standard deviations or more", mostSD)
	if setAside > 0 {
		p.Y.Label.Text += fmt.Sprintf("; crosses: %d set aside as slips", setAside)
	}
	p.X.Label.Text = "dive"
	p.X.Tick.Marker = plot.TickerFunc(func(lo, hi float64) []plot.Tick {
		ticks := wholeTicks(lo, hi, 12)
		for i := range ticks {
			ticks[i].Label = SafeText(rep.Dives[int(ticks[i].Value)].Dive, 8)
		}
		return ticks
	})
	p.Y.Tick.Marker = plot.TickerFunc(func(_, _ float64) []plot.Tick {
		var out []plot.Tick
		for i, row := range g.Rows {
			out = append(out, plot.Tick{Value: -float64(i), Label: row.Name})
		}
		return out
	})
	marks := &cells{g}
	p.Add(marks)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = marks.DataRange()
	return p, nil
}

// cells draws a grid's marks.
type cells struct{ *Grid }

// Plot implements plot.Plotter.
func (g *cells) Plot(c draw.Canvas, p *plot.Plot) {
	fx, fy := p.Transforms(&c)
	half := 0.42 * (c.Max.X - c.Min.X) / vg.Length(g.Dives)
	for i, row := range g.Rows {
		zero, room := fy(-float64(i)), (fy(0)-fy(-1))*0.46
		for d := range row.Cells {
			cell, x := &row.Cells[d], fx(float64(d))
			if cell.Readings == 0 {
				continue
			}
			c.FillPolygon(faded, box(x-half, zero-0.6, x+half, zero+0.6))
			high, tint := room*vg.Length(cell.Height()), red
			if cell.Z < 0 {
				high, tint = -high, blue
			}
			if high != 0 {
				c.FillPolygon(tint, box(x-half, zero, x+half, zero+high))
			}
			if cell.SetAside > 0 {
				c.DrawGlyph(draw.GlyphStyle{Color: ink, Radius: 3, Shape: draw.CrossGlyph{}}, vg.Point{X: x, Y: zero})
			}
		}
	}
}

// DataRange implements plot.DataRanger.
func (g *cells) DataRange() (xmin, xmax, ymin, ymax float64) {
	return -0.5, float64(g.Dives) - 0.5, 0.4 - float64(len(g.Rows)), 0.6
}
