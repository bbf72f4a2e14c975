package prompt

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"

	"sagline/session"
	"sagline/session/problem"
)

// An Amendment asks what to change in a dive that is written down.
type Amendment struct {
	Prompter
	Folder string
	Log    *session.Log
	Dive   string
	Today  time.Time
	Width  int

	Thrusters []string // of the vehicle; nil: not known
}

// Run asks until the person is done; it returns how many lines it changed.
func (a *Amendment) Run() (changed int, err error) {
	v := &Interview{Prompter: a.Prompter, Folder: a.Folder, Log: a.Log, Width: a.Width}
	for err == nil {
		var numbers []int
		if numbers, err = a.show(v); err != nil {
			return changed, err
		}
		var did bool
		if did, err = a.one(v, numbers); did {
			changed++
		}
	}
	if errors.Is(err, errDone) || errors.Is(err, io.EOF) {
		err = nil
	}
	return changed, err
}

// show prints the dive as it stands, under the numbers of the file's lines.
func (a *Amendment) show(v *Interview) ([]int, error) {
	log, err := session.Open(a.Folder)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(log.Dives, func(d session.Dive) bool { return d.Label == a.Dive })
	if i < 0 {
		return nil, fmt.Errorf("no dive %s in %s", problem.Quote(a.Dive), log.File)
	}
	entries, err := v.rows(&log.Dives[i])
	if err != nil {
		return nil, err
	}
	var numbers []int
	for k := range entries {
		numbers = append(numbers, log.Dives[i].Lines[k].Number)
	}
	a.Say("\ndive %v\n%s\n", &log.Dives[i], Table(numbers, entries, a.Width))
	return numbers, nil
}

// one asks for a line, a column and what it should be.
func (a *Amendment) one(v *Interview, numbers []int) (bool, error) {
	answer, err := v.ask(&question{text: "line, or done", help: "the number at the left of the line to change", preset: doneWord, check: func(s string) error {
		if n, err := strconv.Atoi(s); err != nil || !slices.Contains(numbers, n) {
			return fmt.Errorf("found %q, want one of %d to %d", s, numbers[0], numbers[len(numbers)-1])
		}
		return nil
	}})
	if err != nil || answer == "" {
		return false, ignoring(err)
	}
	line, _ := strconv.Atoi(answer)
	names := session.ColumnNames()
	column, err := v.ask(&question{text: "column, or strike", help: "the column to change; strike makes a comment of the whole line", words: append(names, strikeWord),
		check: func(s string) error { return fmt.Errorf("found %q, want a column%s", s, problem.Suggest(s, names)) }})
	if err != nil || column == "" {
		return false, ignoring(err)
	}
	if column == strikeWord {
		return a.edit(func(s *session.File) error { return s.Strike(line, session.ChangeNote("struck", a.Today)) })
	}
	c, _ := session.Find(column)
	value, err := v.ask(&question{text: column + ", Enter empties it", help: c.Help, free: c.Unit == ""})
	if err != nil {
		return false, ignoring(err)
	}
	if err := Known(session.Row{column: value}, a.Thrusters); err != nil {
		a.Say("  %v\n", err)
		return false, nil
	}
	return a.edit(func(s *session.File) error {
		return s.Replace(line, session.Row{column: point(c, value)}, session.ChangeNote("changed", a.Today))
	})
}

// strikeWord makes a comment of a line.
const strikeWord = "strike"

// edit changes the file; what is wrong with the change is said, and nothing
// changed.
func (a *Amendment) edit(change func(*session.File) error) (bool, error) {
	kept := ""
	err := session.Edit(a.Folder, func(s *session.File) error {
		kept = s.CutOff
		return change(s)
	})
	if err != nil {
		a.Say("  %v\n", err)
		return false, nil
	}
	if kept != "" {
		a.Say("%s\n", kept)
	}
	return true, nil
}

// ignoring is err unless it is a step back, which begins with the line again.
func ignoring(err error) error {
	if errors.Is(err, errBack) || errors.Is(err, errMore) {
		return nil
	}
	return err
}
