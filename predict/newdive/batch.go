package newdive

import (
	"fmt"
	"strings"

	"sagline/session"
)

// mostDoubted is how many lines that are written at once are compared with what
// they should be: common practice, no source. Each takes some milliseconds.
const mostDoubted = 500

// All words, a line each, the doubts about rows of dives that follow the log.
func (d *Dive) All(rows []session.Row) (out []string) {
	for i, row := range rows[:min(len(rows), mostDoubted)] {
		if i == 0 || row["dive"] != d.Label {
			d.Begin(row["dive"])
		}
		for _, b := range d.Doubts(row) {
			out = append(out, strings.TrimSpace(fmt.Sprintf("line %d, %s %s", i+1, b.String(), b.Meant())))
		}
		d.Put(len(d.Rows), row)
	}
	return out
}
