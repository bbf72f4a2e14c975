// Package plotting draws what a log shows. It believes that a picture must be
// readable without its legend: every line says in words what it is, colour
// never stands alone, and the colours are told apart by colour-blind people
// (Okabe and Ito, Color Universal Design, 2008).
package plotting

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagline/predict/drift"
)

var (
	ink   = color.NRGBA{40, 40, 40, 255}
	blue  = color.NRGBA{0, 114, 178, 255}
	band  = color.NRGBA{86, 180, 233, 90}
	red   = color.NRGBA{213, 94, 0, 255}
	green = color.NRGBA{0, 158, 115, 255}
	grey  = color.NRGBA{130, 130, 130, 255}
)

func init() {
	plot.DefaultFont = font.Font{Typeface: "Liberation", Variant: "Sans"}
	plotter.DefaultFont = plot.DefaultFont
}

// Trend draws one quantity over the dives: each dive's own estimate with its
// 95 % bar, what is believed as a band, baseline, limit, services and alarms.
func Trend(rep *drift.Report, quantity string) (*plot.Plot, error) {
	t, err := find(rep, quantity)
	if err != nil {
		return nil, err
	}
	s, err := readSeries(rep, quantity)
	if err != nil {
		return nil, err
	}
	p := plot.New()
	title, _ := drift.Words(quantity)
	unit := rep.Unit(quantity).Name
	p.Title.Text = fmt.Sprintf("\n%s: %s\n%s", rep.Vehicle, title, describe(t))
	p.Title.TextStyle.Font.Size, p.Title.Padding = 14, 10
	if p.Y.Label.Text = unit; unit == "" {
		p.Y.Label.Text = "1: as in the baseline"
	}
	p.X.Tick.Marker = plot.TickerFunc(dateTicks)
	p.Y.Tick.Marker = plot.TickerFunc(evenTicks)
	p.X.Label.Text = "day of the dive; bars and band hold 95 %"
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size = 12, 11
	}
	lo, hi := s.span(t)
	if n := len(s.x); len(t.Believed) == n && n-t.From > 1 {
		poly, err := plotter.NewPolygon(ribbon(s.x[t.From:], t.Believed[t.From:], lo, hi))
		if err != nil {
			return nil, err
		}
		poly.Color, poly.LineStyle.Width = band, 0
		p.Add(poly)
	}
	left, right := s.x[0], s.x[len(s.x)-1]
	pad := max((right-left)*0.08, 86400)
	level(p, left-pad, right+pad, t.Baseline, grey, "baseline")
	if t.Limit >= lo && t.Limit <= hi {
		level(p, left-pad, right+pad, t.Limit, red, fmt.Sprintf("limit %.3g", t.Limit))
	} else {
		p.X.Label.Text += fmt.Sprintf("; the limit, %.3g, lies outside this picture", t.Limit)
	}
	bars, err := plotter.NewYErrorBars(s)
	if err != nil {
		return nil, err
	}
	bars.Color, bars.Width, bars.CapWidth = blue, 1.2, 4
	dots, err := plotter.NewScatter(s)
	if err != nil {
		return nil, err
	}
	dots.Shape, dots.Color, dots.Radius = draw.CircleGlyph{}, blue, 3
	p.Add(bars, dots)
	events(p, rep, quantity, s.x, lo, hi)
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = left-pad, right+pad, lo, hi
	return p, nil
}

// find is a quantity's trend, in the units that the report is shown in.
func find(rep *drift.Report, quantity string) (*drift.Trend, error) {
	var known []string
	for i := range rep.Trends {
		if rep.Trends[i].Quantity == quantity {
			t := rep.Trends[i].In(rep.Unit(quantity))
			return &t, nil
		}
		known = append(known, rep.Trends[i].Quantity)
	}
	return nil, fmt.Errorf("no quantity %q; there are %s", quantity, strings.Join(known, ", "))
}

// describe is a trend in words.
func describe(t *drift.Trend) string {
	switch {
	case t.Pattern == drift.Ramp && t.PerDive != nil:
		return fmt.Sprintf("changing since dive %s by %+.2g a dive", t.OnsetDive, t.PerDive.Value)
	case t.Pattern == drift.Step:
		return "stepped at dive " + t.OnsetDive
	case t.Pattern == drift.Intermittent:
		return "comes and goes within dives since dive " + t.OnsetDive
	}
	return "steady"
}

// series is the estimates of one quantity, one a dive.
type series struct{ x, y, low, high []float64 }

func (s *series) Len() int                        { return len(s.x) }
func (s *series) XY(i int) (float64, float64)     { return s.x[i], s.y[i] }
func (s *series) YError(i int) (float64, float64) { return s.y[i] - s.low[i], s.high[i] - s.y[i] }

func readSeries(rep *drift.Report, quantity string) (*series, error) {
	s := &series{}
	for i, d := range rep.Dives {
		e, known := d.Estimates[quantity]
		e = e.In(rep.Unit(quantity))
		if !known {
			return nil, fmt.Errorf("dive %q has no estimate of %s", d.Dive, quantity)
		}
		day, err := time.Parse(time.DateOnly, d.Date)
		if err != nil {
			return nil, err
		}
		x := float64(day.Unix())
		if i > 0 && x <= s.x[i-1] { // dives of one day stand side by side
			x = s.x[i-1] + 6*3600
		}
		s.x, s.y, s.low, s.high = append(s.x, x), append(s.y, e.Value), append(s.low, e.Low), append(s.high, e.High)
	}
	if len(s.x) == 0 {
		return nil, fmt.Errorf("no dives to draw")
	}
	return s, nil
}

