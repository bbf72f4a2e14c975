// Package plotting draws what a log shows. Pictures need no legend: lines are labelled,
// and no meaning is carried by colour alone. Sound quantities look sound, since their
// limits are in the picture. The same log gives the same bytes.
package plotting

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/findings"
)

const (
	began    = 12.0 // height of the strip that shows when a trend began
	markRows = 2    // rows for the words of marks; one more where the height is given
)

// TrendPicture draws one quantity over the dives: each dive's estimate with its 95 % bar, the level
// from all dives as a band, baseline, limit, services and alarms; if leading is true, also the
// levels ahead and when the trend began.
func TrendPicture(rep *findings.Report, t *Trace, when *Timeline, room Layout, leading bool) *Picture {
	p := &Picture{Title: t.Title, Says: t.Says, Width: room.Width, High: max(room.High, 172)}
	rows := markRows
	if room.High > 0 {
		rows++
	}
	f := frame{right: room.Width - 54, top: float64(rows)*lineHigh + 8, y0: t.Low, y1: t.High}
	f.x0, f.x1 = when.Range()
	if leading {
		if n := len(t.Ahead); n > 0 {
			f.x1 = max(f.x1, when.After(n-1)+(f.x1-when.X[len(when.X)-1]))
		}
		f.below = began
		p.High += began
	}
	f.foot = p.High - f.below - 34
	var ticks []Tick
	var x []float64
	lay := func() {
		ticks = inUnit(evenTicks(t.Low, t.High, int((f.foot-f.top)/18)), t.Unit)
		f.left = leftOf(ticks)
		x = x[:0]
		for _, at := range when.X {
			x = append(x, f.x(at))
		}
	}
	lay()
	places := t.placed(x, p.Width, rows)
	used := 0
	for _, at := range places {
		used = max(used, at.Row)
	}
	f.top -= float64(rows-1-used) * lineHigh
	lay() // again, since top has changed
	p.Key = t.key(leading)
	for _, b := range t.Bands {
		class := "band full"
		if b.Open {
			class = "measured dashed"
		}
		p.path(class, bandPath(&f, x[b.From:], b.Levels))
	}
	p.grid(&f, ticks)
	p.axis(&f, when.ticks(f.x0, f.x1, int((f.right-f.left)/45)), "")
	if !when.Dated {
		p.text("e quiet", "dive", f.left-5, f.foot+f.below+16)
	}
	p.levels(&f, t)
	if leading {
		p.ahead(&f, t, when)
		p.begun(&f, t, x)
	}
	p.marks(&f, t, x, places)
	var bars, dots Path
	for d, e := range t.Points {
		if isUnread(e) {
			continue
		}
		bars = append(bars, line(x[d], f.y(e.High), x[d], f.y(e.Low))...)
		dots = append(dots, line(x[d], f.y(e.Value))...)
	}
	p.path("measured bar"+crowded(x), bars)
	p.path("measured dot"+crowded(x), dots)
	p.hits(x, f.left, f.right, f.foot, func(d int) (Path, string) {
		if isUnread(t.Points[d]) {
			return line(x[d], f.top, x[d], f.foot), DiveName(&rep.Dives[d], when.Dated) + ": not read"
		}
		y := f.y(t.Points[d].Value)
		return append(line(x[d], f.top, x[d], f.foot), line(x[d]-6, y, x[d]+6, y)...), DiveName(&rep.Dives[d], when.Dated) + ": " + between(t.Points[d], t.Unit)
	})
	p.Alt = t.alt(rep, when)
	return p
}

// key words the meaning of a picture's marks.
func (t *Trace) key(leading bool) string {
	out := "bars and band hold 95 %"
	if leading && t.Begun != nil {
		out += "; began: the higher, the likelier at that dive"
	}
	if leading && len(t.Ahead) > 0 {
		out += "; dashed: ahead"
	}
	return out
}

// spacing returns the mean distance of dives.
func spacing(x []float64) float64 {
	if len(x) < 2 {
		return 10
	}
	return (x[len(x)-1] - x[0]) / float64(len(x)-1)
}

// crowded returns the class of the marks of dives, which are smaller where dives are close.
func crowded(x []float64) string {
	switch r := spacing(x); {
	case r >= 5:
		return ""
	case r >= 2.5:
		return " small f3"
	}
	return " tiny f3"
}

// levels draws the baseline and the limit, with labels on the right.
func (p *Picture) levels(f *frame, t *Trace) {
	all := []level{{t.Baseline, "quiet", []string{"sound", Number(t.Baseline, t.Unit)}}}
	if t.limited() {
		all = append(all, level{t.Limit, "limit", []string{"limit", Number(t.Limit, t.Unit)}})
	}
	for i, l := range all {
		if l.class == "limit" && !t.limitDrawn() {
			all[i].lines[1] += " …"
		} else {
			p.path(l.class+" dashed", line(f.left, f.y(l.y), f.right, f.y(l.y)))
		}
	}
	p.named(f, all)
}

