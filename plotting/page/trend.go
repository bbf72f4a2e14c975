package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
)

// unitWide is left for the unit left of the marks' words.
const unitWide = 22.0

// began is how high the strip of when it began is.
const began = 8.0

// trendPicture draws one quantity over the dives; when leading, what is ahead
// and when it began as well.
func trendPicture(rep *drift.Report, t *plotting.Trace, line *plotting.Timeline, leading bool) Picture {
	const rows = 2
	p := Picture{Title: t.Title, Says: t.Says, High: 172}
	f := frame{y0: t.Low, y1: t.High, top: rows*rowHigh + 8, foot: 138}
	f.x0, f.x1 = line.Span()
	if leading {
		f.x0, f.x1 = t.Span(line)
		p.High, f.below = p.High+began, began
	}
	x := make([]float64, len(line.X))
	for i := range x {
		x[i] = f.x(line.X[i])
	}
	p.text("s", t.Unit, 0, 14)
	for _, b := range t.Bands {
		p.path("band", bandPath(&f, x[b.From:], b.Levels))
	}
	p.axes(&f, line, plotting.EvenTicks(t.Low, t.High, 5))
	p.levels(&f, t)
	if leading {
		p.ahead(&f, t, line)
		p.begun(&f, t, x)
	}
	p.marks(&f, t, x, rows)
	var bars, dots strings.Builder
	for d, e := range t.Points {
		bars.WriteString("M" + xy(x[d], f.y(e.High)) + "V" + n(f.y(e.Low)))
		dots.WriteString(dot(x[d], f.y(e.Value)))
	}
	p.path("bar"+crowded(x), bars.String())
	p.path("dot"+crowded(x), dots.String())
	p.hits(x, distinct(x), left, right, f.foot, func(d int) (string, string) {
		e := t.Points[d]
		return fmt.Sprintf("M%sV%sM%sh12", xy(x[d], f.top), n(f.foot), xy(x[d]-6, f.y(e.Value))),
			diveName(&rep.Dives[d], line.Dated) + ": " + between(e, t.Unit)
	})
	p.Alt = trendAlt(rep, t, line)
	return p
}

// crowded is the class of dives that stand closer than their marks are wide.
func crowded(x []float64) string {
	switch room := (x[len(x)-1] - x[0]) / float64(max(len(x)-1, 1)); {
	case len(x) < 2 || room >= 5:
		return ""
	case room >= 2.5:
		return " small"
	}
	return " tiny"
}

// bandPath is the edge of a band over dives at x.
func bandPath(f *frame, x []float64, levels []drift.Estimate) string {
	x = x[:len(levels)]
	if len(x) < 2 {
		return ""
	}
	var b strings.Builder
	step := "M"
	at := apart(x, 1)
	for _, i := range at {
		b.WriteString(step + xy(x[i], f.y(levels[i].High)))
		step = "L"
	}
	for _, i := range slices.Backward(at) {
		b.WriteString(step + xy(x[i], f.y(levels[i].Low)))
	}
	return b.String() + "z"
}

// ahead draws the cone from the newest dive to those that follow.
func (p *Picture) ahead(f *frame, t *plotting.Trace, line *plotting.Timeline) {
	if len(t.Ahead) < 2 {
		return
	}
	var x []float64
	var cone []drift.Estimate
	middle := "M"
	for k, a := range t.Ahead {
		x, cone = append(x, f.x(line.After(k))), append(cone, a.Level)
		middle += xy(x[k], f.y(a.Level.Value)) + "L"
	}
	p.path("ahead", bandPath(f, x, cone))
	p.path("bar dotted", strings.TrimSuffix(middle, "L"))
	p.text("m", "ahead", (x[0]+x[len(x)-1])/2, f.foot+began+1)
}

