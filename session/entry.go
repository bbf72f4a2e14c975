package session

import (
	"cmp"
	"io"
	"strings"

	"sagline/session/problem"
)

// An Row is one line to be written: cells by column name, in that column's
// unit. Numbers have a decimal point; what was not measured is left out.
type Row map[string]string

// Judge reads entries as the lines of one dive: what they say, and every
// problem that they have by themselves, with the column but without a place in
// a file. A dive or date that is not in them is not missed. Where there are
// problems there are no lines.
func ParseRows(entries ...Row) ([]Line, problem.List) {
	s := File{separator: ';', end: "\n", chunks: []chunk{{text: "dive;date\n"}}, columns: []*Column{byName["dive"], byName["date"]}}
	var list problem.List
	for i, e := range entries {
		row := s.row(e, &list)
		row[0] = cmp.Or(row[0], "-")
		if i == 0 {
			row[1] = cmp.Or(row[1], "2000-01-01")
		}
		s.chunks = append(s.chunks, chunk{text: s.join(row)})
	}
	log, err := Read(strings.NewReader(s.text()), "")
	if err != nil {
		for _, p := range problem.Listed(err) {
			list.Add("", 0, p.Column, "%s", p.Text)
		}
	}
	if list != nil || len(log.Dives) == 0 {
		return nil, list
	}
	return log.Dives[0].Lines, nil
}

// Entries are the lines of a table in some of the columns of dives.csv, in
// any of the forms that Read takes; which dive they are of may be left open.
// Its error tells of columns that are not in the table and of lines that
// cannot be split; the cells are not judged.
func ReadRows(r io.Reader, file string) ([]Row, error) {
	all, err := io.ReadAll(&atMost{r, MaxBytes})
	if err != nil {
		return nil, whole(file, "%v", err)
	}
	s, t := &File{file: file}, &told{file: file}
	text, _, _ := decode(all)
	if s.takeApart(text); s.header < 0 {
		return nil, t.ended(io.EOF, nil)
	}
	h := s.readHeader(t)
	for i, name := range h.names {
		if h.used[i] == nil && name != "" && h.has[name] == nil {
			t.at(h.line, named(name), "unknown%s", problem.Suggest(name, names))
		}
	}
	var out []Row
	for _, c := range s.chunks[s.header+1:] {
		switch {
		case c.comment() || c.blank(s.separator):
		case c.cells(s.separator) == nil:
			t.add(c.line, nil, `cannot be split into cells, want quotes around a whole cell and a " in it doubled`)
		default:
			out = append(out, s.entry(c))
		}
	}
	return out, t.err()
}

// cell is a text as it is written into a cell of c, with a decimal comma where
// the file has those. What c takes for text can then be run by no spreadsheet.
func (c *Column) cell(text string, commas bool) string {
	if c.Unit == "" {
		return harmless(lineEnds.Replace(strings.TrimSpace(text)))
	}
	text = clean(text)
	if x, err := c.number(text, false); err == nil && strings.HasPrefix(text, "+") {
		text = decimals(x)
	}
	if commas {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}
