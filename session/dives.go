package session

import (
	"slices"
	"time"

	"sagline/session/problem"
)

// diveGrouper gathers lines under the dives they belong to.
type diveGrouper struct {
	log    *Log
	began  map[string]int // label → line its dive began on
	latest time.Time      // day of the newest dive whose date can be read; zero before there is one
	unread bool           // the newest dive's date has been found wrong
	lines  []Line         // of the newest dive
}

// line is the Line to read a row into, and the line before it in its dive, nil for the
// first.
func (g *diveGrouper) line(b *builder) (l, before *Line) {
	labels := b.has["dive"]
	label, n := b.word(labels), len(g.log.Dives)
	day, text, dated := g.day(b)
	switch {
	case label == "":
		b.bad(labels, "empty, want the dive's label")
		return &Line{}, nil
	case n > 0 && g.log.Dives[n-1].Label == label:
		g.goesOn(b, &g.log.Dives[n-1], day, text, dated)
		g.lines = append(g.lines, Line{})
		return &g.lines[len(g.lines)-1], &g.lines[len(g.lines)-2]
	}
	g.close()
	g.begin(b, label, day, text, dated)
	g.lines = append(g.lines, Line{})
	return &g.lines[0], nil
}

// close gives the newest dive its lines.
func (g *diveGrouper) close() {
	if n := len(g.log.Dives); n > 0 {
		g.log.Dives[n-1].Lines = slices.Clone(g.lines)
	}
	g.lines = g.lines[:0]
}

// goesOn judges a later line of a dive.
func (g *diveGrouper) goesOn(b *builder, d *Dive, day time.Time, text string, dated bool) {
	switch known := d.Day(); {
	case !dated || g.unread || day.Equal(d.Date):
	case known == "":
		g.unread = true
		b.bad(b.has["date"], "found %s on a later line of a dive, want the day on its first", text)
	default:
		b.bad(b.has["date"], "found %s within a dive of %s, want one day a dive", text, known)
	}
	if battery := b.word(b.has["battery"]); battery != "" && battery != d.Battery {
		b.bad(b.has["battery"], "found %s within a dive of %s, want one battery a dive", problem.Quote(battery), problem.Quote(d.Battery))
	}
}

// begin judges the first line of a dive.
func (g *diveGrouper) begin(b *builder, label string, day time.Time, text string, dated bool) {
	g.unread = text != "" && !dated
	d := Dive{Label: label, Date: day, Battery: g.battery(b)}
	g.log.Dives = append(g.log.Dives, d)
	if !problem.Plain(label) {
		b.bad(b.has["dive"], "found %s, want a label on one line of plain text", problem.Quote(label))
	}
	if at, again := g.began[label]; again {
		b.bad(b.has["dive"], "dive %s began on line %d, want the lines of a dive together", problem.Quote(label), at)
		return
	}
	g.began[d.Label] = b.line
	switch {
	case !dated:
	case day.Before(g.latest):
		b.bad(b.has["date"], "found %s after %s, want dates in order: its lines go above those of dive %s", text, g.latest.Format(time.DateOnly), problem.Quote(g.laterThan(day)))
	default:
		g.latest = day
	}
}

// laterThan is the label of the first dive that is of a later day.
func (g *diveGrouper) laterThan(day time.Time) string {
	for i := range g.log.Dives {
		if d := &g.log.Dives[i]; d.Date.After(day) {
			return d.Label
		}
	}
	return ""
}

// battery is the label that a dive's first line gives, else that of the dive
// before.
func (g *diveGrouper) battery(b *builder) string {
	c := b.has["battery"]
	label := b.word(c)
	if !problem.Plain(label) {
		b.bad(c, "found %s, want a label on one line of plain text", problem.Quote(label))
	}
	if n := len(g.log.Dives); label == "" && n > 0 {
		return g.log.Dives[n-1].Battery
	}
	return label
}

// day is the date of a row and its text; ok is false where it has none that can be read.
func (g *diveGrouper) day(b *builder) (day time.Time, text string, ok bool) {
	text = b.word(b.has["date"])
	if text == "" {
		return time.Time{}, "", false
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil || day.IsZero() {
		b.bad(b.has["date"], "found %s, want a day as 2026-05-31", problem.Quote(text))
		return time.Time{}, text, false
	}
	return day, text, true
}
