package prompt

import (
	"fmt"
	"io"
	"strconv"
	"time"

	"sagline/predict/newdive"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// An Amendment asks what to change in a dive of the log.
type Amendment struct {
	Asker
	Folder  string
	Dive    string // label
	Today   time.Time
	Vehicle *vehicle.Vehicle // nil: not known
}

// strikeWord is the answer that turns a line into a comment.
const strikeWord = "strike"

// Run asks until the person is done. It returns how many lines were changed.
func (a *Amendment) Run() (changed int, err error) {
	a.rules = "Enter leaves a line as it is; - after a column empties it; done ends it."
	for err == nil {
		var did bool
		if did, err = a.one(); did {
			changed++
		}
		err = ignored(err, errBack, errMore)
	}
	return changed, ignored(err, errDone, io.EOF)
}

// one shows the dive, asks for one line and its change, and writes it.
func (a *Amendment) one() (changed bool, err error) {
	log, err := session.Open(a.Folder)
	switch {
	case err != nil:
		return false, err
	case log.Find(a.Dive) < 0:
		return false, fmt.Errorf("no dive %s in %s", problem.Quote(a.Dive), log.File)
	}
	d := newdive.New(log, nil, a.Vehicle, RowsIn(a.Folder))
	d.Begin(a.Dive)
	a.Say("\ndive %s\n%s\n", d.Label, table(d.Rows, a.Width))
	answer, err := a.ask(&question{text: "line, or done", help: "the number at the left of the line to change", preset: doneWord, check: func(s string) error {
		if n, err := strconv.Atoi(s); err != nil || n < 1 || n > len(d.Rows) {
			return fmt.Errorf("found %q, want one of 1 to %d", s, len(d.Rows))
		}
		return nil
	}})
	if err != nil || answer == "" {
		return false, err
	}
	n, _ := strconv.Atoi(answer)
	a.list("  ", Items(d.Rows[n-1], nil), ", ")
	answer, err = a.ask(&question{text: "what changes, as battery_v 12.4, or " + strikeWord, help: "column and number, or a number with its unit; thrusters; strike makes a comment of the whole line",
		words: append([]string{strikeWord}, session.ColumnNames()...)})
	switch {
	case err != nil || answer == "":
		return false, err
	case answer == strikeWord:
		return a.edit(d, n-1, func(f *session.File, line int) error { return f.Strike(line, session.ChangeNote("struck", a.Today)) })
	}
	row, err := d.Reader.Changes(answer)
	if err != nil {
		a.PrintWrapped("  ", err.Error())
		return false, nil
	}
	return a.edit(d, n-1, func(f *session.File, line int) error {
		return f.Replace(line, row, session.ChangeNote("changed", a.Today))
	})
}

// edit changes the i-th line of the dive as shown, wherever it now stands in the file. If that
// fails, it tells why and changes nothing.
func (a *Amendment) edit(d *newdive.Dive, i int, change func(f *session.File, line int) error) (bool, error) {
	err := Edit(a.Folder, func(text string) { a.Say("%s\n", text) }, func(f *session.File) error {
		_, line, err := f.RowIndex(a.Dive, i, d.Rows)
		if err != nil {
			return err
		}
		return change(f, line)
	})
	if err != nil {
		a.PrintWrapped("  ", err.Error())
		return false, nil
	}
	return true, nil
}
