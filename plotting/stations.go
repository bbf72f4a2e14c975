package plotting

import (
	"errors"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg/draw"
)

// A Station is a place below the surface, and whether a vehicle can hold
// there, where that is known.
type Station struct {
	X, Depth    float64
	Known, Held bool
}

// Stations draws where a vehicle can hold: a disc where it can, a cross where it
// cannot, a small ring where there is no answer. X runs along the current from
// the operator, both are in unit.
func Stations(title, unit string, places []Station) (*plot.Plot, error) {
	if len(places) == 0 {
		return nil, errors.New("no places to draw")
	}
	p := newPlot(SafeText(title, 120), "disc: it can hold there; cross: it cannot; small ring: out of reach, or no answer")
	p.X.Label.Text, p.Y.Label.Text = unit+" downstream of the operator; the current runs to the right", unit+" of depth"
	xy := plotter.XYs{{}}
	for _, at := range places {
		xy = append(xy, plotter.XY{X: at.X, Y: -at.Depth})
	}
	marks, err := plotter.NewScatter(xy)
	if err != nil {
		return nil, err
	}
	marks.GlyphStyleFunc = func(i int) draw.GlyphStyle {
		switch {
		case i == 0:
			return draw.GlyphStyle{Shape: draw.BoxGlyph{}, Radius: 5, Color: ink}
		case !places[i-1].Known:
			return draw.GlyphStyle{Shape: draw.RingGlyph{}, Radius: 2, Color: grey}
		case places[i-1].Held:
			return draw.GlyphStyle{Shape: draw.CircleGlyph{}, Radius: 6, Color: blue}
		}
		return draw.GlyphStyle{Shape: draw.CrossGlyph{}, Radius: 6, Color: red}
	}
	p.Add(marks)
	trueScale(p)
	p.Y.Tick.Marker = plot.TickerFunc(depthTicks)
	p.Add(across{{0, "surface", grey, false}})
	return p, nil
}
