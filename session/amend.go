package session

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sagline/session/problem"
)

// ErrNoRow says that no row of cells begins on the given line of the file.
var ErrNoRow = errors.New("no reading begins on this line")

// find returns the index in f.records of the row that begins on a line of the file.
func (f *File) find(line int) (int, error) {
	i, ok := slices.BinarySearchFunc(f.records, line, func(r record, n int) int { return r.line - n })
	if !ok || i <= f.header || !f.isRow(f.records[i]) {
		return 0, fmt.Errorf("%s:%d: %w", f.path, line, ErrNoRow)
	}
	return i, nil
}

// Row returns the row that begins on a line of the file, cells of unknown columns included. Its
// error wraps ErrNoRow.
func (f *File) Row(line int) (Row, error) {
	i, err := f.find(line)
	if err != nil {
		return nil, err
	}
	cells, row := f.records[i].cells(f.separator, nil), f.row(f.records[i])
	for k, name := range f.unknown {
		if name != "" && k < len(cells) && clean(cells[k]) != "" {
			row[name] = unescapeFormula(clean(cells[k]))
		}
	}
	return row, nil
}

// Rows returns the rows of a dive's lines. Its error is that of Row.
func (f *File) Rows(d *Dive) (rows []Row, err error) {
	for i := range d.Lines {
		row, err := f.Row(d.Lines[i].Number)
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// Seen returns the log. If the file has problems, it returns a Log that has only the columns and
// the label of the newest dive.
func (f *File) Seen() *Log {
	if f.Log != nil {
		return f.Log
	}
	log := &Log{File: f.path}
	for _, c := range f.records[f.header].cells(f.separator, nil) {
		log.Columns = append(log.Columns, clean(c))
	}
	if label := f.NewestDive(); label != "" {
		log.Dives = []Dive{{Label: label, Lines: make([]Line, 1)}}
	}
	return log
}

// NewestDive returns the dive label of the file's last row, "" if there are no rows.
func (f *File) NewestDive() string {
	for _, r := range slices.Backward(f.records[f.header+1:]) {
		if f.isRow(r) {
			return f.dive(r)
		}
	}
	return ""
}

// Replace replaces cells of the row that begins on a line of the file. Cells that e does not name
// stay; a cell that is "" in e is emptied. Unless note is "", a comment above the row keeps note
// and the old line. The error says which cell is wrong, or that no row begins there.
func (f *File) Replace(line int, e Row, note string) error {
	i, err := f.find(line)
	if err != nil {
		return err
	}
	old := f.records[i]
	raw := old.raw(f.separator, nil)
	for _, c := range columns {
		text, ok := e[c.Name]
		if !ok {
			continue
		}
		if raw, err = f.put(raw, c, text, line); err != nil {
			return err
		}
	}
	for k, name := range f.unknown {
		if text, ok := e[name]; ok && name != "" {
			raw = widened(raw, k+1)
			raw[k] = quote(EscapeFormula(text), f.separator, f.end)
		}
	}
	if text := strings.Join(raw, string(f.separator)) + old.end(); text != old.text {
		f.records[i].text = text
		if note != "" {
			f.insert(i, f.comment(note+": "+old.text))
		}
	}
	f.renumber()
	return nil
}

// put writes text into the cell of c among a row's raw cells. It adds the column if need be.
func (f *File) put(raw []string, c *Column, text string, line int) ([]string, error) {
	k, err := f.column(c)
	if err != nil {
		return nil, err
	}
	raw = widened(raw, k+1)
	raw[k] = ""
	if clean(text) == "" {
		return raw, nil
	}
	if _, err := c.number(clean(text), false); c.Unit != "" && err != nil {
		return nil, &problem.Problem{File: f.path, Line: line, Column: named(c.Name), Text: err.Error()}
	}
	raw[k] = quote(f.columns[k].written(c.inUnit(text, f.columns[k]), f.commas), f.separator, f.end)
	return raw, nil
}

// lasting are the quantities that carry forward from a line to later ones.
var lasting = []string{"date", "battery", "tether", "water", "salinity"}

// Strike turns the row that begins on a line of the file into a comment that begins with note.
// Its lasting cells are copied into the next row where that has none.
func (f *File) Strike(line int, note string) error {
	i, err := f.find(line)
	if err != nil {
		return err
	}
	old := f.records[i]
	if n := i + 1 + slices.IndexFunc(f.records[i+1:], f.isRow); n > i {
		f.carry(old, n, f.dive(f.records[n]) == f.dive(old))
	}
	f.records[i] = f.comment(note + ": " + old.text)
	f.renumber()
	return nil
}

// carry copies the lasting cells of a struck row into the row with index to, where they are empty.
// If that row belongs to another dive, only the battery is copied.
func (f *File) carry(from record, to int, same bool) {
	old, raw := from.raw(f.separator, nil), f.records[to].raw(f.separator, nil)
	for k, c := range f.columns {
		if c == nil || !slices.Contains(lasting, c.Quantity) || !same && c.Quantity != "battery" || k >= len(old) || clean(old[k]) == "" {
			continue
		}
		raw = widened(raw, k+1)
		if clean(raw[k]) == "" {
			raw[k] = old[k]
		}
	}
	f.records[to].text = strings.Join(raw, string(f.separator)) + f.records[to].end()
}

// comment returns a text as comment lines.
func (f *File) comment(text string) record {
	text = lineEnds.Replace(strings.TrimRight(text, "\r\n"))
	return record{text: "# " + strings.ReplaceAll(text, "\n", f.end+"# ") + f.end}
}