// begun draws when it began, a box a dive, the darker the likelier.
func (p *Picture) begun(f *frame, t *plotting.Trace, x []float64) {
	if t.Begun == nil {
		return
	}
	const shades = 4
	var by [shades]strings.Builder
	most, half := slices.Max(t.Begun), max(1.5, (x[len(x)-1]-x[0])/float64(max(len(x)-1, 1))/2)
	for d, share := range t.Begun {
		if shade := int(shades * share / most); share > 0.02*most {
			by[min(shade, shades-1)].WriteString(fmt.Sprintf("M%sv%sh%sv-%sz", xy(x[d]-half, f.foot+2), n(began-2), n(2*half), n(began-2)))
		}
	}
	for i := range by {
		p.path(fmt.Sprintf("limit full f%d", i), by[i].String())
	}
	p.text("e", "began", left-5, f.foot+began+1)
}

// levels are the baseline and the limit, named right of the picture.
func (p *Picture) levels(f *frame, t *plotting.Trace) {
	type level struct {
		y            float64
		class, words string
	}
	ls := []level{{t.Baseline, "sound", plotting.Number(t.Baseline, t.Unit)}}
	if !math.IsNaN(t.Limit) {
		ls = append(ls, level{t.Limit, "limit", plotting.Number(t.Limit, t.Unit)})
	}
	slices.SortStableFunc(ls, func(a, b level) int { return cmp.Compare(b.y, a.y) })
	at := make([]float64, len(ls))
	for i, l := range ls {
		at[i] = f.y(l.y)
		if l.class == "limit" && !t.LimitDrawn() {
			l.words += " …"
		} else {
			p.path(l.class+" dashed", "M"+xy(left, at[i])+"H"+n(right))
		}
		ls[i] = l
	}
	plotting.Apart(at, 28, f.top+13, f.foot-8)
	for i, l := range ls {
		p.text(l.class, l.class, right+4, at[i]-2)
		p.text(l.class, l.words, right+4, at[i]+11)
	}
}

// marks are alarms and services above the points, with words where they fit.
func (p *Picture) marks(f *frame, t *plotting.Trace, x []float64, rows int) {
	labels := make([]plotting.Label, len(t.Marks))
	for i, m := range t.Marks {
		labels[i] = plotting.Label{X: x[m.Dive], Wide: labelWide(m.Words), Short: labelWide(m.Short)}
	}
	for i, at := range plotting.PlaceLabels(labels, unitWide, wide, rows) {
		if at.Crowded {
			continue
		}
		m, px, y := t.Marks[i], x[t.Marks[i].Dive], f.top-rowHigh*float64(max(at.Row, 0))-8
		class, glyph := "serviced", diamond(px, y)
		if m.Alarm {
			class, glyph = "limit", triangle(px, y)
		}
		p.path(class+" dotted", "M"+xy(px, y)+"V"+n(f.foot))
		p.path(class+" full", glyph)
		if at.Row >= 0 {
			p.text(class, m.Fitting(at), at.Left+8, y+4)
		}
	}
}

// labelWide is the width of a label with room for its mark; browsers'
// fonts may be a little wider than ours.
func labelWide(words string) float64 { return 1.06*plotting.TextWidth(words, textSize) + 14 }

// between is an estimate as its value and interval.
func between(e drift.Estimate, unit string) string {
	half := (e.High - e.Low) / 2
	return strings.TrimSpace(fmt.Sprintf("%s %s", drift.Rounded(e.Value, half), unit)) +
		fmt.Sprintf(" (%s to %s)", drift.Rounded(e.Low, half), drift.Rounded(e.High, half))
}

func trendAlt(rep *drift.Report, t *plotting.Trace, line *plotting.Timeline) string {
	last := len(t.Points) - 1
	out := fmt.Sprintf("%s over %d dives: %s. Newest, %s: %s; sound is %s", t.Title, len(t.Points), t.Says,
		diveName(&rep.Dives[last], line.Dated), between(t.Points[last], t.Unit), plotting.Number(t.Baseline, t.Unit))
	if !math.IsNaN(t.Limit) {
		out += ", the limit " + plotting.Number(t.Limit, t.Unit)
	}
	out += "."
	for _, m := range t.Marks {
		out += fmt.Sprintf(" %s: %s.", diveName(&rep.Dives[m.Dive], line.Dated), m.Words)
	}
	return out + " All values are in the table of dives."
}
