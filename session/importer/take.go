package importer

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// A Taken is what a mapping makes of a source. It can be written when nothing
// is asked and there is no problem.
type Taken struct {
	Lines    []Line
	Asked    []string     // what a person must say first
	Problems problem.List // what cannot be read, or would not be a sound log
	Remarks  []string     // what was left out, assumed or put in order
	Skipped  []Skip       // dives that the log has already
}

// A Line is one line to be written: cells by column of dives.csv, and the line
// of the source that it came from.
type Line struct {
	Number  int
	Cells   map[string]string
	Stretch *Stretch // nil for an observation
}

// A Skip is a dive that the log has already.
type Skip struct {
	Label string // in the source
	Line  int
	Dive  string // in the log
	Same  bool   // line for line
}

// taking is the work of Take.
type taking struct {
	m     *Mapping
	k     Known
	s     *Source
	notes int // headings that become notes
	out   *Taken

	uses   map[string]*Match // by heading, in the units of the log
	starts []int             // lines of the text that log reads, one for each of out.Lines
}

// Options are what holds for this file alone.
type Options struct {
	Cells     map[string]string // column → cell of every line
	Again     bool              // take dives in that the log has already
	BadToNote bool              // keep a cell that cannot be read in the note, and go on
}

// Take reads a source by a mapping. Its problems name file, line and heading.
func Take(s *Source, m *Mapping, k Known, o Options) *Taken {
	t := &taking{m: m, k: k, s: s, out: &Taken{}, uses: map[string]*Match{}}
	has := k.has()
	for _, c := range m.Columns {
		if c.To == "note" {
			t.notes++
		}
		c.inUnitOf(has)
		t.uses[c.Heading] = &c
	}
	t.ask()
	if m.Rows == Samples {
		t.samples(o)
	} else {
		t.observations(o)
	}
	if s.problem != nil {
		t.out.Problems = append(t.out.Problems, s.problem)
	}
	if err := s.table.Err(); err != nil {
		t.out.Problems = append(t.out.Problems, problem.Listed(err)...)
	}
	t.group(o)
	t.judge()
	if len(t.out.Problems) == 0 && k.Log != nil {
		t.against(k.Log, o)
	}
	slices.SortStableFunc(t.out.Problems, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) }) // the whole file last
	return t.out
}

// inUnitOf turns a match into that of the column that the log has for the
// quantity.
func (m *Match) inUnitOf(has map[string]*session.Column) {
	c, ok := session.Find(m.To)
	if !ok || has[c.Quantity] == nil || has[c.Quantity] == c || c.Unit == "" {
		return
	}
	o := has[c.Quantity]
	at := func(x float64) float64 { return o.FromBase(c.ToBase(x*times(m) + m.Plus)) }
	m.To, m.Plus = o.Name, tidy(at(0))
	m.Times = tidy(at(1) - at(0))
}

// ask gathers what the mapping leaves to a person.
func (t *taking) ask() {
	said := map[string]bool{}
	for _, c := range t.m.Columns {
		if c.To == Asked && t.s.index(c.Heading) >= 0 && !said[c.Why] {
			said[c.Why] = c.Why != ""
			t.out.Asked = append(t.out.Asked, problem.Quote(c.Heading)+": "+orElse(c.Why, `which column? "" leaves it out`))
		}
	}
	if t.m.Date == Asked {
		t.out.Asked = append(t.out.Asked, fmt.Sprintf(`dates such as %s: %q or %q?`, problem.Quote(t.someDate()), DayFirst, MonthFirst))
	}
	if t.m.Decimal == Asked {
		t.out.Asked = append(t.out.Asked, `numbers with three digits after the mark: decimal "." or ","?`)
	}
	var words []string
	for w, to := range t.m.Thrusters {
		if to == Asked {
			words = append(words, problem.Quote(w))
		}
	}
	if slices.Sort(words); len(words) > 0 {
		which := ""
		if len(t.k.Thrusters) > 0 {
			which = " (the vehicle has " + strings.Join(t.k.Thrusters, ", ") + ")"
		}
		t.out.Asked = append(t.out.Asked, "thrusters "+strings.Join(words, ", ")+": which are they?"+which)
	}
}

func (t *taking) someDate() string {
	if c := t.m.to("date"); c != nil {
		return first(t.s.column(c.Heading))
	}
	return ""
}

// observations makes a line of each row.
func (t *taking) observations(o Options) {
	var idle []string
	for _, r := range t.s.first {
		cells := t.row(r, o)
		filled := len(cells)
		for _, name := range []string{"dive", "date"} {
			if cells[name] != "" {
				filled--
			}
		}
		if filled == 0 {
			idle = append(idle, strconv.Itoa(r.line))
			continue
		}
		t.constants(cells, o)
		t.out.Lines = append(t.out.Lines, Line{Number: r.line, Cells: cells})
	}
	t.unmarked()
	if len(idle) > 0 {
		t.remark("%s without anything that is used, left out: %s", problem.Count(len(idle), "row"), few(idle))
	}
}

// row reads the cells of a row.
func (t *taking) row(r row, o Options) map[string]string {
	cells := map[string]string{}
	for i := range t.s.headings {
		m := t.uses[t.s.headings[i].text]
		if i >= len(r.cells) || m == nil || m.To == "" || m.To == Asked || t.m.saysNothing(m.To, r.cells[i]) {
			continue
		}
		if err := t.put(cells, m, r.cells[i]); err != nil {
			if t.asked(m) {
				continue
			}
			if o.BadToNote && m.To != "dive" && m.To != "date" && m.To != stamp {
				addNote(cells, m.Heading+" reads "+r.cells[i])
				t.remark("line %d: %s kept in the note: %v", r.line, problem.Quote(m.Heading), err)
				continue
			}
			t.problem(r.line, m.Heading, "%v", err)
		}
	}
	return cells
}

// asked says whether a cell may be unreadable only since something is not yet
// said.
func (t *taking) asked(m *Match) bool {
	if m.To == "date" || m.To == stamp {
		return t.m.Date == Asked
	}
	c, ok := session.Find(m.To)
	return ok && c.Unit != "" && t.m.Decimal == Asked
}

func (t *taking) constants(cells map[string]string, o Options) {
	for _, from := range []map[string]string{o.Cells, t.m.Constant} {
		for name, text := range from {
			if cells[name] == "" {
				cells[name] = text
			}
		}
	}
}

func (t *taking) problem(line int, heading, format string, args ...any) {
	t.out.Problems = append(t.out.Problems, problemAt(t.s.File, line, heading, format, args...))
}

func (t *taking) remark(format string, args ...any) {
	t.out.Remarks = append(t.out.Remarks, fmt.Sprintf(format, args...))
}

// few is a list cut to what can be read at a glance.
func few(all []string) string {
	const most = 8
	if len(all) > most {
		return "lines " + strings.Join(all[:most], ", ") + " …"
	}
	if len(all) == 1 {
		return "line " + all[0]
	}
	return "lines " + strings.Join(all, ", ")
}
