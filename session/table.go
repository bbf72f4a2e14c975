package session

import (
	"fmt"
	"io"
	"iter"
	"strings"
	"unicode/utf8"

	"sagline/session/disk"
	"sagline/session/problem"
)

// A table is a text as rows of cells under a header.
type table struct {
	splitter
	header   *heading
	problems *problems
	buffer   []string
	comments bool // lines that begin with # are rows too
}

// row is the next row that has anything in it, valid until the next call; ok
// is false at the end. What is no row is a problem.
func (t *table) row() (cells []string, line int, ok bool) {
	for {
		r, ok := t.next()
		switch {
		case !ok:
			return nil, 0, false
		case r.comment() && !t.comments || r.blank(t.separator) || !t.sound(r):
		default:
			t.buffer = r.cells(t.separator, t.buffer[:0])
			if !empty(t.buffer) && t.fits(t.buffer, r.line) {
				return t.buffer, r.line, true
			}
		}
	}
}

// sound judges a record before it is taken apart.
func (t *table) sound(r record) bool {
	switch {
	case len(r.text) > maxLine:
		t.problems.at(r.line, "", "found a line of more than %d bytes, want at most that many", maxLine)
	case r.damage != "":
		t.problems.at(r.line, t.header.place(r.cell), "%s", r.damage)
	default:
		return true
	}
	return false
}

// fits judges a row as a whole.
func (t *table) fits(row []string, line int) bool {
	if len(row) > maxCells {
		t.problems.at(line, "", "found more than %d cells, want at most that many", maxCells)
		return false
	}
	for i, c := range row {
		switch {
		case len(c) > maxCell:
			t.problems.at(line, t.header.place(i), "found a cell of more than %d bytes, want at most that many", maxCell)
			return false
		case !utf8.ValidString(c):
			t.problems.at(line, t.header.place(i), "found bytes that are not UTF-8 text, want the file saved as UTF-8")
			return false
		}
	}
	if w := t.header.width; w > 0 && len(row) > w && !empty(row[w:]) {
		t.problems.at(line, "", "found %d cells, want at most the header's %d", filled(row), w)
		return false
	}
	return true
}

// filled is how many cells a row has up to its last that is not empty.
func filled(row []string) int {
	n := len(row)
	for n > 0 && (row[n-1] == "" || clean(row[n-1]) == "") {
		n--
	}
	return n
}

func empty(row []string) bool { return filled(row) == 0 }

// A Table is any file of cells, whatever its headings: read with the same
// encodings, separators, line ends and limits as dives.csv.
type Table struct {
	Encoding  string // as found: "UTF-8", or "Windows-1252" where the text can be no Unicode
	Separator byte
	Hashes    bool // lines that begin with # are rows: it may be a heading

	text, file string
}

// ReadTable reads a table; file names it in problems. Its error is that of r,
// or says that the file is no text.
func ReadTable(r io.Reader, file string) (*Table, error) {
	all, err := disk.ReadText(r, MaxBytes)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	t := &Table{file: file}
	t.text, t.Encoding = decodeAny(all)
	line, why := notText(t.text)
	if len(all) == 0 {
		why = "empty file, want a header line"
	}
	if why != "" {
		return nil, &problem.Problem{File: file, Line: line, Text: why}
	}
	t.Separator = separatorOf(t.text)
	return t, nil
}

// Rows are the rows that are not empty, by the line that each begins on, with cells up to the
// last that is not empty and without blanks around them. A row is valid until the next. What
// cannot be read as a row is left out and is a problem.
func (t *Table) Rows(list *problem.List) iter.Seq2[int, []string] {
	return func(yield func(int, []string) bool) {
		p := &problems{file: t.file}
		rows := table{splitter: splitter{rest: t.text, line: 1, separator: t.Separator}, header: &heading{}, problems: p, comments: t.Hashes}
		for {
			row, line, ok := rows.row()
			if !ok {
				*list = append(*list, problem.Listed(p.err())...)
				return
			}
			row = row[:filled(row)]
			for i := range row {
				row[i] = unescapeFormula(clean(row[i]))
			}
			if !yield(line, row) {
				return
			}
		}
	}
}

// heading is the first line of a file, judged.
type heading struct {
	line  int
	names []string // as found, without empty ones at the end
	width int
	has   map[string]*Column // the column used for each quantity
	used  []*Column          // by place in a row; nil where a column is not to be used
}

// mostWarned is how many unknown columns are warned of.
const mostWarned = mostWorded

// longestName is the longest name for which the nearest known one is looked for.
const longestName = 40

// judgeHeader matches a header line to the table of columns.
func judgeHeader(row []string, line int, p *problems) (*heading, []error) {
	h := &heading{line: line, has: map[string]*Column{}}
	var warnings []error
	unknown := 0
	for i, cell := range row[:filled(row)] {
		name := clean(cell)
		h.names, h.used = append(h.names, name), append(h.used, nil)
		c, known := Find(name)
		switch {
		case known && h.take(c, p):
			h.used[i] = c
		case !known:
			if unknown++; unknown <= mostWarned {
				warnings = append(warnings, p.unknown(line, i, name))
			}
		}
	}
	if unknown > mostWarned {
		warnings = append(warnings, &problem.Problem{File: p.file, Line: line, Text: fmt.Sprintf("… and %d more unknown columns", unknown-mostWarned)})
	}
	h.width = len(h.names)
	return h, warnings
}

// take uses c for its quantity unless another column is used for it.
func (h *heading) take(c *Column, p *problems) bool {
	o := h.has[c.Quantity]
	switch {
	case o == nil:
		h.has[c.Quantity] = c
		return true
	case o == c:
		p.add(h.line, c, "stands twice, want it once")
	default:
		p.add(h.line, c, "found beside %q, want one of them", o.Name)
	}
	return false
}

// unknown is the warning of an unknown column.
func (p *problems) unknown(line, i int, name string) error {
	if name == "" {
		return p.warning(line, numbered(i), "has no name, kept but not used")
	}
	near := ""
	if len(name) <= longestName {
		near = problem.Suggest(name, names)
	}
	return p.warning(line, named(name), "unknown, kept but not used"+near)
}

// place is how a problem names the i-th column: as found, else its number.
func (h *heading) place(i int) string {
	if i < h.width && h.names[i] != "" {
		return named(h.names[i])
	}
	return numbered(i)
}

func numbered(i int) string { return fmt.Sprintf("column %d", i+1) }

// usable says whether rows can be read under h: whether they say which dive
// they are of.
func (h *heading) usable(p *problems) bool {
	if h.has["dive"] != nil {
		return true
	}
	near := ""
	for _, n := range h.names {
		if _, known := Find(n); !known && len(n) <= longestName && problem.Nearest(n, []string{"dive"}) != "" {
			near = fmt.Sprintf(" (nearest: %s)", problem.Quote(n))
			break
		}
	}
	if h.width == 1 {
		near += "; columns are set apart by commas, semicolons or tabs"
	}
	p.add(h.line, nil, `found the header %s, want a column "dive" in it%s`, h.quoted(), near)
	return false
}

// quoted shows the first columns of a header.
func (h *heading) quoted() string {
	const most = 4
	var out []string
	for _, n := range h.names[:min(most, h.width)] {
		out = append(out, problem.Quote(n))
	}
	if h.width > most {
		out = append(out, "…")
	}
	return strings.Join(out, ", ")
}
