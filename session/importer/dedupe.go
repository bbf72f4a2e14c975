package importer

import (
	"time"

	"sagline/session"
	"sagline/session/problem"
)

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
