// Package importer takes in a table that another program or person wrote, such
// as a club's old spreadsheet. It matches headings to the columns of dives.csv
// by their words and units and by what the lines then say. It assumes that such
// a match is a proposal: it says how sure it is and why, asks rather than guesses
// where two readings of a cell would do, and lets a mapping that a person has
// edited overrule it. Every cell of a file is taken, kept in a note or counted as
// left out.
package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// A Result is what a mapping makes of a source. It can be written when nothing
// is asked and there is no problem.
type Result struct {
	Lines    []Line
	Asked    []Question          // what a person must say first
	Problems problem.List        // what cannot be read, or would not be a sound log
	Remarks  []string            // what was kept as a note, assumed or put in order
	Skipped  []string            // dives that the log has
	Changed  []string            // what differs between those and the log
	Account  spreadsheet.Account // of the file's cells
}

// A Line is one line to be written, and the line of the source that it came
// from.
type Line struct {
	Number int         `json:"line"`
	Cells  session.Row `json:"cells"`

	from         spreadsheet.Row
	reads        bool // it says more than which dive it is of
	taken, noted int  // cells
}

// converter is the work of Convert.
type converter struct {
	m        *Mapping
	k        Known
	s        *spreadsheet.Sheet
	given    session.Row // cells of every line
	out      *Result
	columns  []under
	bad      map[string]problem.List // cells by heading that cannot be read, why
	before   Line                    // what stands above the next line without being one
	days     *wording.Calendar
	marksOff bool // a column of one thruster says where it did not run
}

// under is what becomes of the cells under a heading.
type under struct {
	*Match
	head    spreadsheet.Heading
	targets []target
	last    string // note that was
}

func newConverter(s *spreadsheet.Sheet, m *Mapping, k Known, given session.Row) *converter {
	c := &converter{m: m, k: k, s: s, given: given, out: &Result{Problems: slices.Clone(s.Problems)}, bad: map[string]problem.List{}}
	for _, h := range s.Headings {
		match := cmp.Or(m.find(h.Text), &Match{Heading: h.Text})
		c.columns = append(c.columns, under{Match: match, head: h, targets: match.targets()})
	}
	c.days = wording.NewCalendar(m.days(s), m.Date, cmp.Or(m.found, m.Year))
	c.before.Cells, c.out.Account = session.Row{}, s.Account
	c.out.Account.Left = map[string]int{}
	maps.Copy(c.out.Account.Left, s.Account.Left)
	return c
}

// Convert makes lines of a source by a mapping; given are cells of every line.
// Its problems name file, line and heading.
func Convert(s *spreadsheet.Sheet, m *Mapping, k Known, given session.Row) *Result {
	c := newConverter(s, m, k, given)
	c.ask()
	c.rows()
	c.group()
	if len(c.out.Asked) == 0 {
		c.check()
		c.explain()
	}
	if len(c.out.Problems) == 0 && k.Log != nil {
		c.dedupe(k.Log)
	}
	for _, l := range c.out.Lines {
		c.out.Account.Taken, c.out.Account.Noted = c.out.Account.Taken+l.taken, c.out.Account.Noted+l.noted
	}
	slices.SortStableFunc(c.out.Problems, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) }) // the whole file last
	return c.out
}

// rows makes a line of each row.
func (c *converter) rows() {
	for _, r := range c.s.Rows {
		l := c.row(r)
		if !l.reads {
			c.wait(l)
			continue
		}
		c.add(l)
	}
	left := &c.before
	if n := len(c.out.Lines); n > 0 && left.Cells["note"] != "" { // behind the last line
		last := &c.out.Lines[n-1]
		addNote(last.Cells, left.Cells["note"])
		last.noted, left.noted = last.noted+left.noted, 0
	}
	c.out.Account.Add("of rows without a reading", left.taken+left.noted)
	c.unmarked()
	if days := c.days.Lacking; len(days) > 0 {
		from, to := slices.MinFunc(days, time.Time.Compare), slices.MaxFunc(days, time.Time.Compare)
		c.remark("%s without a year, taken for %s to %s", problem.Count(len(days), "date"), from.Format(time.DateOnly), to.Format(time.DateOnly))
	}
}

// add adds a line with what stands before it and what is given. Volts that were
// read at rest have a line of their own before it.
func (c *converter) add(l Line) {
	c.forget(l)
	addNote(c.before.Cells, l.Cells["note"])
	delete(l.Cells, "note")
	for _, cells := range []session.Row{c.before.Cells, c.given} {
		for name, text := range cells {
			l.Cells[name] = cmp.Or(l.Cells[name], text)
		}
	}
	l.taken, l.noted = l.taken+c.before.taken, l.noted+c.before.noted
	c.before = Line{Cells: session.Row{}}
	if volts := l.Cells["battery_v"+atRest]; volts != "" {
		delete(l.Cells, "battery_v"+atRest)
		when, once := []string{"dive", "date", "minute", "time"}, []string{"battery", "serviced", "ballast_g", "ballast_oz"} // which holds before either
		rest := maps.Clone(l.Cells)
		maps.DeleteFunc(rest, func(name, _ string) bool { return !slices.Contains(when, name) && !slices.Contains(once, name) })
		maps.DeleteFunc(l.Cells, func(name, _ string) bool { return slices.Contains(once, name) })
		rest["thrusters"], rest["battery_v"] = "off", volts
		c.out.Lines = append(c.out.Lines, Line{Number: l.Number, Cells: rest, from: l.from})
	}
	c.out.Lines = append(c.out.Lines, l)
}

