package session

import (
	"fmt"
	"io"
	"iter"
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
	what := notText(t.text)
	if len(all) == 0 {
		what = "empty file, want a header line"
	}
	if what != "" {
		return nil, problem.Whole(file, "%s", what)
	}
	t.Separator = separatorOf(t.text)
	return t, nil
}

// Rows are the rows with anything in them by the line that each begins on, the
// cells up to the last with anything in it and without blanks around them; a
// row is valid until the next. What
// cannot be read as a row is passed over and is a problem.
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
