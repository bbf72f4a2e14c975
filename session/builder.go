package session

import (
	"slices"
	"strings"

	"sagline/session/problem"
	"sagline/session/quantity"
)

// row holds the cells of one row and the line of the file on which it begins.
type row struct {
	cells    []string
	index    map[*Column]int // index into cells of each column in use
	line     int
	commas   bool // a comma may be the decimal point
	problems *problems
}

// text returns the cell in column c, "" if the file has no such column.
func (r *row) text(c *Column) string {
	if i, ok := r.index[c]; ok && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}

// word returns the cleaned text in column c.
func (r *row) word(c *Column) string { return unescapeFormula(clean(r.text(c))) }

func (r *row) bad(c *Column, format string, args ...any) {
	r.problems.add(r.line, c, format, args...)
}

// value returns the number in column c, or the zero Value if the cell is empty. unreadable reports
// that the cell holds something that is not a number.
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

// yes reads a cell that holds one of two words. An empty cell means no.
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

// builder turns rows into dives and carries values forward to later lines.
type builder struct {
	row
	has     map[string]*Column // by quantity
	columns []*Column          // of the file, in the order of the table
	dives   diveGrouper
	clock   diveClock
	ballast float64            // g, running total
	drives  map[string][]Drive // by the text of the cell, so that equal cells share them
}

func newBuilder(log *Log, t *table) *builder {
	b := &builder{has: t.header.has, drives: map[string][]Drive{}, dives: diveGrouper{log: log, began: map[string]int{}}}
	b.row = row{index: map[*Column]int{}, commas: t.separator != ',', problems: t.problems}
	for i, c := range t.header.used {
		if c != nil {
			b.index[c] = i
			b.columns = append(b.columns, c)
		}
	}
	slices.SortFunc(b.columns, func(x, y *Column) int { return x.field - y.field })
	return b
}

// add reads all cells of one row, even after a bad one, so that all problems are found.
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

// cell reads one cell into a line. Dates, batteries, times and timed runs are read elsewhere, since
// they need several cells or the lines before.
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

// carry fills tether out, water temperature and salinity from the line before where l has none.
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
