package plotting

import (
	"fmt"
	"slices"
	"strings"

	"sagline/predict/drift"
	"sagline/session/problem"
)

// HistoryPicture is the time line: dives, services, and how long each alarm
// was open, on the scale of the trends.
func HistoryPicture(rep *drift.Report, when *Timeline, room Layout) *Picture {
	p := &Picture{Title: "dives, services, alarms", Wide: room.Wide, High: 172}
	f := frame{left: 40, right: room.Wide - 54, top: markRows*lineHigh + 4, foot: 138}
	f.x0, f.x1 = when.Span()
	p.timeAxis(&f, when)
	x := f.places(when.X)
	var ticks Path
	for _, i := range spaced(x, 1.5) {
		ticks = append(ticks, line(x[i], f.foot-2, x[i], f.foot-14)...)
	}
	p.path("measured bar", ticks)
	p.text("ink", "dives", f.right+4, f.foot-4)
	p.services(rep, &f, x)
	p.alarms(rep, &f, x)
	p.hits(x, f.left, f.right, f.foot, func(d int) (Path, string) {
		return line(x[d], f.top, x[d], f.foot), DiveName(&rep.Dives[d], when.Dated) + ": " + Happened(rep, d)
	})
	p.Alt = "Time line of " + problem.Count(len(x), "dive") + "."
	for i := range rep.Dives {
		if what := Happened(rep, i); what != Uneventful {
			p.Alt += fmt.Sprintf(" %s: %s.", DiveName(&rep.Dives[i], when.Dated), what)
		}
	}
	return p
}

func (p *Picture) services(rep *drift.Report, f *frame, x []float64) {
	var labels []Label
	var words []string
	for i, d := range rep.Dives {
		if len(d.Serviced) > 0 {
			w := strings.Join(slices.Compact(slices.Clone(d.Serviced)), ", ") + " serviced"
			words = append(words, w)
			labels = append(labels, Label{X: x[i], Wide: labelWide(w), Short: 0})
		}
	}
	for i, at := range PlaceLabels(labels, 0, p.Wide, markRows) {
		if at.Crowded {
			continue
		}
		px, y := labels[i].X, f.top-lineHigh*float64(max(at.Row, 0))-8
		p.path("serviced dotted", line(px, y, px, f.foot))
		p.path("serviced full", diamond(px, y))
		if at.Row >= 0 && !at.Short {
			p.text("serviced", words[i], at.Left+8, y+4)
		}
	}
}

// alarms draws each alarm as a bar from its dive to the service that cleared
// it, one row for each quantity, as many as fit.
func (p *Picture) alarms(rep *drift.Report, f *frame, x []float64) {
	index := map[string]int{}
	for i, d := range rep.Dives {
		index[d.Dive] = i
	}
	var rows []string
	for _, a := range rep.Alarms {
		row := slices.Index(rows, a.Quantity)
		first := row < 0
		if first {
			if len(rows) == 2 {
				continue
			}
			row, rows = len(rows), append(rows, a.Quantity)
		}
		y := f.foot - 40 - 28*float64(row)
		from, to := x[index[a.RaisedDive]], f.right
		if a.ClearedDive != nil {
			to = x[index[*a.ClearedDive]]
		}
		p.path("limit full", box(from, y-2, max(to, from+1), y+4))
		p.path("limit full", triangle(from, y))
		if words := a.Cause.Words; first {
			words = SafeText(words, 30)
			p.text("limit", words, max(0, min(from, p.Wide-1.06*TextWidth(words, textSize))), y+17)
		}
	}
}

// Uneventful is a dive that nothing else is to be said of.
const Uneventful = "dived"

// Happened is what a dive is remembered for.
func Happened(rep *drift.Report, d int) string {
	var out []string
	dive := &rep.Dives[d]
	if len(dive.Serviced) > 0 {
		out = append(out, strings.Join(slices.Compact(slices.Clone(dive.Serviced)), ", ")+" serviced")
	}
	if len(dive.Rebuilt) > 0 {
		out = append(out, SafeText(strings.Join(dive.Rebuilt, ", "), 60)+" rebuilt")
	}
	for _, a := range rep.Alarms {
		words := SafeText(a.Cause.Words, 40)
		if a.RaisedDive == dive.Dive {
			out = append(out, "alarm: "+words)
		}
		if a.ClearedDive != nil && *a.ClearedDive == dive.Dive {
			out = append(out, "alarm cleared: "+words)
		}
	}
	if n := len(dive.SetAside); n > 0 {
		out = append(out, fmt.Sprintf("%d set aside", n))
	}
	if len(out) == 0 {
		return Uneventful
	}
	return strings.Join(out, "; ")
}
