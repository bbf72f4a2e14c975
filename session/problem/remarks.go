package problem

import (
	"cmp"
	"slices"
)

// mostAlike is how many remarks of one kind are put into words.
const mostAlike = 3

// Remarks gathers what is odd in a file but accepted. A slip that runs through
// a season is worded a few times and then counted, so that it does not bury
// the others.
type Remarks struct {
	File  string
	kinds []*alike
}

type alike struct {
	kind  string
	list  List
	more  int
	later int // line of the first that is only counted
}

// Add adds something odd; kind is what it has in common with others.
func (r *Remarks) Add(kind string, line int, column, format string, args ...any) {
	at := slices.IndexFunc(r.kinds, func(a *alike) bool { return a.kind == kind })
	if at < 0 {
		at = len(r.kinds)
		r.kinds = append(r.kinds, &alike{kind: kind})
	}
	a := r.kinds[at]
	if len(a.list) < mostAlike {
		a.list.Add(r.File, line, column, format, args...)
		return
	}
	if a.more++; a.more == 1 {
		a.later = line
	}
}

// List is all of it, in the order of the file.
func (r *Remarks) List() List {
	var out List
	for _, a := range r.kinds {
		out = append(out, a.list...)
		if last := a.list[len(a.list)-1]; a.more > 0 {
			out.Add(r.File, a.later, last.Column, "… and %d more like that of line %d", a.more, last.Line)
		}
	}
	slices.SortStableFunc(out, func(a, b *Problem) int { return cmp.Compare(a.Line, b.Line) })
	return out
}
