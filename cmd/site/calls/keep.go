package calls

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/problem"
)

// errChanged is returned if a dive's lines are no longer those that the page shows.
var errChanged = errors.New("the dive has changed meanwhile, in another tab perhaps: nothing is changed; look at its lines, and do it again")

// keep returns dives.csv with a line added or replaced, and the file of unasked lines. It takes the
// stored bytes of both, which another tab may have written. It does not change the log that the
// Logbook holds: stands does, once the page has stored the bytes.
func (b *Logbook) keep(a *Arguments) (Answer, error) {
	again := a.Line < len(b.dive.Rows)
	if again && a.Files[0] != b.bytes {
		return Answer{}, errChanged
	}
	row, wrong := b.typed(a.Row)
	if err := first(wrong); err != nil {
		return Answer{}, err
	}
	row = newdive.Pruned(row)
	if !newdive.Says(row) {
		return Answer{}, errors.New("nothing was read on this line; it is not kept")
	}
	row["dive"] = b.dive.Label
	switch {
	case again && a.Line == 0:
		row["date"] = b.dive.Rows[0]["date"]
	case a.Line == 0:
		row["date"] = b.date
	}
	now, err := session.EditText(session.FileName, a.Files[0], func(f *session.File) error {
		switch {
		case again && a.Line < b.had[b.dive.Label]:
			return b.amend(f, a.Line, row)
		case again:
			return f.ReplaceRow(b.dive.Label, a.Line, row)
		}
		return f.Append(row)
	})
	if err != nil {
		return Answer{}, err
	}
	return Answer{Value: true, Files: []string{now, b.toAsk(a.Files[1:], row)}}, nil
}

// first returns the problem of the first wrong cell by column name, nil if there is none.
func first(wrong map[string]error) error {
	for _, name := range slices.Sorted(maps.Keys(wrong)) {
		return errors.New(name + ": " + said(wrong[name]))
	}
	return nil
}

// strike returns dives.csv with a line struck. Like keep, it leaves the log to stands.
func (b *Logbook) strike(a *Arguments) (Answer, error) {
	if a.Line < 0 || a.Line >= len(b.dive.Rows) {
		return Answer{}, errors.New("want a line that the dive has")
	}
	if a.Files[0] != b.bytes {
		return Answer{}, errChanged
	}
	now, err := session.EditText(session.FileName, b.bytes, func(f *session.File) error {
		return f.Strike(b.number(a.Line), session.ChangeNote("struck", b.today))
	})
	return Answer{Value: true, Files: []string{now, b.toAsk(a.Files[1:], nil)}}, err
}

// number returns the line number in the file of the dive's i-th line.
func (b *Logbook) number(i int) int {
	at := b.log.Find(b.dive.Label)
	return b.log.Dives[at].Lines[i].Number
}

// stands reads the bytes of dives.csv that the page has stored.
func (b *Logbook) stands(a *Arguments) (Answer, error) {
	if err := b.read(a.Files[0]); err != nil {
		return Answer{}, err
	}
	b.write(b.dive.Label, b.date)
	return b.state()
}

// amend replaces a row that was there before the dive was shown. The old row stays above it as a
// comment.
func (b *Logbook) amend(f *session.File, i int, row session.Row) error {
	for name := range b.dive.Rows[i] {
		if _, is := row[name]; !is {
			row[name] = ""
		}
	}
	return f.Replace(b.number(i), row, session.ChangeNote("changed", b.today))
}

// An unasked is a line that was kept while there was no forecast to compare it with.
type unasked struct {
	Dive  string
	Cells []Cell
}

// unaskedIn reads the unasked lines from the file that keep returned.
func unaskedIn(files []string) (out []unasked) {
	if len(files) == 0 || json.Unmarshal([]byte(files[0]), &out) != nil {
		return nil
	}
	return out
}

// toAsk returns the file of unasked lines with the row that is kept now, if any. It is empty if there
// is a forecast, since every line has then been asked about.
func (b *Logbook) toAsk(files []string, row session.Row) string {
	if b.forecast != nil {
		return ""
	}
	if stored := unaskedIn(files); stored != nil {
		b.unasked = stored
	}
	if row != nil {
		b.unasked = append(b.unasked, unasked{b.dive.Label, cells(row)})
	}
	text, _ := json.Marshal(b.unasked) // strings can always be encoded
	return string(text)
}

// late returns the doubts about lines that were kept before their ranges were known.
func (b *Logbook) late() (out []string) {
	if b.forecast == nil || b.vehicle == nil {
		return nil
	}
	for i := range b.log.Dives {
		label := b.log.Dives[i].Label
		if slices.ContainsFunc(b.unasked, func(u unasked) bool { return u.Dive == label }) {
			out = append(out, b.lateOf(label)...)
		}
	}
	return out
}

// lateOf is late for one dive.
func (b *Logbook) lateOf(label string) (out []string) {
	now, of := b.dive, ""
	defer func() { b.dive = now }()
	if b.dive = b.written(label); label != now.Label {
		of = " of dive " + problem.Visible(label)
	}
	for i, row := range slices.Clone(b.dive.Rows) {
		if !slices.ContainsFunc(b.unasked, func(u unasked) bool { return u.Dive == label && slices.Equal(u.Cells, cells(row)) }) {
			continue
		}
		back := b.upTo(i)
		for _, d := range b.doubts(row) {
			out = append(out, fmt.Sprintf("line %d%s was kept before its ranges were known: %s", i+1, of, d.Text))
		}
		back()
	}
	return out
}
