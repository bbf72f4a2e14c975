package session

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"sagline/session/problem"
)

// A File is a dives.csv as it stands, down to its comments, unknown columns,
// separators and line ends, to be changed a line at a time. What is not
// changed is written back byte for byte.
type File struct {
	Log    *Log   // as read; nil where the file has problems
	CutOff string // says that a line that was cut off is kept as a comment

	file      string
	encoded   encoded
	separator byte
	end       string // of lines
	commas    bool   // decimal commas
	chunks    []chunk
	header    int       // index into chunks
	columns   []*Column // by place in the header; nil where unknown
	list      problem.List
}

// Edit changes a logbook folder's dives.csv, whole or not at all: it keeps
// other writers out, reads the file, calls change and writes the file if it is
// then no worse to read than before. The error is that of change, a list of
// what would have gone wrong, or the system's; the old file is then as it was.
// Where another program replaces the file meanwhile, change is called again
// with what that one wrote.
func Edit(folder string, change func(*File) error) error {
	f, err := openFile(folder) // before a lock is put where no logbook is
	if err != nil {
		return err
	}
	_ = f.Close()
	return underLock(folder, func() error { return edit(folder, change) })
}

func edit(folder string, change func(*File) error) error {
	path := filepath.Join(folder, FileName)
	s, before, err := sheetOf(folder)
	if err != nil {
		return err
	}
	if err := change(s); err != nil {
		return err
	}
	now, err := s.encoded.encode(s.text())
	if err != nil || bytes.Equal(now, before) {
		return err
	}
	if err := s.noWorse(); err != nil {
		return err
	}
	return replaceUnchanged(path, before, now)
}

// View reads a logbook folder's dives.csv as Edit does, to see how it stands.
// It writes nothing and waits for no one.
func View(folder string, see func(*File) error) error {
	s, _, err := sheetOf(folder)
	if err != nil {
		return err
	}
	return see(s)
}

// sheetOf is a folder's dives.csv taken apart, a torn last line kept aside, and
// the bytes of the file.
func sheetOf(folder string) (*File, []byte, error) {
	file, err := load(folder)
	if err != nil {
		return nil, nil, err
	}
	s, err := newSheet(filepath.Join(folder, FileName), file)
	if err != nil {
		return nil, nil, err
	}
	s.keepTornAside()
	return s, file, nil
}

// load is a folder's dives.csv as it stands.
func load(folder string) ([]byte, error) {
	f, err := openFile(folder)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, MaxBytes+1))
}

// newSheet takes a file apart. It refuses one that Read cannot make lines of,
// and one whose bytes it could not give back.
func newSheet(path string, file []byte) (*File, error) {
	s := &File{file: path}
	text, e, ok := decode(file)
	if s.encoded = e; !ok {
		return nil, whole(path, "found bytes that are not text, want the file saved as UTF-8")
	}
	s.takeApart(text)
	s.read()
	if t := (&told{file: path}); s.header < 0 || !s.readHeader(t).usable(t) || t.err() != nil {
		return nil, s.list.Err()
	}
	s.habits()
	return s, nil
}

// takeApart finds the chunks, and the header among them or -1.
func (s *File) takeApart(text string) {
	s.separator = separatorOf(text)
	s.chunks = chunks(text, s.separator)
	s.header = slices.IndexFunc(s.chunks, func(c chunk) bool { return !c.comment() && strings.TrimSpace(c.text) != "" })
}

// read reads the sheet's text as any other reader will.
func (s *File) read() {
	s.list = nil
	log, err := Read(strings.NewReader(s.text()), s.file)
	if s.Log = log; err != nil {
		s.list = problem.Listed(err)
	}
}

// readHeader finds the columns.
func (s *File) readHeader(t *told) *heading {
	h, _ := judgeHeader(s.chunks[s.header].cells(s.separator), s.chunks[s.header].line, t)
	s.columns = h.used
	return h
}

// habits are how the file writes its line ends and decimal points.
func (s *File) habits() {
	s.end = "\n"
	for _, c := range s.chunks {
		if e := c.end(); e != "" {
			s.end = e
		}
	}
	if s.separator == ',' {
		return
	}
	for i := len(s.chunks) - 1; i > s.header; i-- {
		if s.chunks[i].comment() {
			continue
		}
		for k, text := range s.chunks[i].cells(s.separator) {
			if k < len(s.columns) && s.columns[k] != nil && s.columns[k].Unit != "" && strings.ContainsAny(text, ".,") {
				s.commas = strings.Contains(text, ",")
				return
			}
		}
	}
	// Nothing to go by but that who puts ; between cells has commas for points.
	s.commas = s.separator == ';'
}

