package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// A Result is what a mapping makes of a source. It can be written when nothing
// is asked and there is no problem.
type Result struct {
	Lines    []Line
	Asked    []string     // what a person must say first
	Problems problem.List // what cannot be read, or would not be a sound log
	Remarks  []string     // what was left out, assumed or put in order
	Skipped  []string     // dives that the log has
}

// A Line is one line to be written, and the line of the source that it came
// from.
type Line struct {
	Number int
	Cells  session.Row
}

// converter is the work of Convert.
type converter struct {
	m     *Mapping
	k     Known
	s     *Source
	given session.Row // cells of every line
	out   *Result

	marksOff bool // a column of one thruster says where it did not run
}

// Convert makes lines of a source by a mapping; given are cells of every line.
// Its problems name file, line and heading.
func Convert(s *Source, m *Mapping, k Known, given session.Row) *Result {
	c := &converter{m: m, k: k, s: s, given: given, out: &Result{Problems: slices.Clone(s.problems)}}
	c.ask()
	c.rows()
	c.group()
	c.check()
	if len(c.out.Problems) == 0 && k.Log != nil {
		c.dedupe(k.Log)
	}
	slices.SortStableFunc(c.out.Problems, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) }) // the whole file last
	return c.out
}

// ask gathers what the mapping leaves to a person.
func (c *converter) ask() {
	for _, m := range c.m.Columns {
		if question := problem.Quote(m.Heading) + ": " + cmp.Or(m.Why, `which column? "" leaves it out`); m.To == Asked && c.s.Has(m.Heading) {
			c.out.Asked = append(c.out.Asked, question)
		}
	}
	if d := c.m.to("date"); c.m.Date == Asked && d != nil {
		c.out.Asked = append(c.out.Asked, fmt.Sprintf(`dates such as %s: %q or %q?`, problem.Quote(cmp.Or(c.s.column(d.Heading, nil)...)), DayFirst, MonthFirst))
	}
	if c.m.Decimal == Asked {
		c.out.Asked = append(c.out.Asked, `numbers with three digits after the mark: decimal "." or ","?`)
	}
	words := slices.DeleteFunc(slices.Sorted(maps.Keys(c.m.Thrusters)), func(w string) bool { return c.m.Thrusters[w] != Asked })
	if len(words) > 0 {
		which := ""
		if len(c.k.Thrusters) > 0 {
			which = " (the vehicle has " + strings.Join(c.k.Thrusters, ", ") + ")"
		}
		c.out.Asked = append(c.out.Asked, fmt.Sprintf("thrusters %q: which are they?%s", words, which))
	}
}

// rows makes a line of each row.
func (c *converter) rows() {
	var unused []string
	for _, r := range c.s.rows {
		cells := c.row(r)
		if !slices.ContainsFunc(slices.Collect(maps.Keys(cells)), func(name string) bool { return name != "dive" && name != "date" }) {
			unused = append(unused, strconv.Itoa(r.line))
			continue
		}
		for name, text := range c.given {
			if cells[name] == "" {
				cells[name] = text
			}
		}
		c.out.Lines = append(c.out.Lines, Line{r.line, cells})
	}
	c.unmarked()
	if n := len(unused); n > 0 {
		c.remark("%s without anything that is used, left out: %s", problem.Count(n, "row"), strings.Join(unused[:min(n, 8)], ", "))
	}
}

// row reads the cells of a row.
func (c *converter) row(r row) session.Row {
	cells := session.Row{}
	for i, text := range r.cells[:min(len(r.cells), len(c.s.headings))] {
		m := c.m.find(c.s.headings[i].text)
		if m == nil || m.To == "" || m.To == Asked || c.m.saysNothing(m.To, text) {
			continue
		}
		if err := c.put(cells, m, text); err != nil && len(c.out.Asked) == 0 { // an answer may make it readable
			c.problem(r.line, m.Heading, "%v", err)
		}
	}
	return cells
}

func (c *converter) problem(line int, heading, format string, args ...any) {
	c.out.Problems = append(c.out.Problems, problemAt(c.s.File, line, heading, format, args...))
}

func (c *converter) remark(format string, args ...any) {
	c.out.Remarks = append(c.out.Remarks, fmt.Sprintf(format, args...))
}
