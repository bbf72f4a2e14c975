package importer

import (
	"slices"
	"strings"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// check reads the lines of each dive as any log is read, and adds the problems
// by where they came from.
func (c *converter) check() {
	if len(c.out.Asked) > 0 {
		return
	}
	for at := 0; at < len(c.out.Lines); {
		n, rows := at, []session.Row(nil)
		for ; n < len(c.out.Lines) && c.out.Lines[n].Cells["dive"] == c.out.Lines[at].Cells["dive"]; n++ {
			rows = append(rows, c.out.Lines[n].Cells)
		}
		c.checkDive(c.out.Lines[at:n], rows)
		at = n
	}
}

func (c *converter) checkDive(from []Line, rows []session.Row) {
	for _, name := range []string{"dive", "date"} {
		if rows[0][name] == "" {
			c.problem(from[0].Number, c.heading(name, ""), "empty, want it on a dive's first line")
		}
	}
	lines, list := session.ParseRows(rows...)
	for _, p := range list {
		column := strings.Trim(strings.TrimPrefix(p.Column, "column "), `"`)
		c.problem(from[max(p.Line, 1)-1].Number, c.heading(column, ""), "%s", p.Text)
	}
	for i := range lines {
		for _, d := range lines[i].Drives {
			if len(c.k.Thrusters) > 0 && !slices.Contains(c.k.Thrusters, d.Name) {
				c.problem(from[i].Number, c.heading("thrusters", d.Name), "found %s, want a thruster of vehicle.toml%s", problem.Quote(d.Name), problem.Suggest(d.Name, c.k.Thrusters))
			}
		}
	}
}

// heading is what the source calls a column: that of one thruster where it has
// one, else what becomes the column.
func (c *converter) heading(column, drive string) string {
	found := column
	for _, h := range c.s.headings {
		m := c.m.find(h.text)
		switch {
		case m == nil:
		case drive != "" && m.Drive == drive:
			return h.text
		case found == column && (m.To == column || m.To == stamp && (column == "date" || column == "time")):
			found = h.text
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
	kept, drop, older := c.out.Lines[:0], false, false
	for _, l := range c.out.Lines {
		if dive, day := l.Cells["dive"], l.Cells["date"]; day != "" { // its first line
			had, again := labels[dive]
			if c.m.Dives != ByColumn {
				had, again = day, days[day]
			}
			switch drop = again && had == day; {
			case drop:
				c.out.Skipped = append(c.out.Skipped, dive+" ("+day+")")
			case again:
				c.problem(l.Number, "", `dive %s is another dive in the log, of %s; dives = "date" in the mapping numbers anew`, problem.Quote(dive), had)
			case day < newest && !older:
				older = true
				c.problem(l.Number, "", "dive of %s is before the log's newest, %s, and a log is in order of dates; import older dives into a logbook of their own", day, newest)
			}
		}
		if !drop {
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
