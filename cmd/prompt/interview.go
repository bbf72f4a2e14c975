package prompt

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/problem"
)

// An Interview asks for one dive and writes it to the log.
type Interview struct {
	Asker
	Folder string
	Dive   *newdive.Dive
	Today  time.Time
	Guided bool // one question per cell instead of per line

	all    bool   // every column is asked for
	date   string // day of a new dive
	before int    // number of lines that the dive had
	wrote  int    // number of lines written
}

// Run asks for a dive until it is done or input ends. It returns the dive's label and how many
// lines it wrote. ErrInterrupted means that the line being typed, if any, is not on disk.
func (v *Interview) Run() (dive string, lines int, err error) {
	if v.rules = lineRules; v.Guided {
		v.rules = guidedRules
	}
	first, err := v.begin()
	for err == nil {
		err = v.line(len(v.Dive.Rows), first)
		if len(v.Dive.Rows) > v.before {
			first = session.Row{}
		}
	}
	return v.Dive.Label, v.wrote, ignored(err, errDone, io.EOF)
}

// line asks for the i-th line of the dive and writes it. first holds cells that the line has before
// anything is typed.
func (v *Interview) line(i int, first session.Row) error {
	var row session.Row
	var err, done error
	if v.Guided {
		row, err = v.guided(i, first)
	} else {
		row, err = v.typed(i, first)
	}
	if ended(err) && row != nil {
		err, done = nil, err
	}
	if err == nil {
		row, err = v.resolve(i, row)
		switch {
		case ended(err) && row != nil:
			err, done = nil, err
		case errors.Is(err, errBack):
			v.Say("  line %d is not written\n", i+1)
		}
	}
	switch {
	case errors.Is(err, errBack) && i > v.before:
		return v.line(i-1, v.Dive.Rows[i-1])
	case errors.Is(err, errBack):
		v.Say("  nothing to go back to here; sagline amend changes any line\n")
		return nil
	case err != nil:
		return err
	}
	if err := v.write(i, row); err != nil {
		return err
	}
	return done
}

// ended reports whether an error means that the dive is done or input has ended.
func ended(err error) bool { return errors.Is(err, errDone) || errors.Is(err, io.EOF) }

// write writes the i-th line of the dive to disk and shows it.
func (v *Interview) write(i int, row session.Row) error {
	row = newdive.Pruned(row)
	row["dive"] = v.Dive.Label
	if !newdive.Says(row) {
		said := ""
		if items := Items(row, nil); len(items) > 0 {
			said = strings.Join(items, ", ") + ": "
		}
		if date := row["date"]; date != "" && i == 0 { // it is the dive's, not the line's
			v.date, said = date, "the dive's date is "+date+": "
		}
		v.PrintWrapped("  ", said+"nothing was read on this line; it is not written")
		return nil
	}
	if i == 0 && v.date != "" {
		row["date"] = v.date
	}
	for {
		err := Edit(v.Folder, func(text string) { v.Say("%s\n", text) }, func(f *session.File) error {
			if i < len(v.Dive.Rows) {
				at, _, err := f.RowIndex(v.Dive.Label, i, v.Dive.Rows)
				if err != nil {
					return err
				}
				if at > 0 {
					delete(row, "date")
				}
				return f.ReplaceRow(v.Dive.Label, at, row)
			}
			return f.Append(row)
		})
		if err == nil {
			break
		}
		v.Say("%v\n", err)
		if _, err := v.ask(&question{text: "the line is not on disk; Enter tries again, back types it again", help: "mend what is wrong, then Enter"}); err != nil && !errors.Is(err, errMore) {
			return ignored(err, errBack)
		}
	}
	after := slices.Clone(v.Dive.Rows[min(i+1, len(v.Dive.Rows)):])
	if i == len(v.Dive.Rows) {
		v.wrote++
	}
	v.Dive.Put(i)
	v.echo(i, row)
	v.Dive.Put(i, append([]session.Row{row}, after...)...)
	return nil
}

// Edit is session.Edit that also warns if a cut-off last line was kept as a comment.
func Edit(folder string, warn func(text string), change func(*session.File) error) error {
	cutOff := ""
	err := session.Edit(folder, func(f *session.File) error {
		cutOff = f.CutOff
		return change(f)
	})
	if err == nil && cutOff != "" {
		warn(cutOff)
	}
	return err
}

// ignored returns err, or nil if it is one of some.
func ignored(err error, some ...error) error {
	if slices.ContainsFunc(some, func(e error) bool { return errors.Is(err, e) }) {
		return nil
	}
	return err
}

// begin asks which dive it is and what is new since the one before. It returns the cells that the
// first line has before anything is typed.
func (v *Interview) begin() (session.Row, error) {
	log := v.Dive.Log
	label, day := newdive.NextDive(log, v.Today)
	if n := len(log.Dives); n > 0 {
		v.PrintWrapped("", fmt.Sprintf("%s so far, the newest %v. ? says what can be answered.", problem.Count(n, "dive"), &log.Dives[n-1]))
	}
	for _, said := range []string{newdive.ClockBehind(log, v.Today), newdive.Another(log)} {
		if said != "" {
			v.PrintWrapped("", said)
		}
	}
	for {
		v.start(label, day)
		row, err := v.first()
		if errors.Is(err, errBack) || errors.Is(err, errMore) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := v.ahead(row); err != nil {
			if errors.Is(err, errBack) || errors.Is(err, errMore) {
				continue
			}
			return nil, err
		}
		if log.Find(v.Dive.Label) < 0 {
			v.date = cmp.Or(row["date"], v.date)
		}
		named, date := row["dive"], cmp.Or(row["date"], day)
		delete(row, "dive")
		delete(row, "date")
		switch {
		case named == newWord:
			label = newdive.After(log, v.Dive.Label)
		case named != "" && named != v.Dive.Label:
			v.start(named, date)
			return row, nil
		default:
			return row, nil
		}
	}
}

// ahead asks about a date in the future. Enter keeps it.
func (v *Interview) ahead(row session.Row) error {
	doubt := newdive.Ahead(row["date"], v.Today)
	if doubt == "" {
		return nil
	}
	v.PrintWrapped("  ", doubt)
	date := session.Named("date")
	answer, err := v.ask(&question{text: "  instead, or Enter:", preset: row["date"], help: "date: " + date.Help, check: v.passes(date, row)})
	if err != nil {
		return err
	}
	row["date"], err = v.Dive.Reader.Cell(date, answer)
	return err
}

// start begins a dive, or continues a dive of the log and shows its last line.
func (v *Interview) start(label, date string) {
	v.Dive.Begin(label)
	v.date, v.before = date, len(v.Dive.Rows)
	if i := v.Dive.Log.Find(label); i >= 0 {
		d := &v.Dive.Log.Dives[i]
		v.date = ""
		v.PrintWrapped("", fmt.Sprintf("dive %v has %s, the last:", d, problem.Count(len(d.Lines), "line")))
		last := slices.Clone(v.Dive.Rows[max(0, v.before-1):])
		v.Dive.Put(v.before - len(last))
		for _, row := range last {
			v.echo(v.before-1, row)
		}
		v.Dive.Put(v.before-len(last), last...)
	}
}

// RowsIn returns a function that gives a dive's rows as written in a folder's file, nil if they
// cannot be read.
func RowsIn(folder string) func(*session.Dive) []session.Row {
	return func(d *session.Dive) []session.Row {
		f, err := session.View(folder)
		if err != nil {
			return nil // reported when the file is changed
		}
		rows, _ := f.Rows(d)
		return rows
	}
}
