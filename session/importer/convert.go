package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"

	"sagline/session"
	"sagline/session/problem"
)

// A Result is what a mapping makes of a source. It can be written when nothing
// is asked and there is no problem.
type Result struct {
	Lines    []Line
	Asked    []Question   // what a person must say first
	Problems problem.List // what cannot be read, or would not be a sound log
	Remarks  []string     // what was kept as a note, assumed or put in order
	Skipped  []string     // dives that the log has
	Changed  []string     // what differs between those and the log
	Account  Account      // of the file's cells
}

// A Line is one line to be written, and the line of the source that it came
// from.
type Line struct {
	Number int
	Cells  session.Row

	from         row
	taken, noted int // cells
}

// converter is the work of Convert.
type converter struct {
	m       *Mapping
	k       Known
	s       *Source
	given   session.Row // cells of every line
	out     *Result
	columns []under
	bad     map[string]problem.List // cells by heading that cannot be read, why
	first   map[string]string       // where the first is
	next    Line                    // the dive and date that stand before the next line
	notes   []string                // that do

	days     calendar
	sections bool // dives have lines above them that name them
	marksOff bool // a column of one thruster says where it did not run
}

// under is what becomes of the cells under a heading.
type under struct {
	*Match
	targets []target
	prefix  string // of what is kept in the note
	last    string // cell that was
}

func newConverter(s *Source, m *Mapping, k Known, given session.Row) *converter {
	c := &converter{m: m, k: k, s: s, given: given, out: &Result{Problems: slices.Clone(s.problems)}, bad: map[string]problem.List{}, first: map[string]string{}}
	for _, h := range s.headings {
		u := under{Match: m.find(h.text), prefix: h.text + ": "}
		if u.Match == nil {
			u.Match = &Match{Heading: h.text}
		}
		if u.targets = u.Match.targets(); h.noted {
			u.prefix = ""
		}
		c.columns = append(c.columns, u)
	}
	c.days, _ = m.calendar(s)
	c.next.Cells, c.out.Account = session.Row{}, s.account
	c.out.Account.Left = maps.Clone(s.account.Left)
	return c
}

// Convert makes lines of a source by a mapping; given are cells of every line.
// Its problems name file, line and heading.
func Convert(s *Source, m *Mapping, k Known, given session.Row) *Result {
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
	if n := len(c.days.without); n > 0 {
		from, to := slices.MinFunc(c.days.without, time.Time.Compare), slices.MaxFunc(c.days.without, time.Time.Compare)
		c.remark("%s without a year, taken for %s to %s", problem.Count(n, "date"), from.Format(time.DateOnly), to.Format(time.DateOnly))
	}
	for _, l := range c.out.Lines {
		c.out.Account.Taken, c.out.Account.Noted = c.out.Account.Taken+l.taken, c.out.Account.Noted+l.noted
	}
	slices.SortStableFunc(c.out.Problems, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) }) // the whole file last
	return c.out
}

// rows makes a line of each row.
func (c *converter) rows() {
	for _, r := range c.s.rows {
		if c.between(r) {
			continue
		}
		l := c.row(r)
		c.rest(&l)
		if !slices.ContainsFunc(session.ColumnNames(), func(name string) bool { return name != "dive" && name != "date" && l.Cells[name] != "" }) {
			c.before(l)
			continue
		}
		c.out.Lines = append(c.out.Lines, c.finish(l))
	}
	if n := len(c.out.Lines); n > 0 { // behind the last line
		for _, note := range c.notes {
			addNote(c.out.Lines[n-1].Cells, note)
		}
		c.out.Lines[n-1].noted, c.next.noted = c.out.Lines[n-1].noted+c.next.noted, 0
	}
	c.out.Account.add("of rows without a reading", c.next.taken+c.next.noted)
	c.unmarked()
}

// rest puts the volts that were read before the thrusters ran on a line of
// their own, before l's, with what was done before either.
func (c *converter) rest(l *Line) {
	volts := l.Cells["battery_v"+atRest]
	if volts == "" {
		return
	}
	delete(l.Cells, "battery_v"+atRest)
	first := Line{Number: l.Number, Cells: session.Row{"thrusters": "off", "battery_v": volts}, from: l.from}
	for _, name := range []string{"dive", "date", "minute", "time"} {
		first.Cells[name] = l.Cells[name]
	}
	for _, name := range []string{"battery", "serviced", "ballast_g", "ballast_oz"} {
		first.Cells[name] = l.Cells[name]
		delete(l.Cells, name)
	}
	maps.DeleteFunc(first.Cells, func(_, text string) bool { return text == "" })
	c.out.Lines = append(c.out.Lines, c.finish(first))
}

// finish gives a line what stands before it and what is given.
func (c *converter) finish(l Line) Line {
	c.forget(l)
	for _, name := range []string{"dive", "date"} {
		if c.next.Cells[name] != "" && l.Cells[name] == "" {
			l.Cells[name] = c.next.Cells[name]
		}
	}
	for _, note := range c.notes {
		addNote(l.Cells, note)
		c.findWorkIn(l.Cells, note)
	}
	l.taken, l.noted = l.taken+c.next.taken, l.noted+c.next.noted
	c.next, c.notes = Line{Cells: session.Row{}}, nil
	for name, text := range c.given {
		l.Cells[name] = cmp.Or(l.Cells[name], text)
	}
	return l
}

