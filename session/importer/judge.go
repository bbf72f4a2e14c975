package importer

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// judge reads the lines as any log is read, and tells the problems by where
// they came from.
func (t *taking) judge() {
	if len(t.out.Lines) == 0 || len(t.out.Asked) > 0 {
		return
	}
	log, err := t.log()
	if err == nil {
		t.judgeDrives(log)
		return
	}
	for _, p := range problem.Listed(err) {
		line := t.lineOf(p.Line)
		t.out.Problems = append(t.out.Problems, &problem.Problem{File: t.s.File, Line: line, Column: t.heading(p.Column), Text: p.Text})
	}
}

// judgeDrives holds the names of thrusters against the vehicle's.
func (t *taking) judgeDrives(log *session.Log) {
	if len(t.k.Thrusters) == 0 {
		return
	}
	for i := range log.Dives {
		for k := range log.Dives[i].Lines {
			l := &log.Dives[i].Lines[k]
			for _, d := range l.Drives {
				if !slices.Contains(t.k.Thrusters, d.Name) {
					t.out.Problems = append(t.out.Problems, &problem.Problem{File: t.s.File, Line: t.lineOf(l.Number), Column: t.headingOf(d.Name),
						Text: fmt.Sprintf("found %s, want a thruster of vehicle.toml%s", problem.Quote(d.Name), problem.Suggest(d.Name, t.k.Thrusters))})
				}
			}
		}
	}
}

// log is the lines as a log. Line numbers in it and in its error count the
// lines of text.
func (t *taking) log() (*session.Log, error) {
	return session.Read(strings.NewReader(t.text()), t.s.File)
}

// text is the lines as a table with every cell quoted, so that none can be
// taken for anything else.
func (t *taking) text() string {
	names := Used(t.out.Lines)
	var b strings.Builder
	line := func(cell func(string) string) {
		for i, n := range names {
			if i > 0 {
				b.WriteByte(';')
			}
			b.WriteByte('"')
			b.WriteString(strings.ReplaceAll(cell(n), `"`, `""`))
			b.WriteByte('"')
		}
		b.WriteByte('\n')
	}
	line(func(n string) string { return n })
	t.starts = t.starts[:0]
	at := 2
	for _, l := range t.out.Lines {
		t.starts = append(t.starts, at)
		for _, n := range names {
			at += strings.Count(l.Cells[n], "\n")
		}
		at++
		line(func(n string) string { return l.Cells[n] })
	}
	return b.String()
}

// Used are the columns that lines fill, in the order of the table.
func Used(lines []Line) (names []string) {
	has := map[string]bool{"dive": true, "date": true}
	for _, l := range lines {
		for n, c := range l.Cells {
			has[n] = has[n] || c != ""
		}
	}
	for _, c := range session.Columns() {
		if has[c.Name] {
			names = append(names, c.Name)
		}
	}
	return names
}

// lineOf is the source's line of a line of the text made last.
func (t *taking) lineOf(line int) int {
	i := sort.SearchInts(t.starts, line+1) - 1
	if i < 0 {
		return 0
	}
	return t.out.Lines[i].Number
}

// headingOf names the column that a thruster came from.
func (t *taking) headingOf(drive string) string {
	for _, h := range t.s.headings {
		if m := t.uses[h.text]; m != nil && m.Drive == drive {
			return "column " + problem.Quote(h.text)
		}
	}
	return t.heading("thrusters")
}

// heading names the column of a problem as the source does.
func (t *taking) heading(place string) string {
	name := strings.Trim(strings.TrimPrefix(place, "column "), `"`)
	for _, h := range t.s.headings {
		if m := t.uses[h.text]; m != nil && (m.To == name || m.To == stamp && (name == "date" || name == "time")) {
			return "column " + problem.Quote(h.text)
		}
	}
	return place
}
