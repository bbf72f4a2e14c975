package session

import (
	"encoding/csv"
	"errors"
	"io"
	"unicode/utf8"
)

// batch is how many rows are mapped to records at a time: enough that the
// header's part is little, few enough that memory stays small.
const batch = 512

// rows gives gocsv the rows of a file in batches, each under the header, and
// remembers the line that each row began on, which gocsv does not know.
type rows struct {
	csv    *csv.Reader
	before int // lines before the reader's first
	file   *told
	header *heading

	cells [batch][]string
	lines [batch]int
	n     int   // rows of the batch
	err   error // why there are no more; io.EOF at the end
}

// ReadAll is the header and the next batch of rows, valid until the next call.
func (r *rows) ReadAll() ([][]string, error) {
	all := make([][]string, 1, batch+1)
	all[0] = r.header.mapped
	for r.n = 0; r.n < batch && r.err == nil; {
		row, line := r.next()
		if r.err != nil || !r.fits(row, line) {
			continue
		}
		keep := append(r.cells[r.n][:0], row[:filled(row)]...)
		r.cells[r.n], r.lines[r.n] = keep, line
		all = append(all, keep)
		r.n++
	}
	return all, nil
}

// Read is not used: gocsv takes whole batches.
func (r *rows) Read() ([]string, error) { return nil, io.EOF }

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
	for n > 0 && clean(row[n-1]) == "" {
		n--
	}
	return n
}

func empty(row []string) bool { return filled(row) == 0 }
