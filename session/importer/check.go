package importer

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// check reads the lines of each dive as any log is read. A reading that no log
// takes is kept in the note; the other problems are added by where they came
// from.
func (c *converter) check() {
	for at := 0; at < len(c.out.Lines); {
		n := at
		for ; n < len(c.out.Lines) && c.out.Lines[n].Cells["dive"] == c.out.Lines[at].Cells["dive"]; n++ {
		}
		c.checkDive(c.out.Lines[at:n])
		at = n
	}
}

func (c *converter) checkDive(from []Line) {
	var rows []session.Row
	for _, l := range from {
		rows = append(rows, l.Cells)
	}
	lines, list := session.ParseRows(rows...)
	moved := len(list)
	list = slices.DeleteFunc(list, func(p *problem.Problem) bool { return c.impossible(&from[max(p.Line, 1)-1], p) })
	if moved > len(list) { // the lines without those may have other problems
		c.checkDive(from)
		return
	}
	if rows[0]["date"] == "" {
		c.problem(from[0].Number, c.heading("date", ""), "empty, want it on a dive's first line")
	}
	for _, p := range list {
		c.problem(from[max(p.Line, 1)-1].Number, c.heading(p.ColumnName(), ""), "%s", p.Text)
	}
	for i := range lines {
		for _, d := range lines[i].Drives {
			if len(c.k.Thrusters) > 0 && !slices.Contains(c.k.Thrusters, d.Name) {
				c.problem(from[i].Number, c.heading("thrusters", d.Name), "found %s, want a thruster of vehicle.toml%s", problem.Quote(d.Name), problem.Suggest(d.Name, c.k.Thrusters))
			}
		}
	}
}

// impossible puts a reading that no log takes to its line's note.
func (c *converter) impossible(l *Line, p *problem.Problem) bool {
	column, ok := session.Find(p.ColumnName())
	i := c.s.Index(c.heading(p.ColumnName(), ""))
	if !ok || column.Unit == "" && column.Quantity != "clock" || i < 0 || i >= len(l.from.Cells) || l.Cells[column.Name] == "" {
		return false
	}
	delete(l.Cells, column.Name)
	if u, text := &c.columns[i], l.from.Cells[i]; !strings.Contains(l.Cells["note"], u.Heading+": "+text) { // where a number beside it is
		l.taken, l.noted = l.taken-1, l.noted+1
		c.keep(l, u, text, "%s", p.Text)
	}
	return true
}

// heading is what the source calls a column: that of one thruster where it has
// one, else what becomes the column.
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

// dedupe leaves out the dives that the log has: those of a label, or of a day
// where the labels are given here. A label that is another dive's, or a dive
// before the log's newest, is a problem.
func (c *converter) dedupe(log *session.Log) {
	labels, days := map[string]string{}, map[string]bool{}
	newest := ""
	for i := range log.Dives {
		newest = log.Dives[i].Date.Format(time.DateOnly)
		labels[log.Dives[i].Label], days[newest] = newest, true
	}
	kept, drop, older := []Line(nil), false, false
	for _, l := range c.out.Lines {
		if dive, day := l.Cells["dive"], l.Cells["date"]; day != "" { // its first line
			had, again := labels[dive]
			if c.m.Dives != ByColumn {
				had, again = day, days[day]
			}
			switch drop = again && had == day; {
			case drop:
				c.out.Skipped = append(c.out.Skipped, dive+" ("+day+")")
				c.differ(log, dive, day)
			case again:
				c.problem(l.Number, "", `dive %s is another dive in the log, of %s; dives = "date" in the mapping numbers anew`, problem.Quote(dive), had)
			case day < newest && !older:
				older = true
				c.problem(l.Number, "", "dive of %s is before the log's newest, %s, and a log is in order of dates; import older dives into a logbook of their own", day, newest)
			}
		}
		if drop {
			c.out.Account.Add("of dives that the log has", l.taken+l.noted)
		} else {
			kept = append(kept, l)
		}
	}
	c.out.Lines = kept
	if c.m.Dives != ByColumn && len(c.out.Skipped) > 0 {
		for _, l := range kept {
			delete(l.Cells, "dive")
		}
		c.group()
	}
}

// differ says what of a dive differs from what the log has of it.
func (c *converter) differ(log *session.Log, label, day string) {
	var rows []session.Row
	var from []Line
	for _, l := range c.out.Lines {
		if l.Cells["dive"] == label {
			rows, from = append(rows, l.Cells), append(from, l)
		}
	}
	at := slices.IndexFunc(log.Dives, func(d session.Dive) bool {
		return d.Date.Format(time.DateOnly) == day && (d.Label == label || c.m.Dives != ByColumn)
	})
	lines, _ := session.ParseRows(rows...)
	old := &log.Dives[at]
	if len(lines) != len(old.Lines) {
		c.out.Changed = append(c.out.Changed, fmt.Sprintf("dive %s has %s here, %d in the log", old, problem.Count(len(lines), "line"), len(old.Lines)))
	}
	for i := range min(len(lines), len(old.Lines)) {
		for _, change := range session.Differences(&old.Lines[i], &lines[i]) {
			c.out.Changed = append(c.out.Changed, fmt.Sprintf("dive %s, %s: %s", old, c.s.Where(from[i].Number), change))
		}
	}
}
