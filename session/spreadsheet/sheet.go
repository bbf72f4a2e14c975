// Package spreadsheet reads a table that another program or a person wrote. It finds the
// lines of headings, what is above them, whether rows or columns are dives, and lines that
// name the dive below them. It knows the usual names of the columns of dives.csv;
// converting the cells is left to package importer. A table has at most a hundred
// headings. Every cell is under a heading or counted as left out.
package spreadsheet

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Sheet is a table that was read.
type Sheet struct {
	File      string
	Encoding  string
	Across    bool // the file has a column for each dive or line; Rows are those columns
	Separator byte
	Headings  []Heading
	Rows      []Row
	Account   Account // of all cells
	Problems  problem.List
}

// A Row is one line of the table.
type Row struct {
	Cells []string
	Line  int // from 1; the column of the file if Across
}

// Bounds of a table: mostHeadings of its columns, mostAcross of the cells of a line, which
// may each be a dive, and preamble of the lines before the headings. Common practice, no
// source.
const (
	mostHeadings = 100
	mostAcross   = 1000
	preamble     = 40
)

// Open reads a table; file names it in problems. It uses at most 256 MiB plus eight times the
// file's size of memory. A file that is not a table is an error; problems of single lines are in
// Problems.
func Open(r io.Reader, file string) (*Sheet, error) {
	table, err := session.ReadTable(r, file)
	if err != nil {
		return nil, err
	}
	table.Hashes = true
	s := &Sheet{File: file, Encoding: table.Encoding, Separator: table.Separator, Account: Account{Left: map[string]int{}}}
	for line, cells := range table.Rows(&s.Problems) {
		if len(s.Rows) > session.MaxLines {
			return nil, problemAt(file, line, "", "found more than %d lines, want at most that many", session.MaxLines)
		}
		if len(cells) > mostAcross {
			return nil, problemAt(file, line, "", "found more than %d cells, want at most that many", mostAcross)
		}
		s.Rows = append(s.Rows, Row{slices.Clone(cells), line})
		s.Account.Cells += filled(cells)
	}
	switch err := s.findLayout(); {
	case err != nil && s.Problems != nil:
		return nil, s.Problems.Err()
	case err != nil:
		return nil, err
	}
	return s, nil
}

// filled counts the cells that are not empty.
func filled(cells []string) (n int) {
	for _, c := range cells {
		if c != "" {
			n++
		}
	}
	return n
}

// Has reports whether the table has a heading.
func (s *Sheet) Has(heading string) bool { return s.Index(heading) >= 0 }

// Index returns the index of a heading, −1 for none.
func (s *Sheet) Index(name string) int {
	return slices.IndexFunc(s.Headings, func(h Heading) bool { return h.Text == name })
}

// Column lists the cells under a heading that are not empty, nor one of the words in empty.
func (s *Sheet) Column(name string, empty []string) []string {
	i := s.Index(name)
	var out []string
	for _, r := range s.Rows {
		if i >= 0 && i < len(r.Cells) && r.Cells[i] != "" && !wording.OneOf(r.Cells[i], empty) {
			out = append(out, r.Cells[i])
		}
	}
	return out
}

// Sample returns a table of some of the rows: runs spread over the table, each of at most
// rows rows.
func (s *Sheet) Sample(runs, rows int) *Sheet {
	out := *s
	out.Rows, out.Problems = nil, nil
	for k := range runs {
		from := max(len(s.Rows)*k/runs, len(out.Rows))
		out.Rows = append(out.Rows, s.Rows[from:min(len(s.Rows), from+rows)]...)
	}
	return &out
}

// Where returns where a row is in the file: "line 4", or "column C" if Across.
func (s *Sheet) Where(line int) string {
	if !s.Across {
		return fmt.Sprint("line ", line)
	}
	name := ""
	for ; line > 0; line = (line - 1) / 26 {
		name = string(rune('A'+(line-1)%26)) + name
	}
	return "column " + name
}

// WhereOf is Where for the row of a problem.
func (s *Sheet) WhereOf(p *problem.Problem) string {
	if s.Across {
		return p.Column
	}
	return s.Where(p.Line)
}

// Problem returns a problem of a row's cell under a heading.
func (s *Sheet) Problem(line int, heading, format string, args ...any) *problem.Problem {
	if i := s.Index(heading); s.Across && line > 0 {
		p := problemAt(s.File, 0, "", format, args...)
		if p.Column = s.Where(line); i >= 0 {
			p.Line = s.Headings[i].Line
		}
		return p
	}
	return problemAt(s.File, line, heading, format, args...)
}

func problemAt(file string, line int, heading, format string, args ...any) *problem.Problem {
	column := ""
	if heading != "" {
		column = "column " + problem.Quote(heading)
	}
	return &problem.Problem{File: file, Line: line, Column: column, Text: fmt.Sprintf(format, args...)}
}

// An Account counts what became of the cells of a file that are not empty: Headings,
// Taken, Noted and the numbers of Left, by reason, add up to Cells.
type Account struct {
	Cells    int            `json:"cells"`
	Headings int            `json:"headings"`
	Taken    int            `json:"taken"`
	Noted    int            `json:"noted"` // kept unchanged in a note
	Left     map[string]int `json:"left_out"`
}

// Add counts cells as left out.
func (a *Account) Add(why string, n int) {
	if n != 0 {
		a.Left[why] += n
	}
}

// LeftOut lists in words what was left out, the largest number first.
func (a *Account) LeftOut() (out []string) {
	for _, why := range slices.SortedFunc(maps.Keys(a.Left), func(x, y string) int { return cmp.Or(a.Left[y]-a.Left[x], cmp.Compare(x, y)) }) {
		out = append(out, problem.Count(a.Left[why], "cell")+" "+why)
	}
	return out
}
