package session

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"github.com/gocarina/gocsv"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"sagline/session/problem"
)

// FileName is the log's name in its folder.
const FileName = "dives.csv"

// Limits of what is read.
const (
	MaxBytes = 256 << 20
	MaxCell  = 64 << 10
)

const mostTold = 50 // problems

// Open reads a logbook folder's dives.csv. A folder or file that is missing
// is told in one line.
func Open(folder string) (*Log, error) {
	path := filepath.Join(folder, FileName)
	st, err := os.Stat(folder)
	if err != nil || !st.IsDir() {
		return nil, &problem.Problem{File: folder, Text: "no such folder; want a logbook folder with vehicle.toml and dives.csv"}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, &problem.Problem{File: path, Text: "cannot be read; sagline new makes one"}
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return nil, &problem.Problem{File: path, Text: "is a folder, want a file"}
	} else if err == nil && st.Size() > MaxBytes {
		return nil, &problem.Problem{File: path, Text: fmt.Sprintf("%d bytes, want at most %d", st.Size(), MaxBytes)}
	}
	return Read(f, path)
}

// Read reads one dives.csv; file names it in problems. Its error holds every
// problem found, or the I/O error that ended reading.
func Read(r io.Reader, file string) (*Log, error) {
	text, err := io.ReadAll(transform.NewReader(io.LimitReader(r, MaxBytes+1), unicode.BOMOverride(transform.Nop)))
	if err != nil {
		return nil, &problem.Problem{File: file, Text: err.Error()}
	}
	var all problem.List
	log := &Log{File: file}
	if len(text) > MaxBytes {
		all.Add(file, 0, "", "more than %d bytes", MaxBytes)
		return nil, all.Err()
	}
	if !utf8.Valid(text) {
		all.Add(file, 1+bytes.Count(text[:invalidAt(text)], []byte("\n")), "", "found bytes that are not UTF-8 text, want the file saved as UTF-8")
		return nil, all.Err()
	}
	src := newSource(text)
	header, err := src.Read()
	if err != nil {
		all.Add(file, 0, "", "empty file, want a header line")
		return nil, all.Err()
	}
	has := judgeHeader(header, file, src.line(), log, &all)
	if len(all) > 0 {
		return nil, all.Err()
	}
	var records []*record
	if err := gocsv.UnmarshalCSV(&body{source: src, header: header}, &records); err != nil && !errors.Is(err, gocsv.ErrEmptyCSVFile) {
		return nil, positioned(err, file)
	}
	b := builder{log: log, all: &all, has: has, file: file}
	for i, rec := range records {
		b.add(&row{rec: rec, line: src.lines[i], has: has, commas: src.csv.Comma != ',', file: file, all: &all})
		if len(all) > mostTold {
			all = all[:mostTold]
			all.Add(file, src.lines[i], "", "… more problems follow")
			break
		}
	}
	if err := all.Err(); err != nil {
		return nil, err
	}
	return log, nil
}

func invalidAt(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(b)
}

// source is the file's rows with the line that each begins on.
type source struct {
	csv   *csv.Reader
	lines []int
	last  int
}

func newSource(text []byte) *source {
	first := ""
	sc := bufio.NewScanner(bytes.NewReader(text))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		if t := strings.TrimSpace(sc.Text()); t != "" && t[0] != '#' {
			first = t
			break
		}
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment, r.FieldsPerRecord = '#', -1
	for _, sep := range []rune{';', '\t'} {
		if strings.ContainsRune(first, sep) && !strings.Contains(first, ",") {
			r.Comma = sep
		}
	}
	return &source{csv: r}
}

func (s *source) line() int { return s.last }

// Read is the next row that has anything in it.
func (s *source) Read() ([]string, error) {
	for {
		rec, err := s.csv.Read()
		if err != nil {
			return nil, err
		}
		s.last, _ = s.csv.FieldPos(0)
		for _, c := range rec {
			if clean(c) != "" {
				return rec, nil
			}
		}
	}
}

// body gives gocsv the header, then rows cut to its length.
type body struct {
	*source
	header []string
	sent   bool
}

func (b *body) Read() ([]string, error) {
	if !b.sent {
		b.sent = true
		names := make([]string, len(b.header))
		for i, h := range b.header {
			names[i] = clean(h)
		}
		return names, nil
	}
	rec, err := b.source.Read()
	if err != nil {
		return nil, err
	}
	for i := len(b.header); i < len(rec); i++ {
		if clean(rec[i]) != "" {
			return nil, &csv.ParseError{Line: b.last, Err: fmt.Errorf("found %d cells, want at most the header's %d", len(rec), len(b.header))}
		}
	}
	for i, c := range rec {
		if len(c) > MaxCell {
			return nil, &csv.ParseError{Line: b.last, Err: fmt.Errorf("a cell of %d bytes in column %d, want at most %d", len(c), i+1, MaxCell)}
		}
	}
	for len(rec) < len(b.header) {
		rec = append(rec, "")
	}
	b.lines = append(b.lines, b.last)
	return rec[:len(b.header)], nil
}

func (b *body) ReadAll() ([][]string, error) {
	var out [][]string
	for {
		rec, err := b.Read()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		out = append(out, rec)
	}
}

// positioned words an error of encoding/csv with the file's line.
func positioned(err error, file string) error {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return &problem.Problem{File: file, Line: pe.Line, Text: pe.Err.Error()}
	}
	return &problem.Problem{File: file, Text: err.Error()}
}

// judgeHeader matches a header to the table of columns.
func judgeHeader(header []string, file string, line int, log *Log, all *problem.List) []*Column {
	var has []*Column
	known := make([]string, len(columns))
	for i, c := range columns {
		known[i] = c.Name
	}
	for _, h := range header {
		name := clean(h)
		log.Columns = append(log.Columns, name)
		c, ok := Find(name)
		if name == "" {
			continue
		}
		if !ok {
			log.Warnings = append(log.Warnings, &problem.Problem{File: file, Line: line, Column: fmt.Sprintf("column %s", problem.Quote(name)),
				Text: "unknown, kept but not used" + problem.Suggest(name, known)})
			continue
		}
		for _, o := range has {
			if o == c {
				all.Add(file, line, fmt.Sprintf("column %q", name), "stands twice, want it once")
			} else if o.Quantity == c.Quantity && o.Quantity != "minute" {
				all.Add(file, line, fmt.Sprintf("column %q", name), "found beside %q, want one of them", o.Name)
			}
		}
		has = append(has, c)
	}
	if len(has) == 0 || has[0].Quantity != "dive" && !contains(has, "dive") {
		all.Add(file, line, "", `no column "dive", want one`)
	}
	return has
}

func contains(has []*Column, quantity string) bool {
	for _, c := range has {
		if c.Quantity == quantity {
			return true
		}
	}
	return false
}
