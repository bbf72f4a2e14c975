package prompt

import (
	"errors"
	"maps"
	"slices"
	"strings"

	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/session"
)

const guidedRules = "Enter alone: not measured, or what stands in brackets; " + none + ": not that either; back: the question before; more: every column; done: the dive is complete"

// guided asks for the cells of the i-th line one by one. With errDone it also returns the row if at
// least one question was answered, else nil.
func (v *Interview) guided(i int, cells session.Row) (session.Row, error) {
	row := maps.Clone(cells)
	var order []*session.Column // questions answered
	for {
		line, expected := v.Dive.Line(row)
		c := v.next(order, line, row, expected)
		if c == nil {
			return row, nil
		}
		switch err := v.cell(i, c, row, expected); {
		case errors.Is(err, errBack) && len(order) > 0:
			order = order[:len(order)-1]
		case errors.Is(err, errMore):
			v.all = true
			v.Say("  every column is asked for now\n")
		case errors.Is(err, errDone) && len(order) > 0:
			return row, err
		case err != nil:
			return nil, err
		default:
			order = append(order, c)
		}
	}
}

// next returns the first unanswered column that makes sense to ask for, nil if there is none. It
// deletes answers that no longer make sense from the row.
func (v *Interview) next(answered []*session.Column, l *session.Line, row session.Row, expected []forecast.Expected) *session.Column {
	for _, c := range v.Dive.Columns(v.all) {
		switch {
		case !newdive.MakesSense(c, l, row, expected):
			delete(row, c.Name)
		case c.Quantity == "run time" && !newdive.Has(row, "run_m", "run_ft"):
		case !slices.Contains(answered, c):
			return c
		}
	}
	return nil
}

// cell asks for one column of a line and stores the answer in row.
func (v *Interview) cell(i int, c *session.Column, row session.Row, expected []forecast.Expected) error {
	q := &question{text: c.Name, help: c.Name + ": " + c.Help, preset: v.preset(i, c, row)}
	switch c.Quantity {
	case "thrusters":
		q.words = append(slices.Clone(v.Dive.Reader.Thrusters), "off")
	case "serviced":
		q.words = session.Serviceable
	case "held":
		q.text += " still, yes or no"
	}
	if should := v.Dive.Should(c, row, expected); should != "" {
		q.text += "  expected " + should
	}
	q.check = v.passes(c, row)
	answer, err := v.ask(q)
	if err != nil {
		return err
	}
	row[c.Name], err = v.Dive.Reader.Cell(c, answer)
	return err
}

// passes returns a check of answers for one column of a line.
func (v *Interview) passes(c *session.Column, row session.Row) func(answer string) error {
	return func(answer string) error {
		cell, err := v.Dive.Reader.Cell(c, answer)
		if err != nil {
			return err
		}
		return v.Dive.CellProblem(c, row, cell)
	}
}

// preset returns what Enter alone answers: the answer given before, or the same line's cell in the
// dive before, or the usual length of a run or climb.
func (v *Interview) preset(i int, c *session.Column, row session.Row) string {
	if text, ok := row[c.Name]; ok {
		return text
	}
	length, course := strings.CutPrefix(v.Dive.Course(newdive.TimeOf(c)), c.Name+"=")
	if i < len(v.Dive.Plan) && !course && slices.Contains([]string{"thrusters", "lights", "held", "depth", "tether", "run", "climbed"}, c.Quantity) {
		return v.Dive.Plan[i][c.Name]
	}
	if c.Quantity == "thrusters" {
		return "off" // a dive's first line is for the battery at rest
	}
	return length
}
