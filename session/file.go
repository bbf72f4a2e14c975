package session

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
)

// A File is a dives.csv that can be changed line by line. It keeps comments, unknown columns,
// separators and line ends: what is not changed is written back byte for byte.
type File struct {
	Log    *Log   // as read; nil if the file has problems
	CutOff string // message if a cut-off last line became a comment, else ""

	path      string
	encoded   encoded
	separator byte
	end       string // line end
	commas    bool   // whether numbers have decimal commas
	records   []record
	header    int       // index into records
	columns   []*Column // by place in the header; nil if unknown
	unknown   []string  // names of unknown columns by place in the header; "" if known
	list      problem.List
}

// Edit changes the dives.csv of a logbook folder, completely or not at all. It locks out other
// writers, reads the file, calls change, and writes the file unless it has new problems. The error
// is that of change, the list of new problems, or a system error; in each case the file stays as it
// was. If another program replaces the file meanwhile, change is called again on its new content.
func Edit(folder string, change func(*File) error) error {
	path, err := disk.InFolder(folder, FileName) // before a lock file is made in a folder that is no logbook
	if err != nil {
		return err
	}
	return disk.Change(path, MaxBytes, func(before string) (string, error) { return EditText(path, before, change) })
}

// EditText is Edit on the bytes of a file, before, and returns its new bytes. path names the file
// in problems.
func EditText(path, before string, change func(*File) error) (string, error) {
	f, err := OpenText(path, before)
	if err != nil {
		return "", err
	}
	if err := change(f); err != nil {
		return "", err
	}
	text := f.text()
	now, err := f.encoded.encode(text)
	if err != nil || now == before {
		return now, err
	}
	return now, f.noWorse(text)
}

// View reads the dives.csv of a logbook folder as Edit does. It writes nothing and takes no lock.
func View(folder string) (*File, error) {
	path, all, err := disk.ReadIn(folder, FileName, MaxBytes)
	if err != nil {
		return nil, err
	}
	return OpenText(path, all)
}

// OpenText reads the bytes of a file; path names it in problems. It refuses a file without a
// header, a file with a damaged quote, since that leaves open where lines end, and one whose bytes
// it could not restore. A last line that was cut off becomes a comment.
func OpenText(path, file string) (*File, error) {
	f := &File{path: path}
	text, e, exact := decode(file)
	if f.encoded = e; !exact {
		return nil, problem.Whole(path, "found bytes that are not text, want the file saved as UTF-8")
	}
	p := &problems{file: path}
	t, _ := openTable(text, p)
	if t == nil || !t.header.usable(p) || p.err() != nil {
		return nil, p.err()
	}
	f.takeApart(text, t)
	f.read(text)
	f.commentCutOff()
	for i, r := range f.records {
		if r.damage != "" && !r.comment() && i != f.header {
			p.at(r.line, t.header.described(r.cell), "%s", r.damage)
		}
	}
	f.findStyle()
	return f, p.err()
}

// takeApart splits the text into records and sets the columns.
func (f *File) takeApart(text string, t *table) {
	f.separator, f.columns, f.unknown = t.separator, t.header.used, slices.Clone(t.header.names)
	for k, c := range f.columns {
		if c != nil {
			f.unknown[k] = ""
		}
	}
	s := splitter{rest: text, line: 1, separator: t.separator, width: t.width}
	for r := range s.records {
		if r.line == t.header.line {
			f.header = len(f.records)
		}
		f.records = append(f.records, r)
	}
}

// read reads the text as Read does and sets Log and list.
func (f *File) read(text string) {
	log, err := parse(text, f.path)
	if f.Log, f.list = log, problem.Listed(err); log == nil {
		return
	}
	for i := range log.Dives { // Read tolerates a misdated dive; Edit refuses a new one
		if d := &log.Dives[i]; !d.Misdated.IsZero() {
			f.list = append(f.list, &problem.Problem{File: f.path, Line: d.Lines[0].Number, Column: named("date"), Text: d.misdated()})
		}
	}
}

// findStyle finds the file's line end and decimal point.
func (f *File) findStyle() {
	f.end = "\n"
	for _, r := range f.records {
		if e := r.end(); e != "" {
			f.end = e
		}
	}
	if f.separator == ',' {
		return
	}
	for i := len(f.records) - 1; i > f.header; i-- {
		if f.records[i].comment() {
			continue
		}
		for k, text := range f.records[i].cells(f.separator, nil) {
			if k < len(f.columns) && f.columns[k] != nil && f.columns[k].Unit != "" && strings.ContainsAny(text, ".,") {
				f.commas = strings.Contains(text, ",")
				return
			}
		}
	}
	// Where ; separates cells, commas are usually decimal points.
	f.commas = f.separator == ';'
}

// isRow reports whether a record below the header is a row of cells.
func (f *File) isRow(r record) bool { return !r.comment() && !r.blank(f.separator) }

// rowsOf returns the rows of a dive.
func (f *File) rowsOf(dive string) (out []record) {
	for _, r := range f.records[f.header+1:] {
		if f.isRow(r) && f.dive(r) == dive {
			out = append(out, r)
		}
	}
	return out
}

// row returns a record's cells in columns of the table.
func (f *File) row(r record) Row { return rowOf(r.cells(f.separator, nil), f.columns, f.separator) }

func (f *File) text() string {
	var b strings.Builder
	for _, r := range f.records {
		b.WriteString(r.text)
	}
	return b.String()
}

// noWorse reads the changed text and returns the problems that the file did not have before.
func (f *File) noWorse(text string) error {
	type wrong struct{ column, text string }
	had := map[wrong]int{}
	for _, p := range f.list {
		had[wrong{p.Column, p.Text}]++
	}
	f.read(text)
	var fresh problem.List
	for _, p := range f.list {
		k := wrong{p.Column, p.Text}
		if had[k]--; had[k] < 0 {
			fresh = append(fresh, p)
		}
	}
	return fresh.Err()
}

// commentCutOff turns the last line into a comment if it has no line end and cannot be read:
// another program was cut off while writing it. It sets CutOff.
func (f *File) commentCutOff() {
	last := len(f.records) - 1
	r := f.records[last]
	ofLast := func(p *problem.Problem) bool { return p.Line >= r.line }
	if last <= f.header || r.comment() || strings.ContainsAny(r.text, "\r\n") || !slices.ContainsFunc(f.list, ofLast) {
		return
	}
	f.list = slices.DeleteFunc(f.list, ofLast)
	f.CutOff = fmt.Sprintf("%s:%d: the last line was cut off; kept as a comment: %s", f.path, r.line, problem.Quote(r.text))
	f.findStyle()
	f.records[last] = f.comment("cut off, kept aside: " + r.text)
}
