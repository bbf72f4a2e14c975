package session

import (
	"cmp"
	"slices"

	"sagline/session/problem"
)

// mostWorded is how many problems of a file are listed: common practice, no source. The
// rest are often the same slip again.
const mostWorded = 50

// problems gathers the problems of one file, the first of them in full.
type problems struct {
	file string
	list problem.List
	more int
}

// add adds a problem; line 0 is the file as a whole, and c may be nil.
func (p *problems) add(line int, c *Column, format string, args ...any) {
	place := ""
	if c != nil && len(p.list) < mostWorded {
		place = named(c.Name)
	}
	p.at(line, place, format, args...)
}

// at is add for a place that is worded already.
func (p *problems) at(line int, place, format string, args ...any) {
	if len(p.list) >= mostWorded {
		p.more++
		return
	}
	p.list.Add(p.file, line, place, format, args...)
}

// named is how a problem names a column.
func named(column string) string { return "column " + problem.Quote(column) }

// warning is a problem that does not stop the file from being used.
func (p *problems) warning(line int, place, text string) error {
	return &problem.Problem{File: p.file, Line: line, Column: place, Text: text}
}

// err is nil without problems, else all of them, a line each, in the order of
// the file; what holds for the file as a whole comes last.
func (p *problems) err() error {
	list := slices.Clone(p.list)
	slices.SortStableFunc(list, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) })
	if p.more > 0 {
		list.Add(p.file, 0, "", "… and %d more", p.more)
	}
	return list.Err()
}
