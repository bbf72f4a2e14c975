package session

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/session/problem"
)

// Append adds each row at the end of its dive, or at the end of the log if the dive is new. Columns
// that the file lacks are added to its header. If the file has a quantity in another unit, the
// number is converted. The date is written on a dive's first line only. With several rows, an error
// says which row is wrong.
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
		p.Line = 0 // there is only one row
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

// places says where appended lines go, as indexes into File.records.
type places struct {
	after map[string]int // the record after each dive's last row
	end   int            // after the last record that is not blank
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

// next returns the record before which a dive's next line goes, and whether it is the dive's first
// line. It counts that line as inserted.
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

// dive returns the dive label in a row.
func (f *File) dive(r record) string {
	for k, text := range r.cells(f.separator, nil) {
		if k < len(f.columns) && f.columns[k] != nil && f.columns[k].Name == "dive" {
			return unescapeFormula(clean(text))
		}
	}
	return ""
}

// RowIndex returns the current index of the i-th of a dive's rows, and its line number in the file.
// rows are the dive's rows as they were shown; another program may have added lines since. The error
// says that the row has changed.
func (f *File) RowIndex(dive string, i int, rows []Row) (index, line int, err error) {
	now := f.rowsOf(dive)
	said := func(row Row) Row {
		row = known(row)
		delete(row, "date") // only a dive's first line has it
		return row
	}
	same := func(r record) bool { return sameRow(said(f.row(r)), said(rows[i])) }
	if len(now) == len(rows) && same(now[i]) {
		return i, now[i].line, nil
	}
	for k, r := range slices.Backward(now) {
		if same(r) {
			return k, r.line, nil
		}
	}
	return 0, 0, problem.Whole(f.path, "line %d of dive %s is not as it was shown: another program has changed it, and sagline amend shows what is there", i+1, problem.Quote(dive))
}

// ReplaceRow replaces a dive's i-th row, counted from 0, except cells of unknown columns. It does
// not keep the old row in a comment: it is meant for a line written a moment ago.
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

// insert inserts records before the i-th. The caller must renumber.
func (f *File) insert(i int, r ...record) {
	if last := len(f.records) - 1; i > last && f.records[last].end() == "" {
		f.records[last].text += f.end
	}
	f.records = slices.Insert(f.records, i, r...)
}

// renumber counts the records' line numbers again after a change.
func (f *File) renumber() {
	line := 1
	for i := range f.records {
		f.records[i].line = line
		t := f.records[i].text
		line += strings.Count(t, "\n") + strings.Count(t, "\r") - strings.Count(t, "\r\n")
	}
}
