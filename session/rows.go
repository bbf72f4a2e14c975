package session

import (
	"encoding/csv"
	"errors"
	"unicode/utf8"
)

// rows are the rows of a file, each with the line that it began on.
type rows struct {
	csv    *csv.Reader
	before int // lines before the reader's first
	file   *told
	header *heading
	err    error // why there are no more; io.EOF at the end
}

// read is the next row that fits the header, valid until the next call; ok is
// false, and err set, when there is none.
func (r *rows) read() (cells []string, line int, ok bool) {
	for {
		row, line := r.next()
		if r.err != nil {
			return nil, 0, false
		}
		if r.fits(row, line) {
			return row, line, true
		}
	}
}

// next is the next row with anything in it and the line it begins on. Rows
// that cannot be split into cells are told of and passed over.
func (r *rows) next() ([]string, int) {
	for {
		row, err := r.csv.Read()
		var stray *csv.ParseError
		if errors.As(err, &stray) {
			r.stray(stray)
			continue
		}
		if err != nil {
			r.err = err
			return nil, 0
		}
		if len(row) > 0 && !empty(row) {
			line, _ := r.csv.FieldPos(0)
			return row, line + r.before
		}
	}
}

func (r *rows) stray(e *csv.ParseError) {
	line := e.StartLine + r.before
	if errors.Is(e.Err, csv.ErrBareQuote) {
		r.file.add(e.Line+r.before, nil, `found a " within a cell, want the whole cell in quotes and the " doubled`)
		return
	}
	r.file.add(line, nil, `found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`)
}

// fits judges a row as a whole.
func (r *rows) fits(row []string, line int) bool {
	for i, c := range row {
		if !utf8.ValidString(c) {
			r.file.at(line, r.header.place(i), "found bytes that are not UTF-8 text, want the file saved as UTF-8")
			return false
		}
	}
	if w := r.header.width; len(row) > w && !empty(row[w:]) {
		r.file.add(line, nil, "found %d cells, want at most the header's %d", filled(row), w)
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
