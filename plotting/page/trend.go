package page

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
)

// unitWide is kept for the unit left of the marks' words.
const unitWide = 22.0

// trendPicture draws one quantity over the dives.
func trendPicture(rep *drift.Report, t *plotting.Trace, line *plotting.Timeline) Picture {
	const rows = 2
	p := Picture{Title: t.Title, Says: t.Says, High: 172}
	f := frame{y0: t.Low, y1: t.High, top: rows*rowHigh + 8, foot: 138}
	f.x0, f.x1 = line.Span()
	x := make([]float64, len(line.X))
	for i := range x {
		x[i] = f.x(line.X[i])
	}
	p.text("s", t.Unit, 0, 14)
	p.path("band", bandPath(&f, t, x))
	p.axes(&f, line, plotting.EvenTicks(t.Low, t.High, 5))
	p.levels(&f, t)
	p.marks(&f, t, x, rows)
	var bars, dots strings.Builder
	var drawn []int
	for _, d := range plotting.Thin(x, t.Points, 5.5) {
		e := t.Points[d.Dive]
		if d.Bar {
			bars.WriteString("M" + xy(x[d.Dive], f.y(e.High)) + "V" + n(f.y(e.Low)))
			drawn = append(drawn, d.Dive)
		}
		dots.WriteString(dot(x[d.Dive], f.y(e.Value)))
	}
	p.path("bar", bars.String())
	p.path("dot", dots.String())
	p.hits(x, drawn, f.foot, func(d int) (string, string) {
		e := t.Points[d]
		return fmt.Sprintf("M%sV%sM%s", xy(x[d], f.top), n(f.foot), xy(x[d]-5, f.y(e.Value))) + "a5 5 0 1 0 10 0a5 5 0 1 0-10 0",
			diveName(&rep.Dives[d], line.Dated) + ": " + between(e, t.Unit)
	})
	p.Alt = trendAlt(rep, t, line)
	return p
}

func bandPath(f *frame, t *plotting.Trace, x []float64) string {
	if t.Levels == nil || len(x)-t.From < 2 {
		return ""
	}
	var b strings.Builder
	step := "M"
	for _, i := range withEnds(x, t.From) {
		b.WriteString(step + xy(x[i], f.y(t.Levels[i].High)))
		step = "L"
	}
	for _, i := range slices.Backward(withEnds(x, t.From)) {
		b.WriteString(step + xy(x[i], f.y(t.Levels[i].Low)))
	}
	return b.String() + "z"
}

// withEnds are the dives from one on that a narrow picture can tell apart.
func withEnds(x []float64, from int) []int {
	out := apart(x[from:], 1)
	for i := range out {
		out[i] += from
	}
	return out
}

// levels are the baseline and the limit, named right of the picture.
func (p *Picture) levels(f *frame, t *plotting.Trace) {
	type level struct {
		y            float64
		class, words string
	}
	ls := []level{{t.Baseline, "sound", plotting.Number(t.Baseline, t.Unit)}, {t.Limit, "limit", plotting.Number(t.Limit, t.Unit)}}
	slices.SortStableFunc(ls, func(a, b level) int { return cmp.Compare(b.y, a.y) })
	at := []float64{f.y(ls[0].y), f.y(ls[1].y)}
	for i, l := range ls {
		if l.class == "limit" && !t.LimitShown() {
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

// labelWide is the width of a label with room for its mark; browsers' own
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
	out := fmt.Sprintf("%s over %d dives: %s. Newest, %s: %s; sound is %s, the limit %s.", t.Title, len(t.Points), t.Says,
		diveName(&rep.Dives[last], line.Dated), between(t.Points[last], t.Unit), plotting.Number(t.Baseline, t.Unit), plotting.Number(t.Limit, t.Unit))
	for _, m := range t.Marks {
		out += fmt.Sprintf(" %s: %s.", diveName(&rep.Dives[m.Dive], line.Dated), m.Words)
	}
	return out + " All values are in the table of dives."
}
