package session

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session/disk"
	"sagline/session/problem"
)

// A File is a dives.csv with its comments, unknown columns, separators and line ends, to be
// changed a line at a time. What is not changed is written back byte for byte.
type File struct {
	Log    *Log   // as read; nil where the file has problems
	CutOff string // says that a line that was cut off is kept as a comment

	path      string
	encoded   encoded
	separator byte
	end       string // of lines
	commas    bool   // decimal commas
	records   []record
	header    int       // index into records
	columns   []*Column // by place in the header; nil where unknown
	own       []string  // by place in the header, the names of unknown columns
	list      problem.List
}

// Edit changes a logbook folder's dives.csv, whole or not at all: it keeps other writers
// out, reads the file, calls change and writes the file unless it has new problems. The
// error is that of change, the list of new problems or the system's; the old file is then as
// it was. Where another program replaces the file meanwhile, change is called again with
// what that one wrote.
func Edit(folder string, change func(*File) error) error {
	path, err := disk.InFolder(folder, FileName) // before a lock is put where no logbook is
	if err != nil {
		return err
	}
	return disk.Change(path, MaxBytes, func(before string) (string, error) { return EditText(path, before, change) })
}

// EditText is Edit on a file's bytes; path names the file in problems.
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

// View reads a logbook folder's dives.csv as Edit does, to see how it stands.
// It writes nothing and takes no lock.
func View(folder string) (*File, error) {
	path, all, err := disk.ReadIn(folder, FileName, MaxBytes)
	if err != nil {
		return nil, err
	}
	return OpenText(path, all)
}

// OpenText reads a file's bytes; path names the file in problems. It refuses a file without a
// header, with a damaged quote, which leaves open where lines end, or whose bytes it could
// not write back. A last line that was cut off becomes a comment.
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
			p.at(r.line, t.header.place(r.cell), "%s", r.damage)
		}
	}
	f.findStyle()
	return f, p.err()
}

// takeApart splits the text into records and finds the columns.
func (f *File) takeApart(text string, t *table) {
	f.separator, f.columns, f.own = t.separator, t.header.used, slices.Clone(t.header.names)
	for k, c := range f.columns {
		if c != nil {
			f.own[k] = ""
		}
	}
	s := splitter{rest: text, line: 1, separator: t.separator, width: t.width}
	for {
		r, ok := s.next()
		if !ok {
			return
		}
		if r.line == t.header.line {
			f.header = len(f.records)
		}
		f.records = append(f.records, r)
	}
}

// read reads the file's text as Read does.
func (f *File) read(text string) {
	log, err := parse(text, f.path)
	if f.Log, f.list = log, problem.Listed(err); log == nil {
		return
	}
	for i := range log.Dives { // what is read all the same is not written
		if d := &log.Dives[i]; !d.Misdated.IsZero() {
			f.list = append(f.list, &problem.Problem{File: f.path, Line: d.Lines[0].Number, Column: named("date"), Text: d.misdated()})
		}
	}
}

// findStyle finds how the file writes line ends and decimal points.
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

// isRow says whether a record below the header is a row of cells.
func (f *File) isRow(r record) bool { return !r.comment() && !r.blank(f.separator) }

// rowsOf are the rows of a dive.
func (f *File) rowsOf(dive string) (out []record) {
	for _, r := range f.records[f.header+1:] {
		if f.isRow(r) && f.dive(r) == dive {
			out = append(out, r)
		}
	}
	return out
}

// row is a record's cells in columns of the table.
func (f *File) row(r record) Row { return rowOf(r.cells(f.separator, nil), f.columns, f.separator) }

func (f *File) text() string {
	var b strings.Builder
	for _, r := range f.records {
		b.WriteString(r.text)
	}
	return b.String()
}

// noWorse reads the changed file and refuses problems that it did not have.
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

// commentCutOff makes a comment of a last line that was cut off while another program wrote
// it: one without a line end that cannot be read. It sets CutOff.
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
