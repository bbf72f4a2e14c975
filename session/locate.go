package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
)

// LocateFile is the name of a logbook's readings that search for a fault's
// spot, a line each, in the order they were made.
const LocateFile = "locate.csv"

// A LocateLine is one of them.
type LocateLine struct {
	Search    string // the fault, as trend names it
	AfterDive string // label of the newest dive of the log when it was made
	Date      string // ISO 8601 day
	Test      string // as sagline locate names it, or Repaired
	Reading   string // numbers with their units, yes or no; of Repaired the spot
	Line      int    // in the file
}

// Repaired as a test says that a spot was worked on: what was read before does
// not count any more.
const Repaired = "repaired"

var locateColumns = []string{"search", "after_dive", "date", "test", "reading"}

// cells are those of a line, in the order of locateColumns.
func (l *LocateLine) cells() []*string {
	return []*string{&l.Search, &l.AfterDive, &l.Date, &l.Test, &l.Reading}
}

// ReadLocate reads a folder's locate.csv; there are no lines where there is no
// file. The same encodings and separators are read as in dives.csv.
func ReadLocate(folder string) ([]LocateLine, error) {
	path := filepath.Join(folder, LocateFile)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
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
		if before == "" {
			before = strings.Join(locateColumns, ",") + "\n"
		}
		return withLine(path, before, l)
	})
}

// withLine is a file with a line more.
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

// Measured is one number of a reading that was typed with its unit; of "a to b"
// both, else the same twice. It is in the first unit of its dimension.
type Measured struct{ From, To float64 }

// dimensions are the units that a reading may be typed in, by what they measure.
// Pressure: NIST SP 811 (2008), appendix B.8.
var dimensions = map[string]struct {
	of             string
	factor, offset float64 // of is (x − offset)·factor
}{
	"mV": {"mV", 1, 0}, "V": {"mV", 1000, 0}, "A": {"A", 1, 0}, "mA": {"A", 0.001, 0},
	"mΩ": {"Ω", 0.001, 0}, "mohm": {"Ω", 0.001, 0}, "Ω": {"Ω", 1, 0}, "ohm": {"Ω", 1, 0}, "ohms": {"Ω", 1, 0}, "kΩ": {"Ω", 1e3, 0}, "kohm": {"Ω", 1e3, 0},
	"MΩ": {"Ω", 1e6, 0}, "Mohm": {"Ω", 1e6, 0}, "megohm": {"Ω", 1e6, 0}, "GΩ": {"Ω", 1e9, 0}, "Gohm": {"Ω", 1e9, 0},
	"°C": {"°C", 1, 0}, "C": {"°C", 1, 0}, "°F": {"°C", 1 / 1.8, 32}, "F": {"°C", 1 / 1.8, 32}, "min": {"min", 1, 0}, "h": {"min", 60, 0},
	"kPa": {"kPa", 1, 0}, "mbar": {"kPa", 0.1, 0}, "bar": {"kPa", 100, 0}, "psi": {"kPa", 6.894757, 0}, "inHg": {"kPa", 3.386389, 0},
	"": {"", 1, 0}, "%": {"", 0.01, 0},
}

var (
	measuredItem  = regexp.MustCompile(`^[><]?\s*(-?\d*\.?\d+)(?:\s*to\s*(-?\d*\.?\d+))?\s*(\D*)$`)
	measuredApart = regexp.MustCompile(`\s*(?:[,;]|\bat\b)\s*`)
	decimalComma  = regexp.MustCompile(`(\d),(\d)`)
)

// ParseMeasured takes a reading such as "182 mV, 5.2 A, 14 °C" or
// "-20 to -17 kPa, 10 min" apart, by dimension. unit is that of its first
// number where it has none, and the reading's own; beside it may stand numbers
// of the dimensions in with.
func ParseMeasured(text, unit string, with []string) (map[string]Measured, error) {
	mine, out := dimensions[unit].of, map[string]Measured{}
	wrong := func(found string) error {
		want := strings.TrimSpace("a number " + unit)
		if len(with) > 0 {
			want += ", then as known " + strings.Join(with, " and ")
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
		d, ok := dimensions[name]
		if _, twice := out[d.of]; !ok || twice || d.of != mine && !slices.Contains(with, d.of) {
			return nil, wrong(item)
		}
		if f[2] == "" {
			f[2] = f[1]
		}
		number := func(s string) float64 {
			x, _ := strconv.ParseFloat(s, 64) // the pattern's digits
			return (x - d.offset) * d.factor
		}
		out[d.of] = Measured{number(f[1]), number(f[2])}
	}
	if _, ok := out[mine]; !ok {
		return nil, wrong(text)
	}
	return out, nil
}
