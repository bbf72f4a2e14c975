package shorthand

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Line is the result of reading a line.
type Line struct {
	Row   session.Row
	Named bool // every number has a unit or a column, so that no order was assumed
}

// Unread is the error for a word of a line that has no meaning.
type Unread struct {
	Word, Why  string
	column     string // the column that the line names for it
	start, end int
	line       string
}

func (u *Unread) Error() string { return u.Why }

// Replaced returns the line with another word in place of the one without a meaning.
func (u *Unread) Replaced(word string) string {
	if u.column != "" && isNumber(strings.Join(strings.Fields(word), "")) {
		word = u.column + " " + word
	}
	return u.line[:u.start] + word + u.line[u.end:]
}

// Read reads a line. order gives the columns, that of the thrusters among them, in the
// order in which numbers without a unit are taken; it may depend on the cells read so
// far. The error is an *Unread.
func (r *Reader) Read(text string, order func(session.Row) []*session.Column) (*Line, error) {
	return r.read(&scan{Reader: r, order: order, text: text})
}

// Changes reads changes to a line of the log. Every number needs its column, or a unit
// that only one column of the log has. The error is an *Unread.
func (r *Reader) Changes(text string) (session.Row, error) {
	none := func(session.Row) []*session.Column { return nil }
	line, err := r.read(&scan{Reader: r, order: none, text: text, changes: true})
	if err != nil {
		return nil, err
	}
	return line.Row, nil
}

func (r *Reader) read(s *scan) (*Line, error) {
	s.words, s.out = s.joined(split(s.text)), &Line{Row: session.Row{}, Named: true}
	s.mayName()
	for s.at < len(s.words) {
		if err := s.word(); err != nil {
			return nil, err
		}
	}
	if err := s.assign(); err != nil {
		return nil, err
	}
	return s.out, nil
}

// scan is the state of reading one line.
type scan struct {
	*Reader
	order   func(session.Row) []*session.Column
	changes bool // to a line of the log: no order is assumed
	text    string
	words   []word
	at      int // the next word
	items   []item
	out     *Line
}

// A word is a word of a line and its byte offsets there.
type word struct {
	text       string
	start, end int
	thrusters  string // the cell if the word may name thrusters
}

// item is something of a line to which the order of columns applies: thrusters, or a
// number with its column, its unit or neither.
type item struct {
	word
	digits, unit string
	column       *session.Column // nil: to be found
}

// wrong returns the error of a word.
func (s *scan) wrong(w word, why string) error {
	return &Unread{Word: s.said(w), Why: why, start: w.start, end: w.end, line: s.text}
}

// said returns a word as it was typed.
func (s *scan) said(w word) string {
	return cmp.Or(strings.TrimRight(strings.TrimSpace(s.text[w.start:w.end]), marks), w.text)
}

// put sets a cell; a second one for the same quantity is an error.
func (s *scan) put(w word, c *session.Column, cell string) error {
	for name, text := range s.out.Row {
		if has, ok := session.Find(name); text != "" && (name == c.Name || ok && has.Quantity == c.Quantity) {
			return s.wrong(w, fmt.Sprintf("found %s, want %s once: %s is given", problem.Quote(s.said(w)), name, text))
		}
	}
	s.out.Row[c.Name] = cell
	return nil
}

// assign finds the columns of numbers that name none. A number without a unit goes into
// the column after that of the previous item; one with a unit goes into the first column
// of the order that has this unit and no number yet.
func (s *scan) assign() error {
	columns, at := s.order(s.out.Row), 0
	for i, it := range s.items {
		c, cell, err := it.column, it.digits, error(nil)
		switch {
		case c != nil:
		case it.unit != "":
			c, cell, err = s.byUnit(it, columns)
		default:
			c, err = s.next(it, columns[at:s.end(columns, i)])
		}
		if err == nil && it.column == nil {
			err = s.named(it.word, c, cell)
		}
		if err != nil {
			return err
		}
		if k := slices.Index(columns, c); k >= 0 {
			at = k + 1
		}
	}
	return nil
}

// end returns the index in columns before which item i has to be placed: that of the
// thrusters if they come later in the line.
func (s *scan) end(columns []*session.Column, i int) int {
	for _, it := range s.items[i:] {
		if k := slices.Index(columns, it.column); k >= 0 && it.column.Quantity == "thrusters" {
			return k
		}
	}
	return len(columns)
}

// next returns the first column that has no number yet.
func (s *scan) next(it item, columns []*session.Column) (*session.Column, error) {
	for _, c := range columns {
		if _, has := s.out.Row[c.Name]; c.Unit != "" && !has {
			return c, nil
		}
	}
	name := "name its column, as depth_m 4.2"
	if slices.ContainsFunc(columns, func(c *session.Column) bool { return c.Quantity == "clock" }) {
		name = "the clock is 10:42, others have their column: depth_m 4.2"
	}
	return nil, s.wrong(it.word, fmt.Sprintf("found %s, one number more than there are columns in the order here: %s", problem.Quote(s.said(it.word)), name))
}

// byUnit returns the first column that fits a number's unit, and the cell: of the order,
// else of the log, else of all. In each, columns in that very unit come before those
// that need a conversion.
func (s *scan) byUnit(it item, columns []*session.Column) (*session.Column, string, error) {
	for _, list := range [][]*session.Column{columns, s.Columns, session.Columns()} {
		for _, exact := range []bool{true, false} {
			for _, c := range list {
				cell, same, ok := wording.InUnit(it.digits, it.unit, c)
				if _, has := s.out.Row[c.Name]; ok && same == exact && !has && (same || c.Quantity != "minute") { // a dive's minute is not given in seconds
					return c, cell, s.only(it, c)
				}
			}
		}
	}
	return nil, "", s.wrong(it.word, fmt.Sprintf("found %s, want a number, or one in a unit of %s", problem.Quote(s.said(it.word)), s.unitsOf()))
}

// only returns an error if a change of a number could also be meant for another column
// of the log in the same unit.
func (s *scan) only(it item, c *session.Column) error {
	for _, o := range s.Columns {
		if _, same, ok := wording.InUnit(it.digits, it.unit, o); s.changes && o != c && ok && same {
			return s.wrong(it.word, fmt.Sprintf("found %s, want the column too: %s %s or %s %s", problem.Quote(s.said(it.word)), c.Name, it.digits, o.Name, it.digits))
		}
	}
	return nil
}

// unitsOf lists the units of the log's columns.
func (s *scan) unitsOf() string {
	var out []string
	for _, c := range s.Columns {
		if c.Unit != "" && !slices.Contains(out, c.Unit) {
			out = append(out, c.Unit)
		}
	}
	return strings.Join(out, ", ")
}
