package plotting

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict/drift"
	"sagline/predict/fit"
	"sagline/session/quantity"
)

// A Pair is a reading beside its prediction.
type Pair struct {
	Dive     int     // from 0, in the order of the log
	Kind     int     // of ReadingKinds
	Z        float64 // (measured − predicted)/sd
	SetAside bool
}

// ReadingKinds are the groups of readings that share a strip.
var ReadingKinds = []string{"battery voltage", "current", "vehicle voltage", "speed, climb, trim and pull"}

// Pairs are all compared readings of a log against the sound vehicle.
func Pairs(r *fit.Result) []Pair {
	var out []Pair
	for d := range r.Dives {
		for _, c := range r.Compare(d, r.Sound(d)) {
			kind := 3
			switch c.Quantity {
			case quantity.BatteryV:
				kind = 0
			case quantity.CurrentA:
				kind = 1
			case quantity.VehicleV:
				kind = 2
			}
			out = append(out, Pair{d, kind, c.Z, c.Outlier})
		}
	}
	return out
}

const (
	// NearSD is how many standard deviations from its prediction a sound
	// reading may lie.
	NearSD = 3.0
	// edgeSD bounds what is drawn; what lies beyond is a triangle there.
	edgeSD = 10.0
)

// Reach is the range of standard deviations that a picture of pairs shows,
// either way.
func Reach(pairs []Pair) float64 {
	out := 6.0
	for _, q := range pairs {
		out = max(out, math.Abs(q.Z))
	}
	return min(out, edgeSD)
}

// Against draws measured against predicted: how many standard deviations each
// reading lies from a sound vehicle's, a strip for each kind of reading.
func Against(rep *drift.Report, pairs []Pair) (*plot.Plot, error) {
	if len(pairs) == 0 {
		return nil, fmt.Errorf("no readings to draw")
	}
	line, err := ReadTimeline(rep.Dives, true)
	if err != nil {
		return nil, err
	}
	far, aside := 0, 0
	for _, q := range pairs {
		if q.SetAside {
			aside++
		} else if math.Abs(q.Z) > NearSD {
			far++
		}
	}
	p := newPlot(Shown(rep.Vehicle, 60)+": measured against predicted",
		fmt.Sprintf("%d of %d readings lie more than %g standard deviations from a sound vehicle's", far, len(pairs), NearSD))
	p.Y.Label.Text = "standard deviations from the prediction; band: " + fmt.Sprintf("%g either way", NearSD)
	if aside > 0 {
		p.Y.Label.Text += fmt.Sprintf("; crosses: %d set aside as slips", aside)
	}
	p.X.Label.Text = "day of the dive; triangles lie further out"
	p.X.Tick.Marker = plot.TickerFunc(line.marker)
	s := &strips{pairs, line, Reach(pairs)}
	p.Y.Tick.Marker = plot.TickerFunc(s.ticks)
	p.Add(s)
	p.X.Min, p.X.Max = line.Span()
	return p, nil
}

// strips draws pairs, the kinds of readings above each other on one scale.
type strips struct {
	pairs []Pair
	line  *Timeline
	reach float64
}

// zero is the height of a kind's prediction.
func (s *strips) zero(kind int) float64 { return -3.6 * s.reach * float64(kind) }

func (s *strips) ticks(_, _ float64) []plot.Tick {
	var out []plot.Tick
	for kind := range ReadingKinds {
		for _, t := range EvenTicks(-s.reach, s.reach, 3) {
			out = append(out, plot.Tick{Value: t.Value + s.zero(kind), Label: t.Label})
		}
	}
	return out
}

// DataRange implements plot.DataRanger.
func (s *strips) DataRange() (xmin, xmax, ymin, ymax float64) {
	xmin, xmax = s.line.Span()
	return xmin, xmax, s.zero(len(ReadingKinds)-1) - 1.1*s.reach, 2.2 * s.reach
}

// Plot implements plot.Plotter.
func (s *strips) Plot(c draw.Canvas, p *plot.Plot) {
	fx, fy := p.Transforms(&c)
	for kind, name := range ReadingKinds {
		zero := s.zero(kind)
		c.FillPolygon(band, box(c.Min.X, fy(zero-NearSD), c.Max.X, fy(zero+NearSD)))
		c.StrokeLine2(stroke(grey, 0.6), c.Min.X, fy(zero), c.Max.X, fy(zero))
		c.FillText(words(ink), vg.Point{X: c.Min.X + 3, Y: fy(zero + 1.15*s.reach)}, name)
	}
	// the more dives stand side by side, the smaller their dots
	dot := max(0.8, min(1.6, 0.3*(c.Max.X-c.Min.X)/vg.Length(len(s.line.X))))
	for _, q := range s.pairs {
		at := vg.Point{X: fx(s.line.X[q.Dive]), Y: fy(s.zero(q.Kind) + math.Max(-s.reach, math.Min(s.reach, q.Z)))}
		style := draw.GlyphStyle{Color: blue, Radius: dot, Shape: draw.CircleGlyph{}}
		switch {
		case q.SetAside:
			style = draw.GlyphStyle{Color: red, Radius: 3.5, Shape: draw.CrossGlyph{}}
		case math.Abs(q.Z) > s.reach:
			style.Radius, style.Shape = 3, outward(q.Z > 0)
		}
		c.DrawGlyph(style, at)
	}
}

// outward is a triangle that points up, or down.
type outward bool

// DrawGlyph implements draw.GlyphDrawer.
func (up outward) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	tip := s.Radius
	if !up {
		tip = -tip
	}
	c.FillPolygon(s.Color, []vg.Point{{X: at.X - s.Radius, Y: at.Y - tip/2}, {X: at.X + s.Radius, Y: at.Y - tip/2}, {X: at.X, Y: at.Y + tip}})
}
