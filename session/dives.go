package session

import (
	"slices"
	"time"

	"sagline/session/problem"
)

// diveGrouper groups lines by dive.
type diveGrouper struct {
	log    *Log
	began  map[string]int // label → line on which its dive began
	dated  []datedDive    // dives with a readable date
	unread bool           // the newest dive's date is already reported as wrong
	lines  []Line         // of the newest dive
}

// line returns the Line to read a row into and the line before it in its dive, nil at the dive's
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

// close stores the collected lines in the newest dive.
func (g *diveGrouper) close() {
	if n := len(g.log.Dives); n > 0 {
		g.log.Dives[n-1].Lines = slices.Clone(g.lines)
	}
	g.lines = g.lines[:0]
}

// goesOn checks date and battery on a later line of a dive.
func (g *diveGrouper) goesOn(b *builder, d *Dive, day time.Time, text string, dated bool) {
	switch known := d.Day(); {
	case !dated || g.unread || d.isOn(day, &g.lines[0], b.word(b.has["clock"])):
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

// IsOn reports whether a later line of a dive, read at a clock's hh:mm or at no time written down, may be of a
// day, written as in a log: the dive's, or the next if the dive began by the clock later than that.
func (d *Dive) IsOn(day, clock string) bool {
	date, err := time.Parse(time.DateOnly, day)
	return err == nil && len(d.Lines) > 0 && !d.Date.IsZero() && d.isOn(date, &d.Lines[0], clock)
}

// isOn is IsOn of a dive whose first line is first.
func (d *Dive) isOn(day time.Time, first *Line, clock string) bool {
	if day.Equal(d.Date) {
		return true
	}
	began := first.Minute
	now, ok := clockMinutes(clock)
	return day.Equal(d.Date.AddDate(0, 0, 1)) && ok && began.Measured() && began.Column.Quantity == "clock" && now < began.Entered
}

// begin begins a dive and checks its label and date.
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
	if dated {
		g.dated = append(g.dated, datedDive{len(g.log.Dives) - 1, b.line, day})
	}
}

// datedDive is a dive's index, the line on which it begins, and its day.
type datedDive struct {
	dive, line int
	day        time.Time
}

// perMisdated is the least number of dated dives for each one that is out of order by a slip. If
// more are out of order, lines stand in the wrong place. Common practice, no source.
const perMisdated = 5

// dates checks the order of all dives' days. A few days out of order move from Date to Misdated;
// more are problems.
func (g *diveGrouper) dates(b *builder) {
	ordered := longestIncreasing(g.dated)
	if (len(g.dated)-len(ordered))*perMisdated > len(g.dated) {
		g.disorder(b)
		return
	}
	for i := range g.dated {
		if len(ordered) > 0 && ordered[0] == i {
			ordered = ordered[1:]
			continue
		}
		d := &g.log.Dives[g.dated[i].dive]
		d.Date, d.Misdated = time.Time{}, d.Date
	}
}

// disorder reports each dive whose day is before that of a dive above it.
func (g *diveGrouper) disorder(b *builder) {
	var latest time.Time
	for _, x := range g.dated {
		if !x.day.Before(latest) {
			latest = x.day
			continue
		}
		later := slices.IndexFunc(g.log.Dives, func(d Dive) bool { return d.Date.After(x.day) })
		b.problems.add(x.line, b.has["date"], "found %s after %s, want dates in order: its lines go above those of dive %s",
			x.day.Format(time.DateOnly), latest.Format(time.DateOnly), problem.Quote(g.log.Dives[later].Label))
	}
}

// longestIncreasing returns the indexes of the longest subsequence of dives whose days are in order
// (patience sorting: Fredman, On computing the length of longest increasing subsequences, Discrete
// Mathematics 11, 1975).
func longestIncreasing(dives []datedDive) []int {
	last := []int{} // last[n] is the final dive of the run of n+1 dives that ends earliest
	before := make([]int, len(dives))
	for i := range dives {
		n, _ := slices.BinarySearchFunc(last, dives[i].day, func(j int, day time.Time) int {
			if dives[j].day.After(day) {
				return 1
			}
			return -1
		})
		if before[i] = -1; n > 0 {
			before[i] = last[n-1]
		}
		if n == len(last) {
			last = append(last, i)
		} else {
			last[n] = i
		}
	}
	out := make([]int, len(last))
	for n, i := len(last)-1, -1; n >= 0; n-- {
		if i < 0 {
			i = last[n]
		} else {
			i = before[i]
		}
		out[n] = i
	}
	return out
}

// battery returns the battery label on a dive's first line, or that of the dive before if the cell
// is empty.
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

// day returns the date of a row and its text. ok is false if the date is missing or unreadable.
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
