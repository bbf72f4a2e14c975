// Package importer takes in a table that another program or person wrote, such
// as a club's old spreadsheet. It matches headings to the columns of dives.csv
// by their words and units. It assumes that such a match is a proposal: it
// says how sure it is and why, asks rather than guesses where two readings of a
// cell would do, and lets a mapping that a person has edited overrule it.
// Nothing of a file is left out without a word.
package importer

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// A Source is a table of another program.
type Source struct {
	File      string
	Encoding  string
	separator byte
	headings  []heading
	rows      []row
	problems  problem.List
}

// row is one line of the table.
type row struct {
	cells []string
	line  int
}

// mostHeadings bounds the memory of a table; a person's has no more columns.
// preamble is how many lines may stand before the headings. Common practice,
// no source.
const (
	mostHeadings = 100
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
	s := &Source{File: file, Encoding: table.Encoding, separator: table.Separator}
	for line, cells := range table.Rows(&s.problems) {
		if len(s.rows) > session.MaxLines {
			return nil, problemAt(file, line, "", "found more than %d lines, want at most that many", session.MaxLines)
		}
		s.rows = append(s.rows, row{slices.Clone(cells[:min(len(cells), mostHeadings+1)]), line})
	}
	at := headingsAt(s.rows)
	switch {
	case at < 0 && s.problems != nil:
		return nil, s.problems.Err()
	case at < 0:
		return nil, problemAt(file, 0, "", "found no line of headings, want one above the cells")
	case len(s.rows[at].cells) > mostHeadings:
		return nil, problemAt(file, s.rows[at].line, "", "found more than %d headings, want at most that many", mostHeadings)
	}
	s.name(s.rows[at].cells)
	s.rows = s.rows[at+1:]
	return s, nil
}

// name takes the headings apart. One that stands twice is set apart from the
// first by its number.
func (s *Source) name(cells []string) {
	for i, text := range cells {
		text = strings.Join(strings.Fields(text), " ")
		if text == "" || s.Has(text) {
			text = strings.TrimSpace(fmt.Sprintf("%s column %d", text, i+1))
		}
		s.headings = append(s.headings, readHeading(text))
	}
}

// headingsAt is the row of headings: of the first the one with most cells whose
// words are understood, else with most cells without a digit; −1 where there
// are no rows.
func headingsAt(rows []row) int {
	best, most := -1, -1
	for i, r := range rows[:min(len(rows), preamble)] {
		n := 0
		for _, c := range r.cells {
			if h := readHeading(c); len(candidates(h, h.whole)) > 0 || len(candidates(h, h.words)) > 0 {
				n += mostHeadings
			}
			if c != "" && !strings.ContainsAny(c, "0123456789") {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// Has says whether the source has a heading.
func (s *Source) Has(heading string) bool { return s.index(heading) >= 0 }

func (s *Source) index(name string) int {
	return slices.IndexFunc(s.headings, func(h heading) bool { return h.text == name })
}

// column is the cells under a heading that say something.
func (s *Source) column(name string, empty []string) []string {
	i, m := s.index(name), Mapping{Empty: empty}
	var out []string
	for _, r := range s.rows {
		if i >= 0 && i < len(r.cells) && !m.isEmpty(r.cells[i]) {
			out = append(out, r.cells[i])
		}
	}
	return out
}

func problemAt(file string, line int, heading, format string, args ...any) *problem.Problem {
	place := ""
	if heading != "" {
		place = "column " + problem.Quote(heading)
	}
	return &problem.Problem{File: file, Line: line, Column: place, Text: fmt.Sprintf(format, args...)}
}