// before keeps what a row without readings says for the line after it.
func (c *converter) before(l Line, notes ...string) {
	c.forget(l)
	maps.Copy(c.next.Cells, l.Cells)
	c.notes = append(c.notes, notes...)
	c.next.taken, c.next.noted = c.next.taken+l.taken, c.next.noted+l.noted
}

// forget drops a dive that was named and has no line, where another is named.
func (c *converter) forget(l Line) {
	if l.Cells["dive"] == "" || c.next.Cells["dive"] == "" {
		return
	}
	c.out.Account.add("of dives without a reading", c.next.taken)
	c.next.Cells, c.next.taken = session.Row{}, 0
}

// fewestWords makes a cell that stands alone in its row a note rather than a
// label: common practice, no source.
const fewestWords = 3

// between takes a row that is a note between others, or names the dive that
// follows.
func (c *converter) between(r row) bool {
	i := c.s.alone(r)
	if i < 0 || slices.Contains([]string{"note", "serviced"}, c.columns[i].To) {
		return false
	}
	text := r.cells[i]
	dive, date := section(text)
	day, err := c.days.read(date)
	switch {
	case (dive != "" || date != "") && !c.m.Dated():
		l := Line{Cells: session.Row{"dive": dive}, taken: 1}
		if c.sections = true; err == nil {
			l.Cells["date"] = day.Format(time.DateOnly)
		}
		c.before(l)
	case workIn(text) != "" || len(wordsOf(text)) >= fewestWords && (c.columns[i].To == "dive" || c.put(session.Row{}, &c.columns[i], text) != nil):
		c.before(Line{noted: 1}, text)
	default:
		return false
	}
	return true
}

// mostFields is more words than name a dive and its day: common practice, no
// source.
const mostFields = 10

// section is the dive and the day, as written, that a line above a dive names;
// "" without.
func section(text string) (dive, day string) {
	fields := strings.Fields(text[:min(len(text), longestHeading)])
	if !strings.ContainsAny(text, "0123456789") || len(fields) > mostFields {
		return "", ""
	}
	short := "" // day without its year, which without a dive may be any number
	for i, f := range fields {
		for n := range min(3, len(fields)-i) {
			written := strings.Trim(strings.Join(fields[i:i+n+1], " "), "(),:;–-")
			if day == "" && isDate(written, 0) {
				day = written
			}
			if short == "" && isDate(written, anyYear) && (strings.Count(written, ".") == 2 || strings.ContainsFunc(written, unicode.IsLetter)) {
				short = written
			}
		}
		h := readHeading(f)
		if best := candidates(h, h.whole); i+1 < len(fields) && dive == "" && len(best) == 1 && best[0].column.Name == "dive" {
			if label := strings.Trim(fields[i+1], "(),:;.–-#"); digitsOnly(label) {
				dive = label
			}
		}
	}
	if dive != "" && day == "" {
		day = short
	}
	return dive, day
}

func isDate(text string, year int) bool {
	return slices.ContainsFunc(dateForms, func(form string) bool { _, err := readDate(text, form, year); return err == nil })
}

// namesDive says whether a text names a dive or a day with other words.
func namesDive(text string) bool {
	dive, day := section(text)
	return dive != "" || day != "" && day != text
}

// days are those that lines above dives name.
func (s *Source) days() (out []string) {
	for _, r := range s.rows {
		if i := s.alone(r); i >= 0 {
			if _, day := section(r.cells[i]); day != "" {
				out = append(out, day)
			}
		}
	}
	return out
}

// row reads the cells of a row.
func (c *converter) row(r row) Line {
	l := Line{Number: r.line, Cells: session.Row{}, from: r}
	for i, text := range r.cells {
		u := &c.columns[i]
		switch {
		case text == "":
		case u.To == "":
			c.out.Account.add(fmt.Sprintf("under %q", u.Heading), 1)
		case u.To == Asked:
			c.out.Account.add("asked about", 1)
		case c.m.saysNothing(u.To, text):
			l.taken++
		default:
			c.cell(&l, u, text)
		}
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
	case u.To == "date" || u.To == stamp || u.To == "thrusters":
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
	c.first[u.Heading] = cmp.Or(c.first[u.Heading], c.s.Where(l.Number))
	c.bad[u.Heading] = append(c.bad[u.Heading], c.s.problem(l.Number, u.Heading, why, args...))
}

// explain remarks on what was kept in the note; a heading that most cells do
// not fit is a problem.
func (c *converter) explain() {
	for i := range c.columns {
		list := c.bad[c.columns[i].Heading]
		if n := len(list); n > 0 && float64(n) > offShare*float64(len(c.s.column(c.columns[i].Heading, c.m.Empty))) {
			c.out.Problems = append(c.out.Problems, list...)
		} else if n > 0 {
			c.remark("%s under %q kept in the note, such as %s: %s", problem.Count(n, "cell"), c.columns[i].Heading, c.first[c.columns[i].Heading], list[0].Text)
		}
	}
}

func (c *converter) problem(line int, heading, format string, args ...any) {
	c.out.Problems = append(c.out.Problems, c.s.problem(line, heading, format, args...))
}

func (c *converter) remark(format string, args ...any) {
	c.out.Remarks = append(c.out.Remarks, fmt.Sprintf(format, args...))
}
