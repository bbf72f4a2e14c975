package calls

import (
	"errors"
	"maps"
	"slices"

	"sagline/predict/newdive"
	"sagline/session"
)

// errChanged says that other lines stand in a dive than those that are shown.
var errChanged = errors.New("the dive has changed meanwhile, in another tab perhaps: nothing is changed; look at its lines, and do it again")

// keep is the file that has a line in it as well, or in the place of one that it
// has, and the lines that nothing was asked about. It is given the bytes of both
// that stand, which another tab may have written, and changes no line: stands does,
// once the page has stored them.
func (b *Logbook) keep(a *Arguments) (Answer, error) {
	if len(a.Files) == 0 {
		return Answer{}, errors.New("want one file")
	}
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

// first is one of the problems of a row's cells, nil where there is none.
func first(wrong map[string]error) error {
	for _, name := range slices.Sorted(maps.Keys(wrong)) {
		return errors.New(name + ": " + said(wrong[name]))
	}
	return nil
}

// strike is the file in which a line that it has is a comment; as keep it changes
// nothing.
func (b *Logbook) strike(a *Arguments) (Answer, error) {
	if len(a.Files) == 0 || a.Line < 0 || a.Line >= len(b.dive.Rows) {
		return Answer{}, errors.New("want one file, and a line that the dive has")
	}
	if a.Files[0] != b.bytes {
		return Answer{}, errChanged
	}
	now, err := session.EditText(session.FileName, b.bytes, func(f *session.File) error {
		return f.Strike(b.number(a.Line), session.ChangeNote("struck", b.today))
	})
	return Answer{Value: true, Files: []string{now, b.toAsk(a.Files[1:], nil)}}, err
}

// number is the line of the file on which a line of the dive begins.
func (b *Logbook) number(i int) int {
	at := b.log.Find(b.dive.Label)
	return b.log.Dives[at].Lines[i].Number
}

// stands takes the bytes of dives.csv that are stored now.
func (b *Logbook) stands(a *Arguments) (Answer, error) {
	if len(a.Files) != 1 {
		return Answer{}, errors.New("want one file")
	}
	if err := b.read(a.Files[0]); err != nil {
		return Answer{}, err
	}
	b.write(b.dive.Label, b.date)
	return b.state()
}

// amend puts a row in the place of one that was there before the dive was shown:
// the old one stays above as a comment.
func (b *Logbook) amend(f *session.File, i int, row session.Row) error {
	for name := range b.dive.Rows[i] {
		if _, is := row[name]; !is {
			row[name] = ""
		}
	}
	return f.Replace(b.number(i), row, session.ChangeNote("changed", b.today))
}
