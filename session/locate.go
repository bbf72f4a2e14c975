package session

import (
	"cmp"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"sagline/session/disk"
	"sagline/session/problem"
)

// LocateFile is the name of a logbook's file of readings that search for a fault's spot, a
// line each, in the order they were made.
const LocateFile = "locate.csv"

// A LocateLine is a line of locate.csv.
type LocateLine struct {
	Search    string // the fault, as trend names it
	AfterDive string // label of the newest dive of the log when it was made
	Date      string // ISO 8601 day
	Test      string // as sagline locate names it, or Repaired
	Reading   string // numbers with their units, yes or no; of Repaired the spot
	Line      int    // in the file
}

// Repaired is the Test of a line that says that a spot was worked on: readings before it no
// longer count.
const Repaired = "repaired"

var locateColumns = []string{"search", "after_dive", "date", "test", "reading"}

// cells are the cells of a line, in the order of locateColumns.
func (l *LocateLine) cells() []*string {
	return []*string{&l.Search, &l.AfterDive, &l.Date, &l.Test, &l.Reading}
}

// ReadLocate reads a folder's locate.csv; there are no lines where there is no
// file. The same encodings and separators are read as in dives.csv.
func ReadLocate(folder string) ([]LocateLine, error) {
	path := filepath.Join(folder, LocateFile)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		return nil, nil
	}
	f, err := disk.Open(path, MaxBytes)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	t, err := ReadTable(f, path)
	if err != nil {
		return nil, err
	}
	lines, _, err := locateLines(t)
	return lines, err
}

// locateLines are a table's lines, and the header's names as found.
func locateLines(t *Table) (out []LocateLine, header []string, err error) {
	var all problem.List
	for number, row := range t.Rows(&all) {
		if header == nil {
			header = slices.Clone(row)
			for _, name := range locateColumns {
				if !slices.Contains(header, name) {
					all.Add(t.file, number, "", "no column %q, want the columns %s", name, strings.Join(locateColumns, ", "))
				}
			}
			continue
		}
		l := LocateLine{Line: number}
		for i, cell := range l.cells() {
			if at := slices.Index(header, locateColumns[i]); at >= 0 && at < len(row) {
				*cell = strings.Clone(row[at])
			}
		}
		if l.Search == "" || l.Test == "" {
			all.Add(t.file, number, "", "found no search or no test, want both")
		}
		out = append(out, l)
	}
	if header == nil && len(all) == 0 {
		all.Add(t.file, 0, "", "no header line, want the columns %s", strings.Join(locateColumns, ", "))
	}
	return out, header, all.Err()
}

// AppendLocate writes one line at the end of a folder's locate.csv, which it
// makes where there is none; the rest of the file stays byte for byte.
func AppendLocate(folder string, l LocateLine) error {
	path := filepath.Join(folder, LocateFile)
	return disk.Change(path, MaxBytes, func(before string) (string, error) {
		return withLine(path, cmp.Or(before, strings.Join(locateColumns, ",")+"\n"), l)
	})
}

// withLine is a file's bytes with one more line.
func withLine(path, before string, l LocateLine) (string, error) {
	text, encoded, exact := decode(before)
	if !exact {
		return "", problem.Whole(path, "found bytes that are not text, want the file saved as UTF-8")
	}
	t := &Table{file: path, text: text, Separator: separatorOf(text)}
	_, header, err := locateLines(t)
	if err != nil {
		return "", err
	}
	for _, cell := range l.cells() {
		if !problem.Plain(*cell) || len(*cell) > maxCell {
			return "", problem.Whole(path, "found %s, want plain text on one line", problem.Quote(*cell))
		}
	}
	end := "\n"
	if strings.Contains(text, "\r\n") {
		end = "\r\n"
	}
	if !strings.HasSuffix(text, "\n") {
		text += end
	}
	cells := make([]string, len(header))
	for i, cell := range l.cells() {
		cells[slices.Index(header, locateColumns[i])] = quote(textCell(*cell), t.Separator, end) // which are all there
	}
	return encoded.encode(text + strings.Join(cells, string(t.Separator)) + end)
}
