package session

import (
	"fmt"
	"io"
)

// A limitError says which cell of which line is too much to read.
type limitError struct {
	line, cell int // cell counts from 0; -1 is the line as a whole
	text       string
}

func (e *limitError) Error() string { return e.text }

// guard stands before the CSV reader, which would gather a cell of any size:
// a quote left open at the top of a file makes one cell of all the rest. It
// follows cells and quotes as encoding/csv does, leaves out comment lines but
// for their ends, and stops at the first cell or line beyond the limits.
type guard struct {
	src       io.Reader
	separator byte
	state     guardState
	line      int // being read
	began     int // line that the cell began on
	cell      int // in the line, from 0
	size      int // of the cell, bytes
	err       error
}

type guardState int

const (
	lineStart guardState = iota
	comment
	cellStart
	unquoted
	quoted
	quoteSeen // within quotes: its end, or the first of two
	broken    // a stray quote: the CSV reader gives up the line
)

// Read passes on what may be read; its error is that of src or *limitError.
func (g *guard) Read(p []byte) (int, error) {
	for g.err == nil {
		n, err := g.src.Read(p)
		g.err = err
		if n = g.pass(p[:n]); n > 0 || len(p) == 0 {
			return n, nil
		}
	}
	return 0, g.err
}

// pass works in place and returns how many bytes are left.
func (g *guard) pass(p []byte) int {
	kept := 0
	for _, b := range p {
		plain := g.state == unquoted && b != g.separator && b != '\n' && b != '"' && g.size < MaxCell
		if plain { // most bytes: what follow would do
			g.size++
		} else if !g.follow(b) {
			g.err = g.limit()
			return kept
		}
		if g.state != comment {
			p[kept] = b
			kept++
		}
	}
	return kept
}

// follow takes one byte and says whether the limits still hold.
func (g *guard) follow(b byte) bool {
	if b == '\n' {
		g.line++
		if g.state != quoted {
			g.state, g.cell = lineStart, 0
			return true
		}
	}
	switch g.state {
	case lineStart, cellStart:
		return g.begin(b)
	case unquoted, quoteSeen:
		return g.mayEnd(b)
	case quoted:
		if b == '"' {
			g.state = quoteSeen
		}
	case comment:
		return true
	}
	g.size++
	return g.size <= MaxCell
}

// begin takes a cell's first byte.
func (g *guard) begin(b byte) bool {
	g.size, g.began = 1, g.line
	switch {
	case b == '#' && g.state == lineStart:
		g.state = comment
	case b == '"':
		g.state = quoted
	case b == g.separator:
		return g.next()
	default:
		g.state = unquoted
	}
	return true
}

// mayEnd takes a byte that ends the cell if it is a separator.
func (g *guard) mayEnd(b byte) bool {
	switch {
	case b == g.separator:
		return g.next()
	case b == '"' && g.state == quoteSeen:
		g.state = quoted
	case b == '"' || g.state == quoteSeen:
		g.state = broken
	}
	g.size++
	return g.size <= MaxCell
}

func (g *guard) next() bool {
	g.state, g.size = cellStart, 0
	g.cell++
	return g.cell < MaxCells
}

func (g *guard) limit() error {
	if g.cell >= MaxCells {
		return &limitError{g.line, -1, fmt.Sprintf("found more than %d cells, want at most that many", MaxCells)}
	}
	hint := ""
	if g.state == quoted || g.state == quoteSeen {
		hint = "; is its closing quote missing?"
	}
	return &limitError{g.began, g.cell, fmt.Sprintf("found a cell of more than %d bytes, want at most that many%s", MaxCell, hint)}
}
