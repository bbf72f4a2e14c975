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

// group divides lines into dives and puts those in order of their dates. Only the first line of a
// dive must have label and date. If no date is known, it asks for one.
func (c *converter) group(lines []Line) {
	at := map[string]int{} // index in c.dives of each dive
	by, key := map[string]string{ByColumn: "dive", ByDate: "date"}[c.m.Dives], ""
	for _, l := range lines {
		key = cmp.Or(l.Cells[by], key)
		n, ok := at[key]
		if !ok {
			n = len(c.dives)
			at[key] = n
			c.dives = append(c.dives, nil)
		}
		c.dives[n] = append(c.dives[n], l)
	}
	undated := func(d []Line) bool { return d[0].Cells["date"] == "" }
	byDate := func(a, b []Line) int { return cmp.Compare(a[0].Cells["date"], b[0].Cells["date"]) } // ISO 8601 sorts as text
	_, given := c.given["date"]                                                                    // "" if a person said that it is unknown
	switch {
	case c.k.Log.KeepsDays() && !given && slices.ContainsFunc(c.dives, undated) && !c.m.Dated() && c.m.Date != Asked:
		c.asks("", "", `no date in the file: which day was it? "" for unknown; without a terminal: --cell date=2026-05-31`, nil, func(a string) (string, error) {
			if a == "" {
				c.given["date"] = ""
				return a, nil
			}
			return a, c.putDate(c.given, "date", a)
		})
	case !slices.ContainsFunc(c.dives, undated) && !slices.IsSortedFunc(c.dives, byDate):
		slices.SortStableFunc(c.dives, byDate)
		c.remark("dives put in order of their dates")
	}
	for _, d := range c.dives {
		for _, l := range d[1:] {
			if l.Cells["dive"] = d[0].Cells["dive"]; l.Cells["date"] == d[0].Cells["date"] {
				delete(l.Cells, "date")
			}
		}
	}
}

// label gives the next free numbers to dives without a label, or to all dives if one has the label
// of another dive.
func (c *converter) label() {
	used, anew, last := map[string]bool{}, false, 0
	for _, d := range c.k.Log.Dives {
		used[d.Label] = c.m.Dives != ByColumn // with ByColumn, dedupe reports it as a problem
		if n, err := strconv.Atoi(d.Label); err == nil {
			last = max(last, n)
		}
	}
	for _, d := range c.dives {
		if label := d[0].Cells["dive"]; label != "" {
			anew = anew || used[label]
			used[label] = true
		}
	}
	for _, d := range c.dives {
		if !anew && d[0].Cells["dive"] != "" {
			continue
		}
		for last++; !anew && used[strconv.Itoa(last)]; { // if all are renumbered, none of the log's is past last
			last++
		}
		for _, l := range d {
			l.Cells["dive"] = strconv.Itoa(last)
		}
	}
}

// check parses each dive's lines as those of a log. Readings that no log accepts move to the note;
// other problems are reported with their place in the source.
func (c *converter) check() {
	for _, from := range c.dives {
		lines, list := session.ParseRows(Rows(from)...)
		for c.keepImpossible(from, list) { // without those readings the lines may have other problems
			lines, list = session.ParseRows(Rows(from)...)
		}
		if from[0].Cells["date"] == "" && c.m.Dives == ByDate && c.m.Dated() {
			c.problem(from[0].Number, c.heading("date", ""), "empty, want it on a dive's first line: dives are told apart by their days")
		}
		for _, p := range list {
			c.problem(from[max(p.Line, 1)-1].Number, c.heading(p.ColumnName(), ""), "%s", p.Text)
		}
		for i := range lines {
			for _, d := range lines[i].Drives {
				if !slices.Contains(c.k.Thrusters, d.Name) {
					c.problem(from[i].Number, c.heading("thrusters", d.Name), "found %s, want a thruster of vehicle.toml%s", problem.Quote(d.Name), problem.OfThese(d.Name, c.k.Thrusters))
				}
			}
		}
	}
}

// Rows returns the cells of lines.
func Rows(lines []Line) (rows []session.Row) {
	for _, l := range lines {
		rows = append(rows, l.Cells)
	}
	return rows
}