// placed finds positions for the words of marks. x holds the places of the dives.
func (t *Trace) placed(x []float64, width float64, rows int) []Position {
	labels := make([]Label, len(t.Marks))
	for i, m := range t.Marks {
		labels[i] = Label{X: x[m.Dive], Width: labelWide(m.Words), Short: labelWide(m.Short)}
	}
	return placeLabels(labels, 0, width, rows)
}

// marks draws alarms and services above the points, with words where they fit.
func (p *Picture) marks(f *frame, t *Trace, x []float64, places []Position) {
	for i, at := range places {
		if at.Crowded {
			continue
		}
		m, px, y := t.Marks[i], x[t.Marks[i].Dive], f.top-lineHigh*float64(max(at.Row, 0))-8
		class, glyph := "serviced", diamond(px, y)
		if m.Alarm {
			class, glyph = "limit", outline(px, y-5, px-5, y+4, px+5, y+4)
		}
		p.path(class+" dotted", line(px, y, px, f.foot))
		p.path(class+" full", glyph)
		if at.Row >= 0 {
			// right-aligned words end at the mark in any font; px may have moved since they were placed
			if at.Left+at.Width/2 < px {
				p.text("e "+class, m.fitting(at), px-8, y+4)
			} else {
				p.text(class, m.fitting(at), px+8, y+4)
			}
		}
	}
}

// labelWide returns the width of a label with room for its mark and for browsers' fonts, which may
// be a little wider than ours.
func labelWide(words string) float64 { return 1.06*textWidth(words, textSize) + 14 }

// between writes an estimate as its value and range.
func between(e findings.Estimate, unit string) string {
	half := (e.High - e.Low) / 2
	return Minus(strings.TrimSpace(fmt.Sprintf("%s %s", findings.Rounded(e.Value, half), unit)) +
		fmt.Sprintf(" (%s to %s)", findings.Rounded(e.Low, half), findings.Rounded(e.High, half)))
}

// alt describes a trace.
func (t *Trace) alt(rep *findings.Report, when *Timeline) string {
	last := len(t.Points) - 1
	for last > 0 && isUnread(t.Points[last]) {
		last--
	}
	out := fmt.Sprintf("%s over %d dives: %s. Newest, %s: %s; sound is %s", t.Title, len(t.Points), t.Says,
		DiveName(&rep.Dives[last], when.Dated), between(t.Points[last], t.Unit), Number(t.Baseline, t.Unit))
	if t.limited() {
		out += ", the limit " + Number(t.Limit, t.Unit)
	}
	out += "."
	for _, m := range t.Marks {
		out += fmt.Sprintf(" %s: %s.", DiveName(&rep.Dives[m.Dive], when.Dated), m.Words)
	}
	return out + " All values are in the table of dives."
}

// bandPath returns the outline of a band over dives at x, nil for fewer than two dives.
func bandPath(f *frame, x []float64, levels []findings.Estimate) Path {
	x = x[:len(levels)]
	if len(x) < 2 {
		return nil
	}
	var edge []float64
	at := spaced(x, 1)
	for _, i := range at {
		edge = append(edge, x[i], f.y(levels[i].High))
	}
	for _, i := range slices.Backward(at) {
		edge = append(edge, x[i], f.y(levels[i].Low))
	}
	return outline(edge...)
}

// ahead draws the level after the newest dive and both ends of its range, each until it leaves the
// picture.
func (p *Picture) ahead(f *frame, t *Trace, when *Timeline) {
	if len(t.Ahead) < 2 {
		return
	}
	var x, low, middle, high []float64
	for k, a := range t.Ahead {
		x = append(x, f.x(when.After(k)))
		low, middle, high = append(low, a.Level.Low), append(middle, a.Level.Value), append(high, a.Level.High)
	}
	var lines Path
	for _, v := range [][]float64{high, middle, low} {
		lines = append(lines, line(f.clipped(x, v)...)...)
	}
	p.path("measured dotted", lines)
	p.text("quiet", "ahead", x[0]+6, f.foot+began+1) // right of the strip that begun draws
}

// begun draws a box for each dive, as high as the probability that the trend began there.
func (p *Picture) begun(f *frame, t *Trace, x []float64) {
	if t.Begun == nil {
		return
	}
	var boxes Path
	most, half := slices.Max(t.Begun), min(max(1.5, 0.45*spacing(x)), 5)
	for d, share := range t.Begun {
		if share > 0.02*most {
			foot := f.foot + began - 1
			boxes = append(boxes, box(x[d]-half, foot-max(1, (began-4)*share/most), x[d]+half, foot)...)
		}
	}
	p.path("limit full", boxes)
	p.text("e quiet", "began", f.left-5, f.foot+began+1)
}
