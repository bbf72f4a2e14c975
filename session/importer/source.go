package importer

import (
	"io"
	"slices"

	"sagline/session"
	"sagline/session/problem"
)

// A Source is a foreign table, read up to its first rows.
type Source struct {
	File     string
	Encoding string
	Line     int // that the headings stand on; 0: there are none

	table    *session.Table
	headings []heading
	first    []row // the rows read so far
	more     bool  // there are others
	problem  *problem.Problem
}

// row is one line of the table.
type row struct {
	cells []string
	line  int
}

// looked is how many rows a proposal looks at, and preamble how many lines may
// stand before the headings.
const (
	looked   = 2000
	preamble = 40
)

// Open reads a file's headings and first rows; file names it in problems. Some
// programs write what they are and when before the headings, and units below.
func Open(r io.Reader, file string) (*Source, error) {
	s := &Source{File: file, table: session.NewTable(r, file)}
	s.Encoding = s.table.Encoding
	s.read(looked)
	if len(s.first) == 0 {
		if err := s.table.Err(); err != nil {
			return nil, err
		}
		return nil, problemAt(file, 0, "", "empty file, want a header line")
	}
	at := headerAt(s.first)
	if at < 0 {
		s.nameless(widest(s.first))
		return s, nil
	}
	head := s.first[at]
	s.Line, s.first = head.line, s.first[at+1:]
	var below []string
	if len(s.first) > 0 && allUnits(s.first[0].cells) {
		below, s.first = s.first[0].cells, s.first[1:]
	}
	s.named(head.cells, below)
	return s, nil
}

// read takes up to n rows more.
func (s *Source) read(n int) {
	for range n {
		cells, line, ok := s.table.Next()
		if !ok {
			s.more = false
			return
		}
		s.first = append(s.first, row{slices.Clone(cells), line})
	}
	s.more = true
}

// all reads the rest of a table that is kept whole.
func (s *Source) all() {
	s.read(session.MaxRows)
	if s.more {
		s.problem = problemAt(s.File, s.first[len(s.first)-1].line, "", "found more than %d lines, want at most that many", session.MaxRows)
	}
}

// Has says whether the source has a heading.
func (s *Source) Has(heading string) bool { return s.index(heading) >= 0 }

func (s *Source) index(name string) int {
	return slices.IndexFunc(s.headings, func(h heading) bool { return h.text == name })
}
