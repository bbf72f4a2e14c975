package session

import (
	"strings"

	"sagline/session/problem"
)

// row is one line's cells, with the line of the file that it began on.
type row struct {
	cells  []string
	at     []int // by field of record, as in heading
	line   int
	commas bool // a comma may be the decimal point
	told   *told
}

// text is the cell in column c, "" where the file has no such column.
func (r *row) text(c *Column) string {
	if c == nil {
		return ""
	}
	i := r.at[c.field]
	if i > len(r.cells) {
		return ""
	}
	return r.cells[i-1]
}

// word is a clean text cell.
func (r *row) word(c *Column) string { return bare(clean(r.text(c))) }

func (r *row) bad(c *Column, format string, args ...any) { r.told.add(r.line, c, format, args...) }

// value is the number in column c; the zero Value when there is none, and
// given says whether that is since it cannot be read.
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
