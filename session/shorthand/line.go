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

// A Line is a line as it was read.
type Line struct {
	Row   session.Row
	Named bool // every word says which cell it is for, so that no order counts
}

// Unread is a word of a line that means nothing. Replaced is the line with
// another word for it.
type Unread struct {
	Word, Why  string
	column     string // that the line names for it
	start, end int
	line       string
}

func (u *Unread) Error() string { return u.Why }

// Replaced is the line with another word for the one that means nothing.
func (u *Unread) Replaced(word string) string {
	if u.column != "" && isNumber(strings.Join(strings.Fields(word), "")) {
		word = u.column + " " + word
	}
	return u.line[:u.start] + word + u.line[u.end:]
}

// Read reads a line. order is where numbers alone belong: the columns in their
// order for a line of some thrusters, that of the thrusters among them. Its
// error is an *Unread.
func (r *Reader) Read(text string, order func(session.Row) []*session.Column) (*Line, error) {
	return r.read(&scan{Reader: r, order: order, text: text})
}

// Changes reads what changes in a line that is written: every number has its
// column, or a unit that one column of the log alone is in. Its error is an
// *Unread.
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
	changes bool // of a line that is written: no order counts
	text    string
	words   []word
	at      int // the next word
	items   []item
	out     *Line
}

// A word is one of a line, with where it stands there.
type word struct {
	text       string
	start, end int
	thrusters  string // the cell, where it may name thrusters
}

// item is what a line has in its order: a number with its column, its unit or
// neither, or its thrusters.
type item struct {
	word
	digits, unit string
	column       *session.Column // nil: to be found
}

// wrong is a problem of a word.
func (s *scan) wrong(w word, why string) error {
	return &Unread{Word: s.said(w), Why: why, start: w.start, end: w.end, line: s.text}
}

// said is a word as it stands in the line.
func (s *scan) said(w word) string {
	return cmp.Or(strings.TrimRight(strings.TrimSpace(s.text[w.start:w.end]), marks), w.text)
}

// put notes a cell; a second one for the same quantity is a problem.
func (s *scan) put(w word, c *session.Column, cell string) error {
	for name, text := range s.out.Row {
		if has, ok := session.Find(name); text != "" && (name == c.Name || ok && has.Quantity == c.Quantity) {
			return s.wrong(w, fmt.Sprintf("found %s, want one %s: %s is given", problem.Quote(s.said(w)), name, text))
		}
	}
	s.out.Row[c.Name] = cell
	return nil
}

// assign gives numbers without a column theirs. A number alone goes into the column
// after that of the number before it, or after the thrusters; one with a unit into
// the first of the order that is in it and has no number yet.
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

// end is how far into an order a number alone may go: up to the thrusters where
// they come after it in the line.
func (s *scan) end(columns []*session.Column, i int) int {
	for _, it := range s.items[i:] {
		if k := slices.Index(columns, it.column); k >= 0 && it.column.Quantity == "thrusters" {
			return k
		}
	}
	return len(columns)
}

// next is the first column that has no number yet.
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

// byUnit is the first column that a number with its unit is for: of those in the
// order, else of the log's, else of any; in each those in the unit before those that
// go with it.
func (s *scan) byUnit(it item, columns []*session.Column) (*session.Column, string, error) {
	for _, list := range [][]*session.Column{columns, s.Columns, session.Columns()} {
		for _, exact := range []bool{true, false} {
			for _, c := range list {
				cell, same, ok := wording.InUnit(it.digits, it.unit, c)
				if _, has := s.out.Row[c.Name]; ok && same == exact && !has && (same || c.Quantity != "minute") { // seconds are not of the dive
					return c, cell, s.only(it, c)
				}
			}
		}
	}
	return nil, "", s.wrong(it.word, fmt.Sprintf("found %s, want a number, or one in a unit of %s", problem.Quote(s.said(it.word)), s.unitsOf()))
}

// only is a problem where a number in a unit may change a second column of the
// log.
func (s *scan) only(it item, c *session.Column) error {
	for _, o := range s.Columns {
		if _, same, ok := wording.InUnit(it.digits, it.unit, o); s.changes && o != c && ok && same {
			return s.wrong(it.word, fmt.Sprintf("found %s, want the column too: %s %s or %s %s", problem.Quote(s.said(it.word)), c.Name, it.digits, o.Name, it.digits))
		}
	}
	return nil
}

// unitsOf are the units of the log's columns.
func (s *scan) unitsOf() string {
	var out []string
	for _, c := range s.Columns {
		if c.Unit != "" && !slices.Contains(out, c.Unit) {
			out = append(out, c.Unit)
		}
	}
	return strings.Join(out, ", ")
}