func (s *File) text() string {
	var b strings.Builder
	for _, c := range s.chunks {
		b.WriteString(c.text)
	}
	return b.String()
}

// noWorse reads the changed sheet and refuses problems that it did not have.
func (s *File) noWorse() error {
	type wrong struct{ column, text string }
	had := map[wrong]int{}
	for _, p := range s.list {
		had[wrong{p.Column, p.Text}]++
	}
	s.read()
	var fresh problem.List
	for _, p := range s.list {
		k := wrong{p.Column, p.Text}
		if had[k]--; had[k] < 0 {
			fresh = append(fresh, p)
		}
	}
	return fresh.Err()
}

// record is the index of the chunk of a record that begins on a line.
func (s *File) record(line int) (int, error) {
	i, ok := slices.BinarySearchFunc(s.chunks, line, func(c chunk, n int) int { return c.line - n })
	if !ok || i <= s.header || s.chunks[i].comment() || s.chunks[i].blank(s.separator) {
		return 0, &problem.Problem{File: s.file, Line: line, Text: "no reading begins on this line"}
	}
	return i, nil
}

// Cells is the line that begins on a line of the file, by column name; cells
// of columns that are not in the table are not in it.
func (s *File) Row(line int) (Row, error) {
	i, err := s.record(line)
	if err != nil {
		return nil, err
	}
	return s.entry(s.chunks[i]), nil
}

func (s *File) entry(c chunk) Row {
	e := Row{}
	for k, text := range c.cells(s.separator) {
		if k < len(s.columns) && s.columns[k] != nil && clean(text) != "" {
			e[s.columns[k].Name] = bare(clean(text))
			if s.columns[k].Unit != "" && s.separator != ',' {
				e[s.columns[k].Name] = strings.Replace(clean(text), ",", ".", 1)
			}
		}
	}
	return e
}

// Columns are the header's names, as Log.Columns.
func (s *File) Columns() []string {
	var out []string
	for _, c := range s.chunks[s.header].cells(s.separator) {
		out = append(out, clean(c))
	}
	return out
}

// Newest is the label of the last line's dive, "" where there is none.
func (s *File) NewestDive() string {
	for i := len(s.chunks) - 1; i > s.header; i-- {
		if c := s.chunks[i]; !c.comment() && !c.blank(s.separator) {
			return s.dive(c)
		}
	}
	return ""
}

// renumber counts the lines again after a change.
func (s *File) renumber() {
	line := 1
	for i := range s.chunks {
		s.chunks[i].line = line
		t := s.chunks[i].text
		line += strings.Count(t, "\n") + strings.Count(t, "\r") - strings.Count(t, "\r\n")
	}
}

// insert puts chunks before the i-th.
func (s *File) insert(i int, c ...chunk) {
	s.put(i, c...)
	s.renumber()
}

// put is insert that leaves the lines' numbers to its caller.
func (s *File) put(i int, c ...chunk) {
	if last := len(s.chunks) - 1; i > last && s.chunks[last].end() == "" {
		s.chunks[last].text += s.end
	}
	s.chunks = slices.Insert(s.chunks, i, c...)
}

// remark is a text as comment lines.
func (s *File) remark(text string) chunk {
	text = lineEnds.Replace(strings.TrimRight(text, "\r\n"))
	return chunk{text: "# " + strings.ReplaceAll(text, "\n", s.end+"# ") + s.end}
}

// keepTornAside makes a comment of a last line that was cut off while another
// program wrote it: one that has no line end and cannot be read. CutOff says so.
func (s *File) keepTornAside() {
	last := len(s.chunks) - 1
	c := s.chunks[last]
	torn := func(p *problem.Problem) bool { return p.Line >= c.line }
	if last <= s.header || c.end() != "" || len(s.list) == 0 || !slices.ContainsFunc(s.list, torn) {
		return
	}
	s.list = slices.DeleteFunc(s.list, torn)
	s.CutOff = fmt.Sprintf("%s:%d: the last line was cut off; kept as a comment: %s", s.file, c.line, problem.Quote(c.text))
	s.chunks[last] = s.remark("cut off, kept aside: " + c.text)
	s.renumber()
}
