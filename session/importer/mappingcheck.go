package importer

import (
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// checker judges what a mapping's keys hold.
type checker struct {
	name string
	at   map[string][]int
	list problem.List
}

// bad tells of the i-th table or key of a name.
func (c *checker) bad(name string, i int, what, format string, args ...any) {
	line := 0
	if i < len(c.at[name]) {
		line = c.at[name][i]
	}
	c.list.Add(c.name, line, what, format, args...)
}

func (c *checker) oneOf(key, word string, words ...string) {
	if !slices.Contains(words, word) {
		c.bad(key, 0, key, "found %s, want %s%s", problem.Quote(word), quoted(words), problem.Suggest(word, words))
	}
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = strconv.Quote(w)
	}
	return strings.Join(out, ", ")
}

func (c *checker) mapping(f *file) *Mapping {
	c.oneOf("rows", f.Rows, Observations, Samples)
	c.oneOf("dives", f.Dives, ByColumn, ByDate, ByFile)
	c.oneOf("date", f.Date, append(slices.Clone(dateForms), Asked)...)
	c.oneOf("decimal", f.Decimal, ".", ",", Asked)
	m := &Mapping{Rows: f.Rows, Dives: f.Dives, Prefix: f.Prefix, Date: f.Date, Decimal: f.Decimal, Yes: f.Yes, No: f.No, Empty: f.Empty,
		Thrusters: map[string]string{}, Constant: map[string]string{}, WindowS: f.Cut.WindowS, LeastS: f.Cut.LeastS, SettleS: f.Cut.SettleS}
	for _, s := range []float64{f.Cut.WindowS, f.Cut.LeastS, f.Cut.SettleS} {
		if !(s >= 0 && s <= 3600) {
			c.bad("cut", 0, "cut", "found %g, want 0 to 3600 s", s)
		}
	}
	seen, used := map[string]bool{}, map[string]string{}
	for i, e := range f.Columns {
		m.Columns = append(m.Columns, c.column(i, e, seen, used))
	}
	for word, to := range f.Thrusters {
		m.Thrusters[word] = to
	}
	for name, text := range f.Constant {
		if _, ok := session.Find(name); !ok {
			c.bad("constant", 0, "constant", "found %s, want a column of dives.csv%s", problem.Quote(name), problem.Suggest(name, columnNames()))
		}
		m.Constant[name] = text
	}
	for i, l := range f.Levels {
		if col, ok := session.Find(l.Column); !ok || col.Unit == "" {
			near := ""
			if !ok {
				near = problem.Suggest(l.Column, columnNames())
			}
			c.bad("level", i, "level.column", "found %s, want a column of numbers%s", problem.Quote(l.Column), near)
		}
		if !(l.From <= l.To) {
			c.bad("level", i, "level", "from %g to %g, want the lower first", l.From, l.To)
		}
		m.Levels = append(m.Levels, Level(l))
	}
	return m
}

// twice is the heading that stands for a quantity already: any, or where the
// column is of one thruster, one that is of the same or of all.
func (c *checker) twice(quantity, drive string, used map[string]string) string {
	if drive == "" {
		return used[quantity]
	}
	if all := used[quantity+":"]; all != "" {
		return all
	}
	return used[quantity+":"+drive]
}

// column judges one [[column]].
func (c *checker) column(i int, e entry, seen map[string]bool, used map[string]string) Match {
	what := "column " + problem.Quote(e.Heading)
	m := Match{Heading: e.Heading, To: e.To, Times: e.Times, Plus: e.Plus, Form: e.Form, Drive: e.Drive, Sure: Sure, Why: "as the mapping says"}
	col, ok := session.Find(e.To)
	switch {
	case e.Heading == "":
		c.bad("column", i, "column", "no heading, want the file's")
	case seen[e.Heading]:
		c.bad("column", i, what, "stands twice, want it once")
	case !ok && e.To != "" && e.To != Asked && e.To != stamp:
		c.bad("column", i, what, "to is %s, want a column of dives.csv, %q, or \"\" to leave it out%s",
			problem.Quote(e.To), stamp, problem.Suggest(e.To, columnNames()))
	case e.Drive != "" && e.To != "thrusters":
		c.bad("column", i, what, "drive is %s, want to = \"thrusters\" beside it", problem.Quote(e.Drive))
	case ok && col.Quantity != "note" && c.twice(col.Quantity, e.Drive, used) != "":
		c.bad("column", i, what, "to is %q, as %s is, want one of them", e.To, problem.Quote(c.twice(col.Quantity, e.Drive, used)))
	}
	if ok {
		used[col.Quantity+":"+e.Drive], used[col.Quantity] = e.Heading, e.Heading
	}
	seen[e.Heading] = true
	forms := []string{"", minSec, hourMin, unixS, unixMS}
	if !slices.Contains(forms, e.Form) {
		c.bad("column", i, what, "form is %s, want %s", problem.Quote(e.Form), quoted(forms[1:]))
	}
	if m.Times == 0 {
		m.Times = 1
	}
	return m
}

func columnNames() []string {
	all := session.Columns()
	out := make([]string, len(all))
	for i, c := range all {
		out[i] = c.Name
	}
	return out
}
