package session

import (
	"cmp"
	"slices"

	"sagline/session/problem"
)

// mostTold is how many problems of a file are put into words. A person mends
// those first; the rest are often the same slip again.
const mostTold = 50

// told gathers the problems of one file, the first of them in full.
type told struct {
	file string
	list problem.List
	more int
}

// add tells of a problem; line 0 is the file as a whole, and c may be nil.
func (t *told) add(line int, c *Column, format string, args ...any) {
	place := ""
	if c != nil && len(t.list) < mostTold {
		place = named(c.Name)
	}
	t.at(line, place, format, args...)
}

// at is add for a place that is worded already.
func (t *told) at(line int, place, format string, args ...any) {
	if len(t.list) >= mostTold {
		t.more++
		return
	}
	t.list.Add(t.file, line, place, format, args...)
}

// named is how a problem names a column.
func named(column string) string { return "column " + problem.Quote(column) }

// warning is a problem that does not stop the file from being used.
func (t *told) warning(line int, place, text string) error {
	return &problem.Problem{File: t.file, Line: line, Column: place, Text: text}
}

// err is nil when nothing was told, else all of it, a line each, in the order
// of the file; what holds for the file as a whole comes last.
func (t *told) err() error {
	list := slices.Clone(t.list)
	slices.SortStableFunc(list, func(a, b *problem.Problem) int { return cmp.Compare(uint(a.Line-1), uint(b.Line-1)) })
	if t.more > 0 {
		list.Add(t.file, 0, "", "… and %d more", t.more)
	}
	return list.Err()
}
