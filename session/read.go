package session

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Limits of what is read.
const (
	MaxBytes = 256 << 20 // of a file
	MaxCell  = 64 << 10  // bytes of a cell
	MaxCells = 16384     // of a line: as wide as spreadsheets are
	MaxLines = 100_000   // of a log: some 550 bytes of memory each; a dive of twenty lines every day for 13 years
	MaxRows  = 2_000_000 // of any other table
)

// Read reads one dives.csv; file names it in problems. Its error holds every
// problem found, a line each and at most fifty of them, or wraps the error of
// r that ended reading.
func Read(r io.Reader, file string) (*Log, error) {
	t := &told{file: file}
	src, err := open(r, t)
	if err != nil {
		return nil, t.ended(err, nil)
	}
	log := &Log{File: file, Header: src.header.line, Columns: src.header.names, Warnings: src.warnings}
	if !src.header.usable(t) {
		return nil, t.err()
	}
	b := newBuilder(log, src, t)
	for {
		cells, line, ok := src.read()
		if !ok {
			break
		}
		if line > MaxLines {
			t.add(line, nil, "found more than %d lines, want at most that many", MaxLines)
			return nil, t.err()
		}
		b.add(cells, line)
	}
	b.diary.close()
	if err := t.ended(src.err, src.header); err != nil {
		return nil, err
	}
	return log, nil
}

// source is a file up to and with its header.
type source struct {
	rows
	comma    bool // between cells, so that it cannot be a decimal comma
	warnings []error
}

// open reads as far as the header. Its error is io.EOF when there is none.
func open(r io.Reader, t *told) (*source, error) {
	decoded := transform.NewReader(&atMost{r, MaxBytes}, unicode.BOMOverride(transform.Nop))
	text := bufio.NewReaderSize(&newlines{src: decoded}, MaxCell)
	before := skipToHeader(text)
	first, _ := text.Peek(text.Size())
	sep := separator(first)
	s := &source{comma: sep == ','}
	s.csv = csv.NewReader(&guard{src: text, separator: sep, line: before + 1})
	s.csv.Comma, s.csv.FieldsPerRecord, s.csv.ReuseRecord = rune(sep), -1, true
	s.before, s.file, s.header = before, t, &heading{}
	row, line := s.next()
	if s.err != nil {
		return nil, s.err
	}
	for _, c := range row {
		if what := notText(c); what != "" {
			t.add(line, nil, "found %s", what)
			return nil, errTold
		}
	}
	s.header, s.warnings = judgeHeader(row, line, t)
	return s, nil
}

// notText says why a header's cell shows that the file is no text, "" where it
// is.
func notText(cell string) string {
	switch {
	case strings.HasPrefix(cell, "PK\x03\x04"):
		return "a file packed as spreadsheets pack theirs, want it exported as CSV"
	case !utf8.ValidString(cell):
		return "bytes that are not UTF-8 text, want the file saved as UTF-8"
	case strings.Contains(cell, "\x00"):
		return "bytes of 0, which no text has, want the file saved as UTF-8"
	}
	return ""
}

var (
	errTold   = errors.New("told already")
	errTooBig = fmt.Errorf("found more than %d bytes, want at most that many", MaxBytes)
)

// ended is all that was told, with why reading ended; h is nil before there
// is a header.
func (t *told) ended(why error, h *heading) error {
	var limit *limitError
	switch {
	case errors.Is(why, errTold):
	case errors.Is(why, io.EOF) && h == nil && len(t.list) == 0:
		t.add(0, nil, "empty file, want a header line")
	case errors.Is(why, io.EOF):
	case errors.As(why, &limit) && h != nil && limit.cell >= 0:
		t.at(limit.line, h.place(limit.cell), "%s", limit.text)
	case errors.As(why, &limit):
		t.add(limit.line, nil, "%s", limit.text)
	case errors.Is(why, errTooBig):
		t.add(0, nil, "%v", errTooBig)
	default:
		return fmt.Errorf("%s: %w", t.file, why)
	}
	return t.err()
}

// atMost is r up to left bytes, then errTooBig.
type atMost struct {
	r    io.Reader
	left int64
}

// Read fails with errTooBig only where r has more.
func (a *atMost) Read(p []byte) (int, error) {
	if a.left < 0 {
		return 0, errTooBig
	}
	if int64(len(p)) > a.left+1 {
		p = p[:a.left+1]
	}
	n, err := a.r.Read(p)
	if a.left -= int64(n); a.left < 0 {
		return n - 1, errTooBig
	}
	return n, err
}
