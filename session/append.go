package session

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/session/problem"
)

// Append writes rows down, each at the end of its dive, a new dive at the end
// of the log. Columns that the file lacks are added to its header, unless it
// has the quantity in another unit: that stays, and the number is turned into
// it. The date is written on a dive's first line only. An error of one of several
// rows says which.
func (f *File) Append(rows ...Row) error {
	p := f.places()
	for i, e := range rows {
		if err := f.append(e, p); err != nil && len(rows) > 1 {
			return fmt.Errorf("line %d: %w", i+1, err)
		} else if err != nil {
			return err
		}
	}
	f.renumber()
	return nil
}

func (f *File) append(e Row, p *places) error {
	_, list := ParseRows(e)
	for _, p := range list {
		p.Line = 0 // it is the only one
	}
	if list != nil {
		return list.Err()
	}
	row := f.cells(e, 0, &list)
	if list != nil {
		return list.Err()
	}
	at, first := p.next(clean(e["dive"]))
	if !first {
		for k, c := range f.columns {
			if c != nil && c.Name == "date" && k < len(row) {
				row[k] = ""
			}
		}
	}
	f.insert(at, record{text: f.join(row)})
	return nil
}

// places are where lines go, found once for all that are appended.
type places struct {
	after map[string]int // the record after each dive's last row
	end   int            // after all but the blank lines at the end of a file
}

func (f *File) places() *places {
	p := &places{after: map[string]int{}, end: f.header + 1}
	for i := f.header + 1; i < len(f.records); i++ {
		r := f.records[i]
		if r.blank(f.separator) {
			continue
		}
		p.end = i + 1
		if !r.comment() {
			p.after[f.dive(r)] = i + 1
		}
	}
	return p
}

// next is where a dive's next line goes, and whether it is its first.
func (p *places) next(dive string) (at int, first bool) {
	at, again := p.after[dive]
	if !again {
		at = p.end
	}
	if at < p.end {
		for d, after := range p.after {
			if after > at {
				p.after[d] = after + 1
			}
		}
	}
	p.after[dive] = at + 1
	p.end++
	return at, !again
}

// dive is the label of a row.
func (f *File) dive(r record) string {
	for k, text := range r.cells(f.separator, nil) {
		if k < len(f.columns) && f.columns[k] != nil && f.columns[k].Name == "dive" {
			return unescapeFormula(clean(text))
		}
	}
	return ""
}

// PlaceOf is where the i-th of a dive's rows stands now, from 0: another program may
// have written lines of the dive meanwhile, or changed this one, which is an error.
func (f *File) PlaceOf(dive string, i int, rows []Row) (int, error) {
	now := f.rowsOf(dive)
	if len(now) == len(rows) {
		return i, nil
	}
	said := func(row Row) Row {
		row = known(row)
		delete(row, "date") // of a dive's first line alone
		return row
	}
	for k := len(now) - 1; k >= 0; k-- {
		if sameRow(said(f.row(now[k])), said(rows[i])) {
			return k, nil
		}
	}
	return 0, problem.Whole(f.path, "line %d of dive %s is not as it was shown: another program has changed it, and sagline amend shows what is there", i+1, problem.Quote(dive))
}

// ReplaceRow puts a row in the place of a dive's i-th, from 0; unknown columns
// keep their cells. It is for a line written a moment ago: the old one is not
// kept.
func (f *File) ReplaceRow(dive string, i int, e Row) error {
	now := f.rowsOf(dive)
	if i < 0 || i >= len(now) {
		return problem.Whole(f.path, "dive %s has no such line", problem.Quote(dive))
	}
	full := maps.Clone(e)
	for _, c := range f.columns {
		if c != nil && !slices.ContainsFunc(columns, func(o *Column) bool { _, ok := e[o.Name]; return ok && o.Quantity == c.Quantity }) {
			full[c.Name] = ""
		}
	}
	return f.Replace(now[i].line, full, "")
}

// insert puts records before the i-th, and leaves the lines' numbers to its
// caller.
func (f *File) insert(i int, r ...record) {
	if last := len(f.records) - 1; i > last && f.records[last].end() == "" {
		f.records[last].text += f.end
	}
	f.records = slices.Insert(f.records, i, r...)
}

// renumber counts the lines again after a change.
func (f *File) renumber() {
	line := 1
	for i := range f.records {
		f.records[i].line = line
		t := f.records[i].text
		line += strings.Count(t, "\n") + strings.Count(t, "\r") - strings.Count(t, "\r\n")
	}
}
