package session

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// A Table is any file of cells, whatever its headings: read with the same
// encodings, separators, line ends and limits as dives.csv, row by row.
type Table struct {
	Separator byte
	Encoding  string // as found: "UTF-8", or "Windows-1252" where the text can be no Unicode

	told   *told
	csv    *csv.Reader
	before int // lines before the csv reader's first
	err    error
}

// NewTable opens a table; file names it in problems. What is wrong with it is
// left for Err, beginning with a file that is no text.
func NewTable(r io.Reader, file string) *Table {
	t := &Table{told: &told{file: file}, Encoding: "UTF-8"}
	raw := bufio.NewReaderSize(&atMost{r, MaxBytes}, MaxCell)
	first, _ := raw.Peek(raw.Size())
	if what := noText(first); what != "" {
		t.told.add(0, nil, "%s", what)
		t.err = errTold
		return t
	}
	var decode transform.Transformer = unicode.BOMOverride(transform.Nop)
	if !marked(first) && !validStart(first) {
		decode, t.Encoding = charmap.Windows1252.NewDecoder(), "Windows-1252"
	}
	text := bufio.NewReaderSize(&newlines{src: transform.NewReader(raw, decode)}, MaxCell)
	t.before = skipToHeader(text)
	first, _ = text.Peek(text.Size())
	t.Separator = steadiest(first)
	t.csv = csv.NewReader(&guard{src: text, separator: t.Separator, line: t.before + 1})
	t.csv.Comma, t.csv.FieldsPerRecord, t.csv.ReuseRecord = rune(t.Separator), -1, true
	return t
}

// Next is the next row with anything in it, its cells without blanks around
// them, and the line that it begins on; ok is false at the end. The row is
// valid until the next call. A row that cannot be split or is no text is
// passed over and told by Err.
func (t *Table) Next() (row []string, line int, ok bool) {
	for t.err == nil {
		row, err := t.csv.Read()
		var stray *csv.ParseError
		switch {
		case errors.As(err, &stray):
			t.told.add(stray.StartLine+t.before, nil, `found a stray ", want quotes around the whole cell and a " in it doubled`)
		case err != nil:
			t.err = err
		case empty(row):
		default:
			line, _ := t.csv.FieldPos(0)
			line += t.before
			if t.cleaned(row, line) {
				return row, line, true
			}
		}
	}
	return nil, 0, false
}

func (t *Table) cleaned(row []string, line int) bool {
	for i, c := range row {
		if !utf8.ValidString(c) {
			t.told.at(line, numbered(i), "found bytes that are not %s text", t.Encoding)
			return false
		}
		row[i] = bare(clean(c))
	}
	return true
}

// Err holds every problem of the rows so far, a line each, or wraps the error
// that ended reading.
func (t *Table) Err() error {
	if t.err == nil {
		return t.told.err()
	}
	return t.told.ended(t.err, &heading{})
}

// noText says what kind of file begins so, "" for text.
func noText(first []byte) string {
	switch {
	case bytes.HasPrefix(first, []byte("PK\x03\x04")), bytes.HasPrefix(first, []byte("\xd0\xcf\x11\xe0")):
		return "a spreadsheet program's own file, want it saved as CSV"
	case len(first) == 0:
		return "empty file, want a header line"
	case !marked(first) && bytes.IndexByte(first, 0) >= 0:
		return "found bytes that are no text, want a table of text (CSV)"
	}
	return ""
}

// marked says whether a text begins with a byte-order mark.
func marked(first []byte) bool {
	return slices.ContainsFunc([]string{"\xef\xbb\xbf", "\xff\xfe", "\xfe\xff"}, func(m string) bool { return bytes.HasPrefix(first, []byte(m)) })
}

// validStart is utf8.Valid for the start of a longer text, which may be cut
// within a character.
func validStart(b []byte) bool {
	for cut := range min(utf8.UTFMax, len(b)) {
		if utf8.Valid(b[:len(b)-cut]) {
			return true
		}
	}
	return len(b) == 0
}

// mostSampled is how many rows the separator is judged by.
const mostSampled = 50

// steadiest is the separator that cuts most rows into the same number of
// cells, more than one. Where two do so alike the comma loses, since it may be
// a decimal comma.
func steadiest(text []byte) byte {
	best, most := separators[0], 0
	for _, s := range []byte{'\t', ';', ','} {
		if n := sameWidth(text, s); n > most {
			best, most = s, n
		}
	}
	return best
}

// sameWidth is how many of the first rows have the commonest number of cells,
// 0 where that is one.
func sameWidth(text []byte, separator byte) int {
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord, r.ReuseRecord, r.Comment = rune(separator), true, -1, true, '#'
	rows := map[int]int{}
	for range mostSampled {
		row, err := r.Read()
		if err != nil {
			break
		}
		rows[len(row)]++
	}
	width, most := 0, 0
	for w, n := range rows {
		if n > most || n == most && w > width {
			width, most = w, n
		}
	}
	if width < 2 {
		return 0
	}
	return most
}