// span is the y range: the points, most of the bars, and the limit when near.
func (s *series) span(t *drift.Trend) (lo, hi float64) {
	lo, hi = t.Baseline, t.Baseline
	for i := range s.y {
		lo, hi = min(lo, s.low[i]), max(hi, s.high[i])
	}
	if wide := max(hi-lo, 1e-6); t.Limit > lo-wide && t.Limit < hi+wide {
		lo, hi = min(lo, t.Limit), max(hi, t.Limit)
	}
	pad := max((hi-lo)*0.12, 1e-6)
	return lo - pad, hi + 2.4*pad // room for the words of services and alarms
}

func ribbon(x []float64, e []drift.Estimate, lo, hi float64) plotter.XYs {
	n := len(x)
	out := make(plotter.XYs, 2*n)
	in := func(y float64) float64 { return math.Min(math.Max(y, lo), hi) }
	for i := range x {
		out[i] = plotter.XY{X: x[i], Y: in(e[i].High)}
		out[2*n-1-i] = plotter.XY{X: x[i], Y: in(e[i].Low)}
	}
	return out
}

// level is a horizontal line that says what it is.
func level(p *plot.Plot, left, right, y float64, c color.Color, words string) {
	l, err := plotter.NewLine(plotter.XYs{{X: left, Y: y}, {X: right, Y: y}})
	if err != nil {
		return
	}
	l.Color, l.Width, l.Dashes = c, 1, []vg.Length{5, 3}
	p.Add(l)
	label(p, left, y, " "+words, c, 3)
}

func label(p *plot.Plot, x, y float64, words string, c color.Color, up vg.Length) {
	labelAt(p, x, y, words, c, up, 0)
}

// labelAt writes words at a place, their left end there (align 0) or their
// right end (align −1).
func labelAt(p *plot.Plot, x, y float64, words string, c color.Color, up vg.Length, align float64) {
	ls, err := plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: x, Y: y}}, Labels: []string{words}})
	if err != nil {
		return
	}
	ls.TextStyle[0].Color, ls.TextStyle[0].Font.Size, ls.TextStyle[0].XAlign = c, 11, text.XAlignment(align)
	ls.Offset.Y = up
	p.Add(ls)
}

// events marks services and this quantity's alarms, each in words, stepping
// down the picture so that neighbours do not overlap.
func events(p *plot.Plot, rep *drift.Report, quantity string, x []float64, lo, hi float64) {
	at := map[string]float64{}
	row := 0
	left, right := x[0], x[len(x)-1]
	mark := func(x float64, c color.Color, words string) {
		l, err := plotter.NewLine(plotter.XYs{{X: x, Y: lo}, {X: x, Y: hi}})
		if err != nil {
			return
		}
		l.Color, l.Width, l.Dashes = c, 1, []vg.Length{2, 2}
		p.Add(l)
		// words near the right edge stand left of their line
		style, at := " "+words, 0.0
		if x > left+0.75*(right-left) {
			style, at = words+" ", -1
		}
		labelAt(p, x, hi-(hi-lo)*(0.04+0.05*float64(row%3)), style, c, 0, at)
		row++
	}
	for i, d := range rep.Dives {
		at[d.Dive] = x[i]
	}
	var cleared []string
	for _, a := range rep.Alarms {
		if a.Quantity == quantity {
			mark(at[a.RaisedDive], red, "▲ alarm, dive "+a.RaisedDive)
			if a.ClearedDive != nil {
				cleared = append(cleared, *a.ClearedDive)
			}
		}
	}
	for i, d := range rep.Dives {
		if len(d.Serviced) == 0 {
			continue
		}
		words := strings.Join(d.Serviced, ", ") + " serviced"
		if slices.Contains(cleared, d.Dive) {
			words += ", alarm cleared"
		}
		mark(x[i], green, words)
	}
}

// dateTicks puts ticks on whole days or months, about eight of them.
func dateTicks(lo, hi float64) []plot.Tick {
	const day = 86400.0
	var out []plot.Tick
	from, to := time.Unix(int64(lo), 0).UTC(), time.Unix(int64(hi), 0).UTC()
	if span := (hi - lo) / day; span < 60 {
		step := 1
		for _, s := range []int{1, 2, 7, 14} {
			step = s
			if span/float64(s) <= 9 {
				break
			}
		}
		for d := from.Truncate(24 * time.Hour); !d.After(to); d = d.AddDate(0, 0, step) {
			if !d.Before(from) {
				out = append(out, plot.Tick{Value: float64(d.Unix()), Label: d.Format("2 Jan 2006")})
			}
		}
		return out
	}
	months := max(1, int(math.Ceil((hi-lo)/day/30.4/9)))
	for d := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, time.UTC); !d.After(to); d = d.AddDate(0, months, 0) {
		if !d.Before(from) {
			out = append(out, plot.Tick{Value: float64(d.Unix()), Label: d.Format("Jan 2006")})
		}
	}
	return out
}

// evenTicks labels about six round values.
func evenTicks(lo, hi float64) []plot.Tick {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/6)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (hi-lo)/(m*step) <= 7 {
			step *= m
			break
		}
	}
	digits := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var out []plot.Tick
	for k := math.Ceil(lo / step); k*step <= hi; k++ {
		out = append(out, plot.Tick{Value: k * step, Label: fmt.Sprintf("%.*f", digits, k*step+0)})
	}
	return out
}
