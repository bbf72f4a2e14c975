// Package problem words what is wrong in a file that a person wrote: where it is, what was
// found there and what is wanted. All problems of a file are reported at once, each on one
// line, and a misspelt name with the nearest known one.
package problem

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
	"github.com/pelletier/go-toml/v2"
)

// A Problem is one thing that is wrong at one place of a file. Line counts from 1; 0 is
// the file as a whole. Column names a column or key and may be empty.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column string `json:"column"`
	Text   string `json:"text"`
}

// Error returns text such as `dives.csv:12: column "battery_v": found …, want …`.
func (p *Problem) Error() string {
	location := p.File
	if p.Line > 0 {
		location = fmt.Sprintf("%s:%d", location, p.Line)
	}
	return strings.Join(slices.DeleteFunc([]string{location, p.Column, p.Text}, func(s string) bool { return s == "" }), ": ")
}

// Whole returns a problem of a file as a whole.
func Whole(file, format string, args ...any) error {
	return &Problem{File: file, Text: fmt.Sprintf(format, args...)}
}

// ColumnName returns the bare name of the problem's column.
func (p *Problem) ColumnName() string {
	return strings.Trim(strings.TrimPrefix(p.Column, "column "), `"`)
}

// List is a list of problems, in the order in which they were found.
type List []*Problem

// Add appends one problem.
func (l *List) Add(file string, line int, column, format string, args ...any) {
	*l = append(*l, &Problem{file, line, column, fmt.Sprintf(format, args...)})
}

// Err returns nil for an empty list, else an error whose text has one line for each problem.
func (l List) Err() error {
	errs := make([]error, len(l))
	for i, p := range l {
		errs[i] = p
	}
	return errors.Join(errs...)
}

// Listed splits an error into its problems; anything else in it becomes a problem without
// a file. The list for nil is empty.
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

// Nearest returns the known name that differs from name by at most about two letters (a
// third of its length for long names), or "" if there is none.
func Nearest(name string, known []string) string {
	best, least := "", max(2, len(name)/3)+1
	for _, k := range known {
		if d := levenshtein.ComputeDistance(strings.ToLower(name), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	return best
}

// Suggest returns ` (nearest: "x")`, or "" if no known name is near.
func Suggest(name string, known []string) string {
	if n := Nearest(name, known); n != "" {
		return fmt.Sprintf(" (nearest: %q)", n)
	}
	return ""
}

// OfThese is Suggest; it lists all known names if none is near, or if name is so short
// that any would be.
func OfThese(name string, known []string) string {
	if suggestion := Suggest(name, known); suggestion != "" && len(name) > 2 {
		return suggestion
	}
	return ": " + strings.Join(known, ", ")
}

// NotOf is the error of a name that is none of the known ones.
func NotOf(name string, known []string) error {
	return fmt.Errorf("found %s, want one of %s%s", Quote(name), strings.Join(known, ", "), Suggest(name, known))
}

// Plain reports whether a text may be printed as it is: it is one line without characters
// that control a terminal or change the direction of writing.
func Plain(s string) bool { return !strings.ContainsFunc(s, steers) }

// Visible replaces the characters of a text that may not be printed by visible signs.
func Visible(s string) string { return replaced(s, "") }

// Clean is Visible for texts of several lines: line breaks and tabs stay. Bytes that are
// not text also become signs.
func Clean(s string) string { return replaced(s, "\n\t") }

// replaced replaces control characters except those in but.
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

// Quote quotes what was found, cut to a length that fits on a line, with control
// characters escaped.
func Quote(s string) string {
	const most = 40
	if r := []rune(s[:min(len(s), 4*most)]); len(r) > most || len(s) > 4*most {
		return fmt.Sprintf("%q… (%d bytes)", string(r[:min(len(r), most)]), len(s))
	}
	return fmt.Sprintf("%q", s)
}

// Count words a number of things: "1 line", "3 lines".
func Count(n int, one string) string {
	if n != 1 {
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}

// mostAlike is the number of remarks of one kind that are worded.
const mostAlike = 3

// Remarks gathers what is odd in a file but accepted. Of one kind only the first few are
// worded and the others counted, so that a slip repeated over a season does not hide other
// remarks.
type Remarks struct {
	File  string
	kinds []*alike
}

type alike struct {
	kind  string
	list  List
	more  int
	later int // line of the first remark that is only counted
}

// Add adds a remark; kind is the same for remarks that are alike.
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

// List returns all remarks, in the order of the file.
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

// OfTOML words an error of a strict TOML decoder: each unknown key with its line and the
// nearest known key, or what cannot be read.
func OfTOML(err error, file string, known []string) (list List) {
	var strict *toml.StrictMissingError
	var decode *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for i := range strict.Errors {
			line, _ := strict.Errors[i].Position()
			key := strict.Errors[i].Key()
			list.Add(file, line, strings.Join(key, "."), "unknown key%s", Suggest(key[len(key)-1], known))
		}
	case errors.As(err, &decode):
		line, _ := decode.Position()
		list.Add(file, line, strings.Join(decode.Key(), "."), "%s", strings.TrimPrefix(decode.Error(), "toml: "))
	default:
		list.Add(file, 0, "", "%s", strings.TrimPrefix(err.Error(), "toml: "))
	}
	return list
}
