package session

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"

	"sagline/session/disk"
	"sagline/session/problem"
	"sagline/session/units"
)

// LocateFile is the name of a logbook's file of readings that search for the place of a fault, one
// per line, in the order in which they were made.
const LocateFile = "locate.csv"

// A LocateLine is a line of locate.csv.
type LocateLine struct {
	Search    string // the fault, as trend names it
	AfterDive string // label of the log's newest dive when the reading was made
	Date      string // ISO 8601 day
	Test      string // as sagline locate names it, or Repaired
	Reading   string // numbers with their units, yes or no; for Repaired the place
	Line      int    // in the file
}

// Repaired is the Test of a line which says that a place was worked on. Readings before it no
// longer count.
const Repaired = "repaired"

var locateColumns = []string{"search", "after_dive", "date", "test", "reading"}

// cells returns the cells of a line, in the order of locateColumns.
func (l *LocateLine) cells() []*string {
	return []*string{&l.Search, &l.AfterDive, &l.Date, &l.Test, &l.Reading}
}

// ReadLocate reads a folder's locate.csv, and returns no lines if there is no such file. It reads
// the same encodings and separators as Read.
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

// locateLines returns a table's lines and the names in its header.
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

// AppendLocate appends one line to a folder's locate.csv and makes the file if there is none. The
// rest of the file stays byte for byte.
func AppendLocate(folder string, l LocateLine) error {
	path := filepath.Join(folder, LocateFile)
	return disk.Change(path, MaxBytes, func(before string) (string, error) {
		return withLine(path, cmp.Or(before, strings.Join(locateColumns, ",")+"\n"), l)
	})
}

// withLine returns a file's bytes with one more line.
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
		cells[slices.Index(header, locateColumns[i])] = quote(textCell(*cell), t.Separator, end) // header has all columns
	}
	return encoded.encode(text + strings.Join(cells, string(t.Separator)) + end)
}

// Measured is one number that was typed with its unit, in the base unit of its quantity. For
// "a to b" it holds both numbers, else the same one twice.
type Measured struct{ From, To float64 }

var (
	measuredItem  = regexp.MustCompile(`^[><]?\s*(-?\d*\.?\d+)(?:\s*to\s*(-?\d*\.?\d+))?\s*(\D*)$`)
	measuredApart = regexp.MustCompile(`\s*(?:[,;]|\bat\b)\s*`)
	decimalComma  = regexp.MustCompile(`(\d),(\d)`)
)

// ParseMeasured parses a reading such as "182 mV, 5.2 A, 14 °C" or "-20 to -17 kPa, 10 min" and
// returns its numbers by base unit. The first number is in unit if it has no unit itself. One
// number must be of unit's quantity; the base units of all others must be in with.
func ParseMeasured(text, unit string, with []string) (map[string]Measured, error) {
	mine, _, _ := units.OfReading(unit)
	out := map[string]Measured{}
	wrong := func(found string) error {
		want := strings.TrimSpace("a number " + unit)
		if len(with) > 0 {
			want += ", then, after commas, " + strings.Join(with, " and ") + " as known"
		}
		return fmt.Errorf("found %s, want %s", problem.Quote(found), want)
	}
	for i, item := range measuredApart.Split(decimalComma.ReplaceAllString(clean(text), "$1.$2"), -1) {
		f := measuredItem.FindStringSubmatch(item)
		if f == nil {
			return nil, wrong(item)
		}
		name := strings.TrimSpace(f[3])
		if name == "" && i == 0 {
			name = unit
		}
		base, in, ok := units.OfReading(name)
		if _, twice := out[base]; !ok || twice || base != mine && !slices.Contains(with, base) {
			return nil, wrong(item)
		}
		number := func(s string) float64 {
			x, _ := strconv.ParseFloat(s, 64) // matches the pattern, so it parses
			return in.ToBase(x)
		}
		out[base] = Measured{number(f[1]), number(cmp.Or(f[2], f[1]))}
	}
	if _, ok := out[mine]; !ok {
		return nil, wrong(text)
	}
	return out, nil
}
