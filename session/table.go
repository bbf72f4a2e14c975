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

// A table splits a text into rows of cells under a header.
type table struct {
	splitter
	header   *heading
	problems *problems
	buffer   []string
	comments bool // lines that begin with # are rows too
}

// rows yields the rows of the rest that are not empty, each valid until the next, with the line on
// which it begins. Records that are not sound rows are problems.
func (t *table) rows(yield func(line int, cells []string) bool) {
	for r := range t.records {
		if r.comment() && !t.comments || r.blank(t.separator) || !t.sound(r) {
			continue
		}
		t.buffer = r.cells(t.separator, t.buffer[:0])
		if !empty(t.buffer) && t.fits(t.buffer, r.line) && !yield(r.line, t.buffer) {
			return
		}
	}
}

// sound checks a record before it is split into cells.
func (t *table) sound(r record) bool {
	switch {
	case len(r.text) > maxLine:
		t.problems.at(r.line, "", "found a line of more than %d bytes, want at most that many", maxLine)
	case r.damage != "":
		t.problems.at(r.line, t.header.described(r.cell), "%s", r.damage)
	default:
		return true
	}
	return false
}

// fits checks the cells of a row: their number, length and encoding.
func (t *table) fits(row []string, line int) bool {
	if len(row) > maxCells {
		t.problems.at(line, "", "found more than %d cells, want at most that many", maxCells)
		return false
	}
	for i, c := range row {
		switch {
		case len(c) > maxCell:
			t.problems.at(line, t.header.described(i), "found a cell of more than %d bytes, want at most that many", maxCell)
			return false
		case !utf8.ValidString(c):
			t.problems.at(line, t.header.described(i), "found bytes that are not UTF-8 text, want the file saved as UTF-8")
			return false
		}
	}
	if w := t.header.width; w > 0 && len(row) > w && !empty(row[w:]) {
		t.problems.at(line, "", "found %d cells, want at most the header's %d", filled(row), w)
		return false
	}
	return true
}

// filled returns the number of cells up to the last that is not empty.
func filled(row []string) int {
	n := len(row)
	for n > 0 && (row[n-1] == "" || clean(row[n-1]) == "") {
		n--
	}
	return n
}

func empty(row []string) bool { return filled(row) == 0 }

// A Table is a file of cells with any headings. It is read with the same encodings, separators,
// line ends and limits as dives.csv.
type Table struct {
	Encoding  string // as found: "UTF-8", "UTF-16", or "Windows-1252" if the text is not Unicode
	Separator byte
	Hashes    bool // whether lines that begin with # are rows: # may be a heading

	text, file string
}

// ReadTable reads a table; file names it in problems. The error is that of r, or says that the file
// is not text.
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

// Rows iterates over the rows that are not empty, with the line on which each begins. Rows have
// cells up to the last that is not empty, without blanks around them, and are valid until the next.
// What cannot be read as a row is left out and added to list.
func (t *Table) Rows(list *problem.List) iter.Seq2[int, []string] {
	return func(yield func(int, []string) bool) {
		p := &problems{file: t.file}
		all := table{splitter: splitter{rest: t.text, line: 1, separator: t.Separator}, header: &heading{}, problems: p, comments: t.Hashes}
		for line, row := range all.rows {
			row = row[:filled(row)]
			for i := range row {
				row[i] = unescapeFormula(clean(row[i]))
			}
			if !yield(line, row) {
				return
			}
		}
		*list = append(*list, problem.Listed(p.err())...)
	}
}

// heading is the header line of a file, matched to the table of columns.
type heading struct {
	line  int
	names []string // as found, without empty ones at the end
	width int
	has   map[string]*Column // the column used for each quantity
	used  []*Column          // by place in a row; nil if that column is not used
}

// mostWarned is the number of unknown columns for which there is a warning each.
const mostWarned = mostWorded

// longestName is the longest name for which the nearest known name is sought.
const longestName = 40

// judgeHeader matches a header line to the table of columns. It returns the warnings.
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

// take uses c for its quantity unless another column is already in use; then it adds a problem.
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

// unknown returns the warning about an unknown column.
func (p *problems) unknown(line, i int, name string) error {
	out := &problem.Problem{File: p.file, Line: line, Column: named(name), Text: "unknown, kept but not used"}
	switch {
	case name == "":
		out.Column, out.Text = numbered(i), "has no name, kept but not used"
	case len(name) <= longestName:
		out.Text += problem.Suggest(name, names)
	}
	return out
}

// described returns how a problem names the i-th column: by its heading, or else its number.
func (h *heading) described(i int) string {
	if i < h.width && h.names[i] != "" {
		return named(h.names[i])
	}
	return numbered(i)
}

func numbered(i int) string { return fmt.Sprintf("column %d", i+1) }

// usable reports whether rows can be read under h, which needs a column for the dive.
func (h *heading) usable(p *problems) bool {
	if h.has["dive"] != nil {
		return true
	}
	hint := ""
	for _, n := range h.names {
		if _, known := Find(n); !known && len(n) <= longestName && problem.Nearest(n, []string{"dive"}) != "" {
			hint = fmt.Sprintf(" (nearest: %s)", problem.Quote(n))
			break
		}
	}
	if h.width == 1 {
		hint += "; columns are set apart by commas, semicolons or tabs"
	}
	p.add(h.line, nil, `found the header %s, want a column "dive" in it%s`, h.quoted(), hint)
	return false
}

// quoted lists the first columns of a header.
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
