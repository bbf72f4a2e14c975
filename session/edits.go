package session

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"sagline/session/problem"
)

// ChangeNote returns the text that begins a comment which keeps an old line.
func ChangeNote(what string, day time.Time) string {
	return fmt.Sprintf("%s %s, was", day.Format(time.DateOnly), what)
}

// changeNote matches a comment that begins with a ChangeNote, and captures the note and the old
// line.
var changeNote = regexp.MustCompile(`(?s)^#\s*(\d{4}-\d\d-\d\d (?:changed|struck), was): (.*)$`)

// An edit is a line that was changed or struck, as recorded in a comment.
type edit struct {
	note, dive    string
	before, after Row // after is nil for a struck line
}

// String describes an edit in words.
func (p edit) String() string {
	if p.after == nil {
		return fmt.Sprintf("dive %s: a line struck", p.dive)
	}
	return fmt.Sprintf("dive %s: a line changed", p.dive)
}

func (p edit) same(o edit) bool {
	return p.dive == o.dive && (p.after == nil) == (o.after == nil) && sameLine(p.before, o.before) && sameLine(p.after, o.after)
}

// changes returns the cells that an edit changed, with their new texts.
func (p edit) changes() Row {
	out := Row{}
	for _, c := range columns {
		if p.before[c.Name] != p.after[c.Name] {
			out[c.Name] = p.after[c.Name]
		}
	}
	return out
}

// edits returns the changed and struck lines that a file's comments record, from the top.
func (f *File) edits() (out []edit) {
	changed := false // whether the last of out still needs its after: the next row or recorded line
	for i := f.header + 1; i < len(f.records); i++ {
		r, note := f.records[i], ""
		if r.comment() {
			m := changeNote.FindStringSubmatch(r.text)
			if m == nil {
				continue
			}
			note, r.text = m[1], m[2]
			for strings.Count(r.text, `"`)%2 == 1 && i+1 < len(f.records) && f.records[i+1].comment() { // a cell of several lines
				i++
				r.text += strings.TrimPrefix(f.records[i].text, "# ")
			}
		} else if r.blank(f.separator) {
			continue
		}
		row := f.row(r)
		if changed {
			out[len(out)-1].after = row
		}
		changed = strings.Contains(note, "changed")
		if note != "" {
			out = append(out, edit{note: note, dive: f.dive(r), before: row})
		}
	}
	if changed {
		out = out[:len(out)-1] // no row follows the comment
	}
	return out
}

// applyEdits applies the edits of another copy, each with its comment. It returns those that it
// applied, and those left because this file has no more rows like the old line than the copy still
// has.
func (f *File) applyEdits(with *File) (did, left []edit, err error) {
	had := f.edits()
	for _, p := range with.edits() {
		if k := slices.IndexFunc(had, p.same); k >= 0 {
			had = slices.Delete(had, k, k+1)
			continue
		}
		here, there := f.rowsLike(p.dive, p.before), with.rowsLike(p.dive, p.before)
		switch {
		case len(here) <= len(there):
			left = append(left, p)
			continue
		case p.after == nil:
			err = f.Strike(here[len(here)-1], p.note)
		default:
			err = f.Replace(here[len(here)-1], p.changes(), p.note)
		}
		if err != nil {
			return did, left, err
		}
		did = append(did, p)
	}
	return did, left, nil
}

// keepEdits adds the comments of another copy's edits that this file lacks, since a third copy may
// need them. A comment goes above the line as it is now; that of a struck line goes to the end of
// its dive.
func (f *File) keepEdits(of *File) {
	had, above := f.edits(), 0
	var previous Row // the old line in the comment at above
	for _, p := range slices.Backward(of.edits()) {
		if k := slices.IndexFunc(had, p.same); k >= 0 {
			had = slices.Delete(had, k, k+1)
			continue
		}
		at := above
		if p.after == nil {
			places := f.places()
			at = cmp.Or(places.after[p.dive], places.end)
		} else if previous == nil || !sameLine(p.after, previous) {
			like := f.rowsLike(p.dive, p.after)
			if len(like) == 0 {
				continue // the edited line is not in this file
			}
			at, _ = f.find(like[len(like)-1]) // rowsLike found it, so there is no error
		}
		f.insert(at, f.comment(p.note+": "+f.join(f.cells(p.before, 0, &problem.List{}))))
		f.renumber()
		above, previous = at, p.before
	}
}

// rowsLike returns the line numbers of a dive's rows that equal row by sameLine.
func (f *File) rowsLike(dive string, row Row) (out []int) {
	for _, r := range f.rowsOf(dive) {
		if sameLine(row, f.row(r)) {
			out = append(out, r.line)
		}
	}
	return out
}

// sameLine is sameRow without the lasting cells that only one row has: the row may have taken them
// over from one that was struck above it.
func sameLine(a, b Row) bool {
	a, b = byValue(a), byValue(b)
	for _, c := range columns {
		if slices.Contains(lasting, c.Quantity) && (a[c.Name] == "" || b[c.Name] == "") {
			delete(a, c.Name)
			delete(b, c.Name)
		}
	}
	return sameRow(a, b)
}
