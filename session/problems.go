package session

import (
	"cmp"
	"slices"

	"sagline/session/problem"
)

// mostWorded is the number of problems of a file that are listed: common practice, no source. The
// rest are often the same slip again.
const mostWorded = 50

// problems gathers the problems of one file: mostWorded in full, and the number of the others.
type problems struct {
	file string
	list problem.List
	more int
}

// add adds a problem. Line 0 stands for the file as a whole; c may be nil.
func (p *problems) add(line int, c *Column, format string, args ...any) {
	column := ""
	if c != nil && len(p.list) < mostWorded {
		column = named(c.Name)
	}
	p.at(line, column, format, args...)
}

// at is add with the name of the column already in words.
func (p *problems) at(line int, column, format string, args ...any) {
	if len(p.list) >= mostWorded {
		p.more++
		return
	}
	p.list.Add(p.file, line, column, format, args...)
}

// named returns how a problem names a column.
func named(column string) string { return "column " + problem.Quote(column) }

// warning returns a problem that does not keep the file from being used.
func (p *problems) warning(line int, column, text string) error {
	return &problem.Problem{File: p.file, Line: line, Column: column, Text: text}
}

// err returns nil without problems, else all of them, one per line, in the order of the file.
// Those of the file as a whole come last.
func (p *problems) err() error {
	list := slices.Clone(p.list)
	slices.SortStableFunc(list, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) })
	if p.more > 0 {
		list.Add(p.file, 0, "", "… and %d more", p.more)
	}
	return list.Err()
}
