package plotting

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
)

// A Share is one bar of the loss budget: what each part of one combination
// takes, W, in the order of BudgetParts.
type Share struct {
	Name  string
	Watts [7]float64
}

// BudgetParts are where the watts go.
var BudgetParts = [7]string{"battery", "tether", "joints", "branches", "windings", "propellers", "lights"}

// Budget draws a bar for each combination of thrusters, split by where the
// watts go; the parts are told by shade and by their place in the legend, top
// to bottom as in the bars.
func Budget(vehicle string, shares []Share) (*plot.Plot, error) {
	if len(shares) == 0 {
		return nil, fmt.Errorf("no combinations to draw")
	}
	p := plot.New()
	p.Title.Text = "\n" + vehicle + ": where the watts go"
	p.Title.TextStyle.Font.Size, p.Title.Padding = 14, 10
	p.Y.Label.Text = "W"
	p.Y.Tick.Marker = plot.TickerFunc(evenTicks)
	shades := []color.Color{color.NRGBA{110, 110, 110, 255}, color.NRGBA{213, 94, 0, 255}, color.NRGBA{240, 160, 90, 255},
		color.NRGBA{240, 228, 66, 255}, color.NRGBA{86, 180, 233, 255}, color.NRGBA{0, 114, 178, 255}, color.NRGBA{204, 121, 167, 255}}
	var below *plotter.BarChart
	names := make([]string, len(shares))
	charts := make([]*plotter.BarChart, 0, len(BudgetParts))
	for part := range BudgetParts {
		values := make(plotter.Values, len(shares))
		for i, s := range shares {
			values[i], names[i] = s.Watts[part], s.Name
		}
		b, err := plotter.NewBarChart(values, vg.Points(46))
		if err != nil {
			return nil, err
		}
		b.Color, b.LineStyle.Width = shades[part], 0.5
		if below != nil {
			b.StackOn(below)
		}
		below = b
		charts = append(charts, b)
		p.Add(b)
	}
	for i := len(charts) - 1; i >= 0; i-- {
		p.Legend.Add(BudgetParts[i], charts[i])
	}
	p.Legend.Top, p.Legend.Left, p.Legend.TextStyle.Font.Size = true, true, 11
	p.NominalX(names...)
	p.X.Tick.Label.Font.Size = 10
	p.Y.Max *= 1.35
	return p, nil
}
