// Package importer imports a table that another program or person wrote, such as a club's old
// spreadsheet. It matches headings to the columns of dives.csv by words and units, and by how
// plausible the resulting lines are. A match is a proposal: it says how sure it is and why, asks
// where a cell can be read in two ways, and yields to a mapping that a person has edited. Every
// cell of a file is taken, kept in a note or counted as left out.
package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// A Result is the source converted by a mapping. It can be written if nothing is Asked and there
// are no Problems.
type Result struct {
	Lines    []Line
	Asked    []Question          // what a person must say first
	Problems problem.List        // what cannot be read, or would make the log unsound
	Remarks  []string            // what was kept as a note, assumed or put in order
	Skipped  []string            // dives that the log has
	Changed  []string            // differences between those dives and the log
	Account  spreadsheet.Account // of the file's cells
}

// A Line is one line to be written, with its line in the source.
type Line struct {
	Number int         `json:"line"`
	Cells  session.Row `json:"cells"`

	from         spreadsheet.Row
	reads        bool // it has more than a dive's label and day
	taken, noted int  // numbers of source cells
}

// converter is the state of Convert.
type converter struct {
	m        *Mapping
	k        Known
	given    session.Row // cells for every line
	s        *spreadsheet.Sheet
	out      *Result
	columns  []under
	dives    [][]Line
	days     *wording.Calendar
	marksOff bool // a column of one thruster also marks where it did not run
}

// under is a heading with its match: what becomes of the cells below it.
type under struct {
	*Match
	head    spreadsheet.Heading
	targets []target
	last    string       // the last note of the column, so that repeats are noted once
	bad     problem.List // why cells cannot be read
}

func newConverter(s *spreadsheet.Sheet, m *Mapping, k Known, given session.Row) *converter {
	c := &converter{m: m, k: k, given: given, s: s, out: &Result{Problems: slices.Clone(s.Problems), Account: s.Account}}
	c.out.Account.Left = maps.Clone(s.Account.Left)
	for _, h := range s.Headings {
		match := cmp.Or(m.find(h.Text), &Match{Heading: h.Text})
		c.columns = append(c.columns, under{Match: match, head: h, targets: match.targets()})
	}
	c.days = wording.NewCalendar(m.days(s), m.Date, cmp.Or(m.found, m.Year))
	return c
}

// Convert converts a source to lines by a mapping. given holds cells for every line; answers to
// questions may add to it.
func Convert(s *spreadsheet.Sheet, m *Mapping, k Known, given session.Row) *Result {
	c := newConverter(s, m, k, given)
	c.ask()
	c.group(c.rows())
	if len(c.out.Asked) == 0 {
		c.check()
		c.explain()
	}
	if len(c.out.Problems) == 0 {
		c.dedupe(k.Log)
	}
	c.label()
	c.out.Lines = slices.Concat(c.dives...)
	for _, l := range c.out.Lines {
		c.out.Account.Taken, c.out.Account.Noted = c.out.Account.Taken+l.taken, c.out.Account.Noted+l.noted
	}
	slices.SortStableFunc(c.out.Problems, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) }) // the whole file last
	return c.out
}

// rows makes a line of each row with a reading. The line also gets the given cells and the cells of
// rows without a reading above it.
func (c *converter) rows() (lines []Line) {
	above := Line{Cells: session.Row{}} // cells of rows without a reading, for the next line
	for _, r := range c.s.Rows {
		l := c.row(r)
		if l.Cells["dive"] != "" && above.Cells["dive"] != "" {
			c.out.Account.Add("of dives without a reading", above.taken)
			above.taken = 0
			delete(above.Cells, "dive")
			delete(above.Cells, "date")
		}
		addNote(above.Cells, l.Cells["note"])
		delete(l.Cells, "note")
		maps.Copy(above.Cells, l.Cells)
		l.Cells, l.taken, l.noted = above.Cells, above.taken+l.taken, above.noted+l.noted
		if above = l; l.reads {
			for name, text := range c.given {
				l.Cells[name] = cmp.Or(l.Cells[name], text)
			}
			lines = append(lines, l.splitRest()...)
			above = Line{Cells: session.Row{}}
		}
	}
	if n := len(lines); n > 0 && above.Cells["note"] != "" { // notes below the last line
		last := &lines[n-1]
		addNote(last.Cells, above.Cells["note"])
		last.noted, above.noted = last.noted+above.noted, 0
	}
	c.out.Account.Add("of rows without a reading", above.taken+above.noted)
	c.unmarked(lines)
	if days := c.days.Lacking; len(days) > 0 {
		from, to := slices.MinFunc(days, time.Time.Compare), slices.MaxFunc(days, time.Time.Compare)
		c.remark("%s without a year, taken for %s to %s", problem.Count(len(days), "date"), from.Format(time.DateOnly), to.Format(time.DateOnly))
	}
	return lines
}

