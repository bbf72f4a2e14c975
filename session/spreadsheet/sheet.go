// Package spreadsheet reads a table that another program or person wrote, and
// finds how it lies in its file: which lines are headings, what stands above
// them, whether a dive has a line or a column, which lines name the dive below
// them. It knows what headings call the columns of dives.csv, and leaves what
// they become to who takes the table in. It assumes a person's table, of at most
// a hundred headings. Every cell is under a heading or counted as left out.
package spreadsheet

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Sheet is a table of another program.
type Sheet struct {
	File      string
	Encoding  string
	Across    bool // a dive or line for each column of the file
	Separator byte
	Headings  []Heading
	Rows      []Row
	Account   Account // of what is no cell under a heading
	Problems  problem.List
}

// A Row is one line of the table.
type Row struct {
	Cells []string
	Line  int // its column, where the table lies across the file
}

// mostHeadings bounds the memory of a table; a person's has no more columns.
// mostAcross is how many cells a line may have, where a dive may be a column;
// preamble is how many lines may stand before the headings. Common practice,
// no source.
const (
	mostHeadings = 100
	mostAcross   = 1000
	preamble     = 40
)

// Open reads a table; file names it in problems. Some programs write what they
// are and when before the headings. It takes at most eight times the file's
// size of memory and 256 MiB.
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

// filled is how many cells have anything in them.
func filled(cells []string) (n int) {
	for _, c := range cells {
		if c != "" {
			n++
		}
	}
	return n
}

// Has says whether the source has a heading.
func (s *Sheet) Has(heading string) bool { return s.Index(heading) >= 0 }

// Index is that of a heading, −1 for none.
func (s *Sheet) Index(name string) int {
	return slices.IndexFunc(s.Headings, func(h Heading) bool { return h.Text == name })
}

// Column is the cells under a heading that say something.
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

// Sample is a table of some of the rows, in runs.
func (s *Sheet) Sample(runs, rows int) *Sheet {
	out := *s
	out.Rows, out.Problems = nil, nil
	for k := range runs {
		from := max(len(s.Rows)*k/runs, len(out.Rows))
		out.Rows = append(out.Rows, s.Rows[from:min(len(s.Rows), from+rows)]...)
	}
	return &out
}

// Where says where a cell stands in the file, for people: "line 4", or "column C"
// where the table lies across it.
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

// WhereOf is Where for what a problem is about.
func (s *Sheet) WhereOf(p *problem.Problem) string {
	if s.Across {
		return p.Column
	}
	return s.Where(p.Line)
}

// Problem is one of a row under a heading.
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

// An Account says what became of the cells of a file that have anything in
// them: Headings, Taken, Noted and those of Left add up to Cells.
type Account struct {
	Cells    int            `json:"cells"`
	Headings int            `json:"headings"`
	Taken    int            `json:"taken"`
	Noted    int            `json:"noted"` // kept in the note as they stand
	Left     map[string]int `json:"left_out"`
}

// Add counts cells as left out.
func (a *Account) Add(why string, n int) {
	if n != 0 {
		a.Left[why] += n
	}
}

// LeftOut is what was left out, most first.
func (a *Account) LeftOut() (out []string) {
	for _, why := range slices.SortedFunc(maps.Keys(a.Left), func(x, y string) int { return a.Left[y] - a.Left[x] }) {
		out = append(out, problem.Count(a.Left[why], "cell")+" "+why)
	}
	return out
}
