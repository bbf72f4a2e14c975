package session

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
)

// A Row is one line to be written: cells by column name, in that column's unit. Numbers have a
// decimal point. Cells that were not measured are left out.
type Row map[string]string

// ParseRows reads rows as the lines of one dive, or lists all their problems with the number of the
// row, from 1, as the line. The dive's label may be missing. Unknown columns are ignored.
func ParseRows(rows ...Row) ([]Line, problem.List) {
	f := File{separator: ';', end: "\n", records: []record{{text: "dive\n"}}, columns: []*Column{byName["dive"]}}
	var list problem.List
	rows = slices.Clone(rows)
	for i, e := range rows {
		rows[i] = known(e)
	}
	for _, e := range rows { // so that the header is complete before the first row
		f.cells(e, 0, &problem.List{})
	}
	var text strings.Builder
	text.WriteString(f.records[0].text)
	starts, line := make([]int, len(rows)), 2 // the line on which each row begins
	for i, e := range rows {
		cells := f.cells(e, i+1, &list)
		cells[0] = cmp.Or(cells[0], "-")
		row := f.join(cells)
		starts[i] = line
		line += strings.Count(row, "\n")
		text.WriteString(row)
	}
	log, err := parse(text.String(), "")
	for _, p := range problem.Listed(err) {
		row, _ := slices.BinarySearch(starts, p.Line+1)
		list.Add("", row, p.Column, "%s", p.Text)
	}
	if list != nil || len(log.Dives) == 0 {
		return nil, list
	}
	return log.Dives[0].Lines, nil
}

// known returns a row without the cells of unknown columns.
func known(row Row) Row {
	out := maps.Clone(row)
	maps.DeleteFunc(out, func(name, _ string) bool { _, ok := Find(name); return !ok })
	return out
}

// ReadRows reads the rows of a file in any form that Read accepts, and the line of each. Columns
// must be those of dives.csv or extra; the dive's label may be missing. The error lists other
// columns and lines that cannot be split into cells. Cells are not checked.
func ReadRows(r io.Reader, file string, extra ...string) (rows []Row, lines []int, err error) {
	all, err := disk.ReadText(r, MaxBytes)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", file, err)
	}
	text, _, _ := decode(all)
	p := &problems{file: file}
	t, _ := openTable(text, p)
	if t == nil {
		return nil, nil, p.err()
	}
	for i, name := range t.header.names {
		if t.header.used[i] == nil && name != "" && t.header.has[name] == nil && !slices.Contains(extra, name) {
			p.at(t.header.line, named(name), "unknown%s", problem.Suggest(name, slices.Concat(names, extra)))
		}
	}
	for line, cells := range t.rows {
		row := rowOf(cells, t.header.used, t.separator)
		for i, name := range t.header.names {
			if t.header.used[i] == nil && slices.Contains(extra, name) && i < len(cells) && clean(cells[i]) != "" {
				row[name] = clean(cells[i])
			}
		}
		rows, lines = append(rows, row), append(lines, line)
	}
	return rows, lines, p.err()
}

// rowOf returns cells as a Row of the columns in the table. Numbers get a decimal point.
func rowOf(cells []string, columns []*Column, separator byte) Row {
	out := Row{}
	for k, text := range cells {
		if k >= len(columns) || columns[k] == nil || clean(text) == "" {
			continue
		}
		c := columns[k]
		out[c.Name] = unescapeFormula(clean(text))
		if c.Unit != "" && separator != ',' {
			out[c.Name] = strings.Replace(clean(text), ",", ".", 1)
		}
	}
	return out
}

// cells returns a row's cells by place in the header. It adds missing columns to the header, and
// adds cells without a place to list as problems of line.
func (f *File) cells(e Row, line int, list *problem.List) []string {
	for _, name := range slices.Sorted(maps.Keys(e)) {
		if _, ok := Find(name); !ok && !slices.Contains(f.unknown, name) {
			list.Add("", line, named(name), "unknown%s", problem.Suggest(name, slices.Concat(names, f.unknown)))
		}
	}
	row := make([]string, len(f.columns))
	for _, c := range columns { // new columns are added in the order of the table
		text := e[c.Name]
		if clean(text) == "" {
			continue
		}
		k, err := f.column(c)
		if err != nil {
			list.Add("", line, named(c.Name), "%v", err)
			continue
		}
		row = widened(row, k+1)
		if row[k] != "" {
			list.Add("", line, named(c.Name), "given beside another column of the %s, want one of them", c.Quantity)
		}
		row[k] = f.columns[k].written(c.inUnit(text, f.columns[k]), f.commas)
	}
	for k, name := range f.unknown {
		if text := clean(e[name]); name != "" && text != "" {
			row[k] = EscapeFormula(text)
		}
	}
	return row
}

// column returns the place in the header of c's quantity. It adds c if the quantity has no column.
func (f *File) column(c *Column) (int, error) {
	for k, has := range f.columns {
		if has != nil && has.Quantity == c.Quantity {
			return k, nil
		}
	}
	if len(f.columns) >= maxCells {
		return 0, problem.Whole(f.path, "%d columns, none can be added", len(f.columns))
	}
	h := &f.records[f.header]
	raw := widened(h.raw(f.separator, nil), len(f.columns)+1)
	raw[len(f.columns)] = c.Name
	h.text = strings.Join(raw, string(f.separator)) + h.end()
	f.columns = append(f.columns, c)
	return len(f.columns) - 1, nil
}

// widened returns the row with at least that many cells.
func widened(row []string, cells int) []string {
	return append(row, make([]string, max(0, cells-len(row)))...)
}

// inUnit converts the text of a cell of c to another column of the same quantity.
func (c *Column) inUnit(text string, to *Column) string {
	if c == to {
		return text
	}
	x, err := c.number(clean(text), false)
	if err != nil {
		return text // reported when the cell is read
	}
	return strconv.FormatFloat(to.FromBase(c.ToBase(x)), 'g', 12, 64)
}

// written returns a text as written in a cell of c: no spreadsheet runs it, and it has a decimal
// comma if commas is true.
func (c *Column) written(text string, commas bool) string {
	if c.Unit == "" {
		return EscapeFormula(lineEnds.Replace(strings.TrimSpace(text)))
	}
	text = clean(text)
	if x, err := c.number(text, false); err == nil && strings.HasPrefix(text, "+") {
		text = decimals(x)
	}
	if commas {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

// join returns a row of cells as a line of the file.
func (f *File) join(row []string) string {
	out := make([]string, max(len(row), len(f.columns)))
	for k, text := range row {
		out[k] = quote(text, f.separator, f.end)
	}
	return strings.Join(out, string(f.separator)) + f.end
}