// wait keeps what a row without readings says for the line after it.
func (c *converter) wait(l Line) {
	c.forget(l)
	addNote(c.before.Cells, l.Cells["note"])
	delete(l.Cells, "note")
	maps.Copy(c.before.Cells, l.Cells)
	c.before.taken, c.before.noted = c.before.taken+l.taken, c.before.noted+l.noted
}

// forget drops a dive that was named and has no line, where another is named.
func (c *converter) forget(l Line) {
	b := &c.before
	if l.Cells["dive"] != "" && b.Cells["dive"] != "" {
		c.out.Account.Add("of dives without a reading", b.taken)
		b.taken = 0
		delete(b.Cells, "dive")
		delete(b.Cells, "date")
	}
}

// row reads the cells of a row.
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
		case c.m.saysNothing(u.To, text):
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

// cell reads one cell. What cannot be read is kept in the note, but for dates,
// without which dives run together.
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

// keep keeps a cell that cannot be read in the note.
func (c *converter) keep(l *Line, u *under, text, why string, args ...any) {
	addNote(l.Cells, u.Heading+": "+text)
	c.findWorkIn(l.Cells, text)
	c.bad[u.Heading] = append(c.bad[u.Heading], c.s.Problem(l.Number, u.Heading, why, args...))
}

// explain remarks on what was kept in the note; a heading that most cells do
// not fit is a problem.
func (c *converter) explain() {
	for _, u := range c.columns {
		list := c.bad[u.Heading]
		switch n := len(list); {
		case n == 0:
		case float64(n) > offShare*float64(len(c.s.Column(u.Heading, c.m.Empty))):
			c.out.Problems = append(c.out.Problems, list...)
		default:
			c.remark("%s under %q kept in the note, such as %s: %s", problem.Count(n, "cell"), u.Heading, c.s.WhereOf(list[0]), list[0].Text)
		}
	}
}

func (c *converter) problem(line int, heading, format string, args ...any) {
	c.out.Problems = append(c.out.Problems, c.s.Problem(line, heading, format, args...))
}

func (c *converter) remark(format string, args ...any) {
	c.out.Remarks = append(c.out.Remarks, fmt.Sprintf(format, args...))
}

// group gives every line its dive and keeps the date on each dive's first, the
// dives in order of their dates.
func (c *converter) group() {
	dives := c.apart()
	undated := func(d []Line) bool { return d[0].Cells["date"] == "" }
	byDate := func(a, b []Line) int { return cmp.Compare(a[0].Cells["date"], b[0].Cells["date"]) } // ISO 8601 sorts as text
	switch {
	case slices.ContainsFunc(dives, undated) && !c.m.Dated() && c.m.Date != Asked:
		c.out.Asked = append(c.out.Asked, Question{Text: "no date in the file: give it by --cell date=2026-05-31", Given: "date"})
	case !slices.ContainsFunc(dives, undated) && !slices.IsSortedFunc(dives, byDate):
		slices.SortStableFunc(dives, byDate)
		c.remark("dives put in order of their dates")
	}
	next := 1 // one more than the highest number among the log's labels
	for i := 0; c.k.Log != nil && i < len(c.k.Log.Dives); i++ {
		if n, err := strconv.Atoi(c.k.Log.Dives[i].Label); err == nil {
			next = max(next, n+1)
		}
	}
	c.out.Lines = c.out.Lines[:0]
	for _, d := range dives {
		label := d[0].Cells["dive"]
		if label == "" {
			label = strconv.Itoa(next)
			next++
		}
		for i, l := range d {
			if l.Cells["dive"] = label; i > 0 && l.Cells["date"] == d[0].Cells["date"] {
				delete(l.Cells, "date")
			}
		}
		c.out.Lines = append(c.out.Lines, d...)
	}
}

// apart is the lines of each dive. Labels and dates may stand on a dive's first
// line only.
func (c *converter) apart() (dives [][]Line) {
	at := map[string]int{} // of the dive in dives
	key := ""
	for _, l := range c.out.Lines {
		if by := map[string]string{ByColumn: "dive", ByDate: "date"}[c.m.Dives]; by != "" {
			key = cmp.Or(l.Cells[by], key)
		}
		n, ok := at[key]
		if !ok {
			n = len(dives)
			at[key] = n
			dives = append(dives, nil)
		}
		dives[n] = append(dives[n], l)
	}
	return dives
}
