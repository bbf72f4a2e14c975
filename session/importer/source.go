// Package importer takes in a table that another program or person wrote, such
// as a club's old spreadsheet. It matches headings to the columns of dives.csv
// by their words and units and by what the lines then say. It assumes that such
// a match is a proposal: it says how sure it is and why, asks rather than guesses
// where two readings of a cell would do, and lets a mapping that a person has
// edited overrule it. Every cell of a file is taken, kept in a note or counted as
// left out.
package importer

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"sagline/session"
	"sagline/session/problem"
)

// A Source is a table of another program.
type Source struct {
	File      string
	Encoding  string
	Across    bool // a dive or line for each column of the file
	separator byte
	headings  []heading
	rows      []row
	account   Account // of what is no cell under a heading
	problems  problem.List
}

// row is one line of the table.
type row struct {
	cells []string
	line  int // its column, where the table lies across the file
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
func Open(r io.Reader, file string) (*Source, error) {
	table, err := session.ReadTable(r, file)
	if err != nil {
		return nil, err
	}
	table.Hashes = true
	s := &Source{File: file, Encoding: table.Encoding, separator: table.Separator}
	for line, cells := range table.Rows(&s.problems) {
		if len(s.rows) > session.MaxLines {
			return nil, problemAt(file, line, "", "found more than %d lines, want at most that many", session.MaxLines)
		}
		if len(cells) > mostAcross {
			return nil, problemAt(file, line, "", "found more than %d cells, want at most that many", mostAcross)
		}
		s.rows = append(s.rows, row{slices.Clone(cells), line})
		s.account.Cells += filled(cells)
	}
	switch err := s.lay(); {
	case err != nil && s.problems != nil:
		return nil, s.problems.Err()
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
func (s *Source) Has(heading string) bool { return s.index(heading) >= 0 }

func (s *Source) index(name string) int {
	return slices.IndexFunc(s.headings, func(h heading) bool { return h.text == name })
}

// column is the cells under a heading that say something.
func (s *Source) column(name string, empty []string) []string {
	i := s.index(name)
	var out []string
	for _, r := range s.rows {
		if i >= 0 && i < len(r.cells) && r.cells[i] != "" && !isWord(r.cells[i], empty) {
			out = append(out, r.cells[i])
		}
	}
	return out
}

// Where says where a cell stands in the file, for people: "line 4", or "column C"
// where the table lies across it.
func (s *Source) Where(line int) string {
	if !s.Across {
		return fmt.Sprint("line ", line)
	}
	name := ""
	for ; line > 0; line = (line - 1) / 26 {
		name = string(rune('A'+(line-1)%26)) + name
	}
	return "column " + name
}

// whereOf is Where for what a problem is about.
func (s *Source) whereOf(p *problem.Problem) string {
	if s.Across {
		return p.Column
	}
	return s.Where(p.Line)
}

// problem is one of a row under a heading.
func (s *Source) problem(line int, heading, format string, args ...any) *problem.Problem {
	if i := s.index(heading); s.Across && line > 0 {
		p := problemAt(s.File, 0, "", format, args...)
		if p.Column = s.Where(line); i >= 0 {
			p.Line = s.headings[i].line
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

// add counts cells as left out.
func (a *Account) add(why string, n int) {
	if n != 0 {
		if a.Left == nil {
			a.Left = map[string]int{}
		}
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