// keepImpossible moves the impossible readings in list to their lines' notes. found reports whether
// there were any.
func (c *converter) keepImpossible(from []Line, list problem.List) (found bool) {
	for _, p := range list {
		l := &from[max(p.Line, 1)-1]
		column, ok := session.Find(p.ColumnName())
		i := c.s.Index(c.heading(p.ColumnName(), ""))
		if !ok || column.Unit == "" && column.Quantity != "clock" || i < 0 || i >= len(l.from.Cells) || l.Cells[column.Name] == "" {
			continue
		}
		found = true
		delete(l.Cells, column.Name)
		if u, text := &c.columns[i], l.from.Cells[i]; !strings.Contains(l.Cells["note"], u.Heading+": "+text) { // unless noted for another number of the cell
			l.taken, l.noted = l.taken-1, l.noted+1
			c.keep(l, u, text, "%s", p.Text)
		}
	}
	return found
}

// heading returns the source's heading that gives a column, or that of one thruster.
func (c *converter) heading(column, drive string) string {
	found := column
	for _, u := range c.columns {
		switch {
		case drive != "" && u.Drive == drive:
			return u.Heading
		case found == column && gives(u.targets, column):
			found = u.Heading
		}
	}
	return found
}

// dedupe leaves out dives that the log has, by label, or by day if the source has no labels. A
// label of another dive, or a dive before the log's newest, is a problem.
func (c *converter) dedupe(log *session.Log) {
	by, newest, older := "date", "", false
	if c.m.Dives == ByColumn {
		by = "dive"
	}
	had := map[string]*session.Dive{}
	for i := range log.Dives {
		d := &log.Dives[i]
		newest = cmp.Or(d.Day(), newest)
		if key := (session.Row{"dive": d.Label, "date": d.Day()})[by]; key != "" {
			had[key] = cmp.Or(had[key], d)
		}
	}
	c.dives = slices.DeleteFunc(c.dives, func(d []Line) bool {
		day, old := d[0].Cells["date"], had[d[0].Cells[by]]
		if d[0].Cells[by] == "" {
			old = sameLines(log, d)
		}
		switch {
		case old != nil && (day == "" || old.Day() == "" || old.Day() == day):
			c.out.Skipped = append(c.out.Skipped, old.String())
			c.differ(old, d)
			return true
		case old != nil:
			c.problem(d[0].Number, "", `dive %s is another dive in the log, of %s; dives = "date" in the mapping numbers anew`, problem.Quote(old.Label), old.Day())
		case day != "" && day < newest && !older:
			older = true
			c.problem(d[0].Number, "", "dive of %s is before the log's newest, %s, and a log is in order of dates; import older dives into a logbook of their own", day, newest)
		}
		return false
	})
}

// sameLines returns the log's dive without a day that has the same lines, nil if there is none.
func sameLines(log *session.Log, from []Line) *session.Dive {
	lines, _ := session.ParseRows(Rows(from)...)
	for _, d := range log.Dives {
		if d.Day() == "" && slices.EqualFunc(d.Lines, lines, func(a, b session.Line) bool { return len(session.Differences(&a, &b)) == 0 }) {
			return &d
		}
	}
	return nil
}

// differ counts the cells of a dive that the log has, and lists the differences from the log.
func (c *converter) differ(old *session.Dive, from []Line) {
	lines, _ := session.ParseRows(Rows(from)...)
	if len(lines) != len(old.Lines) {
		c.out.Changed = append(c.out.Changed, fmt.Sprintf("dive %s has %s here, %d in the log", old, problem.Count(len(lines), "line"), len(old.Lines)))
	}
	for i, l := range from {
		c.out.Account.Add("of dives that the log has", l.taken+l.noted)
		if i >= min(len(lines), len(old.Lines)) {
			continue
		}
		for _, change := range session.Differences(&old.Lines[i], &lines[i]) {
			c.out.Changed = append(c.out.Changed, fmt.Sprintf("dive %s, %s: %s", old, c.s.Where(l.Number), change))
		}
	}
}
