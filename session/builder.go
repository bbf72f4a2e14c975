package session

import (
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
	"sagline/session/quantity"
)

// row is one line's cells, with the line of the file that it began on.
type row struct {
	cells    []string
	place    map[*Column]int // of the columns that are used
	line     int
	commas   bool // a comma may be the decimal point
	problems *problems
}

// text is the cell in column c, "" where the file has no such column.
func (r *row) text(c *Column) string {
	if i, ok := r.place[c]; ok && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

// word is a clean text cell.
func (r *row) word(c *Column) string { return unescapeFormula(clean(r.text(c))) }

func (r *row) bad(c *Column, format string, args ...any) {
	r.problems.add(r.line, c, format, args...)
}

// value is the number in column c; the zero Value when there is none, and
// unreadable says whether that is since it cannot be read.
func (r *row) value(c *Column) (v Value, unreadable bool) {
	text := r.text(c)
	if text == "" {
		return Value{}, false
	}
	if text = clean(text); text == "" {
		return Value{}, false
	}
	x, err := c.number(text, r.commas)
	if err != nil {
		r.bad(c, "%v", err)
		return Value{}, true
	}
	return Value{X: c.ToBase(x), Entered: x, Column: c}, false
}

// yes reads a cell that is one of two words or empty.
func (r *row) yes(c *Column, yes, no string) bool {
	t := r.word(c)
	switch {
	case t == "" || strings.EqualFold(t, no):
		return false
	case strings.EqualFold(t, yes):
		return true
	}
	r.bad(c, "found %s, want %s, %s or nothing", problem.Quote(t), yes, no)
	return false
}

// builder turns rows into dives, carrying forward what carries.
type builder struct {
	row
	has     map[string]*Column // by quantity
	columns []*Column          // of the file, in the order of the table
	dives   diveGrouper
	clock   diveClock
	ballast float64            // g, running total
	drives  map[string][]Drive // of thrusters cells, one copy of each
}

func newBuilder(log *Log, t *table) *builder {
	b := &builder{has: t.header.has, drives: map[string][]Drive{}, dives: diveGrouper{log: log, began: map[string]int{}}}
	b.row = row{place: map[*Column]int{}, commas: t.separator != ',', problems: t.problems}
	for i, c := range t.header.used {
		if c != nil {
			b.place[c] = i
			b.columns = append(b.columns, c)
		}
	}
	slices.SortFunc(b.columns, func(x, y *Column) int { return x.field - y.field })
	return b
}

// add reads one row, every cell of it even where one is bad, so that all
// problems are found.
func (b *builder) add(cells []string, line int) {
	b.cells, b.line = cells, line
	l, before := b.dives.line(b)
	if before == nil {
		b.clock = diveClock{}
	}
	l.Number = line
	l.Minute = b.clock.minute(&b.row, b.has["minute"], b.has["clock"])
	for _, c := range b.columns {
		b.cell(c, l)
	}
	l.BallastG = b.ballast
	b.timed(l, quantity.Speed, timing{b.has["run"], b.has["run time"], b.has["run back"], "run_m or run_ft", "run_s"})
	b.timed(l, quantity.Climb, timing{b.has["climbed"], b.has["climb time"], nil, "climb_m or climb_ft", "climb_s"})
	if before != nil {
		b.carry(l, before)
	}
}

// cell reads one cell into a line, but those that need others beside them.
func (b *builder) cell(c *Column, l *Line) {
	if t, ok := textColumns[c.Quantity]; ok {
		t.read(b, c, l)
		return
	}
	switch c.Quantity {
	case "salinity":
		v, _ := b.value(c)
		l.Salinity = v.X
	case "ballast":
		v, _ := b.value(c)
		b.ballast += v.X
	case "dive", "date", "battery", "minute", "clock", "run", "run time", "run back", "climbed", "climb time":
	default:
		*l.at(c), _ = b.value(c)
	}
}

// carry takes over what holds until it changes.
func (b *builder) carry(l, before *Line) {
	if !l.TetherOut.Measured() {
		l.TetherOut = before.TetherOut
	}
	if !l.WaterC.Measured() {
		l.WaterC = before.WaterC
	}
	if clean(b.text(b.has["salinity"])) == "" {
		l.Salinity = before.Salinity
	}
}

// diveGrouper gathers lines under the dives they belong to.
type diveGrouper struct {
	log    *Log
	began  map[string]int // label → line its dive began on
	latest time.Time      // day of the newest dive whose date can be read; zero before there is one
	unread bool           // the newest dive's date has been found wrong
	lines  []Line         // of the newest dive
}

// line is where a row is read into, and the line before it in its dive or nil.
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
		b.bad(b.has["date"], "found %s after %s, want dates in order", text, g.latest.Format(time.DateOnly))
	default:
		g.latest = day
	}
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

// day is the date of a row, if it has one that can be read.
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