// splitRest returns the line. A battery voltage read at rest becomes a line of its own before it.
func (l Line) splitRest() []Line {
	volts := l.Cells["battery_v"+atRest]
	if volts == "" {
		return []Line{l}
	}
	delete(l.Cells, "battery_v"+atRest)
	rest := session.Row{"thrusters": "off", "battery_v": volts}
	for name, text := range l.Cells {
		switch name {
		case "battery", "serviced", "ballast_g", "ballast_oz": // applies from the first of the two lines on
			delete(l.Cells, name)
			rest[name] = text
		case "dive", "date", "minute", "time":
			rest[name] = text
		}
	}
	return []Line{{Number: l.Number, Cells: rest, from: l.from}, l}
}

// row converts the cells of a row.
func (c *converter) row(r spreadsheet.Row) Line {
	l := Line{Number: r.Line, Cells: session.Row{}, from: r}
	lone := false
	for i, text := range r.Cells {
		u := &c.columns[i]
		switch {
		case text == "":
		case u.To == "":
			c.out.Account.Add(fmt.Sprintf("under %q", u.Heading), 1)
		case u.To == Asked:
			c.out.Account.Add("asked about", 1)
		case wording.OneOf(text, c.m.Empty) && !(u.To == "thrusters" && wording.Is("off", wording.Folded(text))): // "none ran" is information
			l.taken++
		default:
			c.cell(&l, u, text)
			lone = lone || u.head.Lone != spreadsheet.NotLone
		}
	}
	for name := range l.Cells {
		l.reads = l.reads || !lone && name != "dive" && name != "date"
	}
	return l
}

// cell converts one cell. An unreadable cell is kept in the note, except that dates and thrusters
// are problems.
func (c *converter) cell(l *Line, u *under, text string) {
	err := c.put(l.Cells, u, text)
	switch {
	case err == nil && u.To != "note":
		l.taken++
	case err == nil:
		l.noted++
	case gives(u.targets, "date") || u.To == "thrusters":
		if l.taken++; len(c.out.Asked) == 0 { // an answer may make it readable
			c.problem(l.Number, u.Heading, "%v", err)
		}
	default:
		l.noted++
		c.keep(l, u, text, "%v", err)
	}
}

// keep keeps an unreadable cell in the note and records why it is unreadable.
func (c *converter) keep(l *Line, u *under, text, why string, args ...any) {
	addNote(l.Cells, u.Heading+": "+text)
	c.findWorkIn(l.Cells, text)
	u.bad = append(u.bad, c.s.Problem(l.Number, u.Heading, why, args...))
}

// explain remarks on cells kept in the note. If more than offShare of a heading's cells are
// unreadable, they are problems.
func (c *converter) explain() {
	for _, u := range c.columns {
		switch n := len(u.bad); {
		case n == 0:
		case float64(n) > offShare*float64(len(c.s.Column(u.Heading, c.m.Empty))):
			c.out.Problems = append(c.out.Problems, u.bad...)
		default:
			c.remark("%s under %q kept in the note, such as %s: %s", problem.Count(n, "cell"), u.Heading, c.s.WhereOf(u.bad[0]), u.bad[0].Text)
		}
	}
}

func (c *converter) problem(line int, heading, format string, args ...any) {
	c.out.Problems = append(c.out.Problems, c.s.Problem(line, heading, format, args...))
}

func (c *converter) remark(format string, args ...any) {
	c.out.Remarks = append(c.out.Remarks, fmt.Sprintf(format, args...))
}
