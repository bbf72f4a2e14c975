package page

import (
	"fmt"
	"slices"
	"strings"

	"sagline/plotting"
	"sagline/predict/drift"
	"sagline/session/problem"
)

// timelinePicture is the time line: dives, services, and how long each alarm
// was open, on the scale of the trends.
func timelinePicture(rep *drift.Report, line *plotting.Timeline) Picture {
	const rows = 2
	p := Picture{Title: "dives, services, alarms", High: 172}
	f := frame{top: rows*rowHigh + 4, foot: 138}
	f.x0, f.x1 = line.Span()
	p.timeAxis(&f, line)
	x := make([]float64, len(line.X))
	var ticks strings.Builder
	for i := range x {
		x[i] = f.x(line.X[i])
	}
	for _, i := range apart(x, 1.5) {
		ticks.WriteString("M" + xy(x[i], f.foot-2) + "v-12")
	}
	p.path("bar", ticks.String())
	p.text("k", "dives", right+4, f.foot-4)
	p.services(rep, &f, x, rows)
	p.alarms(rep, &f, x)
	p.hits(x, distinct(x), left, right, f.foot, func(d int) (string, string) {
		return fmt.Sprintf("M%sV%s", xy(x[d], f.top), n(f.foot)), diveName(&rep.Dives[d], line.Dated) + ": " + happened(rep, d)
	})
	p.Alt = "Time line of " + problem.Count(len(x), "dive") + "."
	for i := range rep.Dives {
		if what := happened(rep, i); what != uneventful {
			p.Alt += fmt.Sprintf(" %s: %s.", diveName(&rep.Dives[i], line.Dated), what)
		}
	}
	return p
}

func (p *Picture) services(rep *drift.Report, f *frame, x []float64, rows int) {
	var labels []plotting.Label
	var words []string
	for i, d := range rep.Dives {
		if len(d.Serviced) > 0 {
			w := strings.Join(slices.Compact(slices.Clone(d.Serviced)), ", ") + " serviced"
			words = append(words, w)
			labels = append(labels, plotting.Label{X: x[i], Wide: labelWide(w), Short: 0})
		}
	}
	for i, at := range plotting.PlaceLabels(labels, 0, wide, rows) {
		if at.Crowded {
			continue
		}
		px, y := labels[i].X, f.top-rowHigh*float64(max(at.Row, 0))-8
		p.path("serviced dotted", "M"+xy(px, y)+"V"+n(f.foot))
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
		from, to := x[index[a.RaisedDive]], right
		if a.ClearedDive != nil {
			to = x[index[*a.ClearedDive]]
		}
		p.path("limit full", fmt.Sprintf("M%sH%sv6H%sz", xy(from, y-2), n(max(to, from+1)), n(from)))
		p.path("limit full", triangle(from, y))
		if words := a.Cause.Words; first {
			words = plotting.SafeText(words, 30)
			p.text("limit", words, max(0, min(from, wide-1.06*plotting.TextWidth(words, textSize))), y+17)
		}
	}
}

// uneventful is a dive that nothing else is to be said of.
const uneventful = "dived"

// happened is what a dive is remembered for.
func happened(rep *drift.Report, d int) string {
	var out []string
	dive := &rep.Dives[d]
	if len(dive.Serviced) > 0 {
		out = append(out, strings.Join(slices.Compact(slices.Clone(dive.Serviced)), ", ")+" serviced")
	}
	if len(dive.Rebuilt) > 0 {
		out = append(out, plotting.SafeText(strings.Join(dive.Rebuilt, ", "), 60)+" rebuilt")
	}
	for _, a := range rep.Alarms {
		words := plotting.SafeText(a.Cause.Words, 40)
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
		return uneventful
	}
	return strings.Join(out, "; ")
}
