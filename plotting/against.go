package plotting

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg/draw"
)

// A Pair is a reading beside its prediction, with the reading's standard
// deviation.
type Pair struct {
	Dive     int     // from 1, in the order of the log
	Z        float64 // (measured − predicted)/sd
	SetAside bool
	Kind     int // 0…3: battery, current, vehicle voltage, motion
}

// kinds are the groups of readings that share a mark.
var kinds = []struct {
	words string
	shape draw.GlyphDrawer
}{
	{"battery voltage: rings", draw.RingGlyph{}}, {"current: squares", draw.SquareGlyph{}},
	{"vehicle voltage: triangles", draw.TriangleGlyph{}}, {"speed, trim and pull: pluses", draw.PlusGlyph{}},
}

// edge bounds the standard deviations drawn; what lies beyond is drawn there.
const edge = 25

// Against draws measured against predicted: how many standard deviations each
// reading lies from a sound vehicle's, dive by dive.
func Against(vehicle string, pairs []Pair) (*plot.Plot, error) {
	if len(pairs) == 0 {
		return nil, fmt.Errorf("no readings to draw")
	}
	p := plot.New()
	p.Title.Text = "\n" + vehicle + ": measured against predicted for a sound vehicle"
	p.Title.Padding = 10
	p.Y.Tick.Marker = plot.TickerFunc(evenTicks)
	p.X.Tick.Marker = plot.TickerFunc(evenTicks)
	p.Title.TextStyle.Font.Size = 14
	p.X.Label.Text, p.Y.Label.Text = "dive", "standard deviations from the prediction"
	last := 0
	groups := make([]plotter.XYs, len(kinds))
	var aside plotter.XYs
	for _, q := range pairs {
		xy := plotter.XY{X: float64(q.Dive), Y: max(-edge, min(edge, q.Z))}
		last = max(last, q.Dive)
		if q.SetAside {
			aside = append(aside, xy)
			continue
		}
		xy.X += 0.15 * float64(q.Kind-1)
		groups[q.Kind] = append(groups[q.Kind], xy)
	}
	for i, c := range []struct{ r, g, b uint8 }{{0, 114, 178}, {213, 94, 0}, {0, 158, 115}, {204, 121, 167}} {
		if len(groups[i]) == 0 {
			continue
		}
		s, err := plotter.NewScatter(groups[i])
		if err != nil {
			return nil, err
		}
		tint := ink
		tint.R, tint.G, tint.B = c.r, c.g, c.b
		s.Shape, s.Color, s.Radius = kinds[i].shape, tint, 3
		p.Add(s)
		p.Legend.Add(kinds[i].words, s)
	}
	if len(aside) > 0 {
		s, err := plotter.NewScatter(aside)
		if err != nil {
			return nil, err
		}
		s.Shape, s.Color, s.Radius = draw.CrossGlyph{}, ink, 5
		p.Add(s)
		p.Legend.Add("set aside as a slip: crosses", s)
	}
	level(p, 0, float64(last)+1, 3, grey, "3 sd high")
	level(p, 0, float64(last)+1, -3, grey, "3 sd low")
	p.Legend.Top, p.Legend.Left, p.Legend.TextStyle.Font.Size = true, true, 11
	p.X.Min, p.X.Max = 0, float64(last)+1
	p.Y.Min, p.Y.Max = min(p.Y.Min, -6), max(p.Y.Max, 6)*1.35
	return p, nil
}
