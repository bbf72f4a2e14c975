// Package problem words what is wrong in a file that a person wrote: where it
// stands, what was found there and what is wanted. It assumes that all
// problems of a file are reported at once, each on one line, and that a
// misspelt name is one of the nearest right ones.
package problem

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
)

// A Problem is one thing wrong at one place of a file. Line counts from 1, 0
// means the file as a whole; Column names a column or key and may be empty.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
	Text   string `json:"text"`
}

// Error reads `dives.csv:12: column "battery_v": found …, want …`.
func (p *Problem) Error() string {
	place := p.File
	if p.Line > 0 {
		place = fmt.Sprintf("%s:%d", place, p.Line)
	}
	return strings.Join(slices.DeleteFunc([]string{place, p.Column, p.Text}, func(s string) bool { return s == "" }), ": ")
}

// Whole is a problem of a file as a whole.
func Whole(file, format string, args ...any) error {
	return &Problem{File: file, Text: fmt.Sprintf(format, args...)}
}

// ColumnName is the bare name of the problem's column.
func (p *Problem) ColumnName() string {
	return strings.Trim(strings.TrimPrefix(p.Column, "column "), `"`)
}

// List gathers problems in the order they were met.
type List []*Problem

// Add appends one problem.
func (l *List) Add(file string, line int, column, format string, args ...any) {
	*l = append(*l, &Problem{file, line, column, fmt.Sprintf(format, args...)})
}

// Err is nil for an empty list, else an error whose text has a line a problem.
func (l List) Err() error {
	errs := make([]error, len(l))
	for i, p := range l {
		errs[i] = p
	}
	return errors.Join(errs...)
}

// Listed takes an error of Err apart again; what is no Problem in it becomes
// one of the file as a whole. There is none in no error.
func Listed(err error) List {
	var l List
	if err == nil {
		return nil
	}
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range many.Unwrap() {
			l = append(l, Listed(e)...)
		}
		return l
	}
	var p *Problem
	if !errors.As(err, &p) {
		p = &Problem{Text: err.Error()}
	}
	return List{p}
}

// Nearest returns the known name within two or so slips of the key from name
// (a third of its length for long names), or "" when none is near.
func Nearest(name string, known []string) string {
	best, least := "", max(2, len(name)/3)+1
	for _, k := range known {
		if d := levenshtein.ComputeDistance(strings.ToLower(name), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	return best
}

// Suggest is ` (nearest: "x")`, or nothing when no known name is near.
func Suggest(name string, known []string) string {
	if n := Nearest(name, known); n != "" {
		return fmt.Sprintf(" (nearest: %q)", n)
	}
	return ""
}

// OfThese is Suggest, or all known names where none is near, or any is near one so
// short.
func OfThese(name string, known []string) string {
	if near := Suggest(name, known); near != "" && len(name) > 2 {
		return near
	}
	return ": " + strings.Join(known, ", ")
}

// Plain says whether a text may be printed as it is: one line, nothing that
// steers a terminal or turns the direction of what follows.
func Plain(s string) bool { return !strings.ContainsFunc(s, steers) }

// Visible is a text with what may not be printed as it is replaced by a sign of
// that.
func Visible(s string) string { return replaced(s, "") }

// Clean is a text of any length for a terminal: line ends and tabs stay, what
// else would steer it and bytes that are no text become a sign of that.
func Clean(s string) string { return replaced(s, "\n\t") }

// replaced is a text with a sign for what steers, but for some characters.
func replaced(s, but string) string {
	return strings.Map(func(c rune) rune {
		if steers(c) && !strings.ContainsRune(but, c) {
			return '\ufffd'
		}
		return c
	}, s)
}

func steers(c rune) bool {
	return unicode.IsControl(c) || unicode.In(c, unicode.Zl, unicode.Zp, unicode.Bidi_Control)
}

// Quote shows what was found, cut to a length that fits on a line, with
// control characters escaped.
func Quote(s string) string {
	const most = 40
	if r := []rune(s[:min(len(s), 4*most)]); len(r) > most || len(s) > 4*most {
		return fmt.Sprintf("%q… (%d bytes)", string(r[:min(len(r), most)]), len(s))
	}
	return fmt.Sprintf("%q", s)
}

// Count words how many of something there are: "1 line", "3 lines".
func Count(n int, one string) string {
	if n != 1 {
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}

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
