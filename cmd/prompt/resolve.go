package prompt

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"

	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/problem"
)

// resolve asks about a row until it can be written: a problem must be mended, a doubt is settled by
// the person's answer. If the dive or the input ends meanwhile, it returns that error with the row
// as typed, or with nil if the row has a problem.
func (v *Interview) resolve(i int, row session.Row) (session.Row, error) {
	var end error
	if err := v.serviced(row); ended(err) {
		end = err
	} else if err != nil {
		return nil, err
	}
	if i < len(v.Dive.Rows) {
		after := slices.Clone(v.Dive.Rows[i:])
		v.Dive.Put(i)
		defer func() { v.Dive.Put(i, after...) }()
	}
	stands := map[string]bool{}
	for {
		if p := v.Dive.Problem(row); p != nil {
			if end != nil {
				v.PrintWrapped("  ", "the line is not written: "+p.Error())
				return nil, end
			}
			if end = v.mend(row, p); end != nil && !ended(end) {
				return nil, end
			}
			continue
		}
		if end != nil {
			return row, end
		}
		doubts := slices.DeleteFunc(v.Dive.Doubts(row), func(b newdive.Doubt) bool { return stands[b.Column.Name+b.Text] })
		if len(doubts) == 0 {
			return row, nil
		}
		stood, err := v.doubt(row, &doubts[0])
		if ended(err) {
			return row, err
		}
		if err != nil {
			return nil, err
		}
		if stood {
			stands[doubts[0].Column.Name+doubts[0].Text] = true
			v.Dive.Stands(&doubts[0])
		}
	}
}

// mend asks for another cell in place of the one with a problem.
func (v *Interview) mend(row session.Row, p *problem.Problem) error {
	name := p.ColumnName()
	c, ok := session.Find(name)
	v.PrintWrapped("  ", p.Error())
	if !ok {
		return errBack
	}
	answer, err := v.ask(&question{text: fmt.Sprintf("  %s instead of %s, Enter: not measured", name, row[name]), help: c.Help})
	if err != nil {
		return ignored(err, errMore)
	}
	return v.put(row, c, answer)
}

// doubt asks about a doubtful cell. stood reports that it stays as typed.
func (v *Interview) doubt(row session.Row, b *newdive.Doubt) (stood bool, err error) {
	q := &question{text: "  instead, or Enter:", preset: b.Text, words: []string{yesWord}, help: b.Column.Name + ": " + b.Column.Help + ". Enter leaves what you typed: it is your reading that counts"}
	if b.Instead != nil {
		q.text = "  y: " + cmp.Or(b.Meant(), "not measured") + ", or Enter:"
	}
	v.PrintWrapped("  ", b.String())
	answer, err := v.ask(q)
	switch {
	case errors.Is(err, errMore):
		return false, nil
	case err != nil:
		return false, err
	case answer == b.Text, isYes(answer) && b.Instead == nil:
		return true, nil
	case isYes(answer) && b.Instead != nil:
		maps.Copy(row, b.Instead)
		return false, nil
	}
	before := maps.Clone(row)
	if err = v.put(row, b.Column, answer); err == nil && maps.Equal(before, row) {
		v.PrintWrapped("  ", "Enter leaves "+b.Text+" as typed; back drops the line")
	}
	return false, err
}

// put stores an answer in a row: the cell of column c, or named cells of other columns.
func (v *Interview) put(row session.Row, c *session.Column, answer string) error {
	cell, err := v.Dive.Reader.Cell(c, answer)
	if err == nil {
		row[c.Name] = cell
		return nil
	}
	change, failed := v.Dive.Reader.Changes(answer)
	if failed != nil {
		v.PrintWrapped("  ", err.Error())
		return nil
	}
	maps.Copy(row, change)
	return nil
}
