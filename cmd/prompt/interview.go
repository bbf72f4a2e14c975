package prompt

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/units"
)

// An Interview asks for one dive and writes it down.
type Interview struct {
	Prompter
	Folder    string
	Log       *session.Log  // as it was before
	Forecast  *fit.Forecast // nil: nothing is expected
	Thrusters []string      // of the vehicle
	Today     time.Time
	Units     units.System // of columns that the log does not have yet
	Width     int          // of the terminal, columns

	used    map[string]bool
	all     bool // ask for every column from here on
	dive    string
	date    string        // of a new dive
	ballast float64       // g, on the vehicle before the dive
	plan    []session.Row // the dive before, whose order of things is offered
	before  []session.Row // lines that the dive had before
	lines   []session.Row // written now
	old     *fit.Forecast // before the last of lines was learnt from
	again   bool          // that one is being changed
}

var (
	errBack = errors.New("back")
	errDone = errors.New("done")
	errMore = errors.New("more")
)

// Run asks for a dive until it is done; it returns the dive's label and how
// many of its lines it wrote. That input ends is one way for a dive to be
// done. ErrInterrupted says that the line being typed, if any, is not on disk.
func (v *Interview) Run() (dive string, lines int, err error) {
	v.used = v.inUse()
	for err = v.begin(); errors.Is(err, errBack) || errors.Is(err, errMore); {
		err = v.begin()
	}
	for err == nil {
		err = v.line(session.Row{"dive": v.dive})
	}
	if errors.Is(err, errDone) || errors.Is(err, io.EOF) {
		err = nil
	}
	return v.dive, len(v.lines), err
}

// begin asks which dive it is.
func (v *Interview) begin() error {
	label, day := NextDive(v.Log, v.Today)
	if n := len(v.Log.Dives); n > 0 {
		v.Say("%s so far, the newest %v. %s says what can be answered.\n", problem.Count(n, "dive"), &v.Log.Dives[n-1], helpWord)
	}
	if behind := ClockBehind(v.Log, v.Today); behind != "" {
		v.Say("%s\n", behind)
	}
	label, err := v.ask(&question{text: "dive", help: "label of the dive", preset: label})
	if err != nil {
		return err
	}
	v.dive = label
	if known, err := v.resume(); known || err != nil {
		return err
	}
	v.date, err = v.ask(&question{text: "date", help: "the day, as 2026-05-31", preset: day.Format(time.DateOnly), check: func(s string) error {
		if _, err := time.Parse(time.DateOnly, s); err != nil {
			return fmt.Errorf("found %q, want a day as 2026-05-31", s)
		}
		return nil
	}})
	return err
}

// resume takes up a dive that the log has. Without one it looks at
// the newest for the order in which things are done.
func (v *Interview) resume() (known bool, err error) {
	dives := v.Log.Dives
	for i := range dives {
		if i > 0 {
			lines := dives[i-1].Lines
			v.ballast = lines[len(lines)-1].BallastG
		}
		if d := &dives[i]; d.Label == v.dive {
			v.Say("dive %v has %s; what follows is added\n", d, problem.Count(len(d.Lines), "line"))
			v.before, err = v.rows(d)
			for k := range d.Lines {
				v.learn(&d.Lines[k])
			}
			return true, err
		}
	}
	if n := len(dives); n > 0 {
		lines := dives[n-1].Lines
		v.ballast = lines[len(lines)-1].BallastG
		v.plan, err = v.rows(&dives[n-1])
	}
	return false, err
}

// rows are a dive's lines as they stand in the file.
func (v *Interview) rows(d *session.Dive) ([]session.Row, error) {
	var out []session.Row
	err := session.View(v.Folder, func(s *session.File) error {
		for i := range d.Lines {
			e, err := s.Row(d.Lines[i].Number)
			if err != nil {
				return err
			}
			out = append(out, e)
		}
		return nil
	})
	return out, err
}

func (v *Interview) learn(l *session.Line) {
	if v.Forecast != nil && v.Forecast.Learn(l) != nil {
		v.Forecast = nil // a thruster that the vehicle does not have: reported where it was written
	}
}

// line asks the questions of a line that e begins, and writes it.
func (v *Interview) line(e session.Row) error {
	var order []*session.Column // questions answered
	for {
		line, expected := v.soFar(e)
		c := v.next(order, line, e, expected)
		if c == nil {
			return v.write(e)
		}
		switch err := v.answer(c, e, line, expected); {
		case errors.Is(err, errBack) && len(order) > 0:
			order = order[:len(order)-1]
		case errors.Is(err, errBack):
			return v.reopen(e)
		case errors.Is(err, errMore):
			v.all = true
			v.Say("  every column is asked for now\n")
		case errors.Is(err, errDone) && len(order) > 0:
			if err := v.write(e); err != nil {
				return err
			}
			return errDone
		case err != nil:
			return err
		default:
			order = append(order, c)
		}
	}
}

// next is the first question not answered yet that makes sense; what was
// answered to one that no longer does is forgotten.
func (v *Interview) next(answered []*session.Column, l *session.Line, e session.Row, expected []fit.Expected) *session.Column {
	var list []*session.Column
	if len(v.before)+len(v.lines) == 0 || v.all {
		list = v.columns(true)
	}
	for _, c := range append(list, v.columns(false)...) {
		switch {
		case !wanted(c, l, e, expected):
			delete(e, c.Name)
		case !slices.Contains(answered, c):
			return c
		}
	}
	return nil
}

// soFar is what a line says as far as it is typed, after those before it, and
// what its readings should be; nil where nothing is known.
func (v *Interview) soFar(e session.Row) (*session.Line, []fit.Expected) {
	lines, list := session.ParseRows(append(append(append([]session.Row{}, v.before...), v.lines...), pruned(e))...)
	if list != nil {
		return &session.Line{}, nil
	}
	l := &lines[len(lines)-1]
	l.BallastG += v.ballast
	if v.Forecast == nil {
		return l, nil
	}
	expected, err := v.Forecast.Line(l)
	if err != nil {
		return l, nil
	}
	return l, expected
}

// reopen takes up the line written last, to be changed; e is forgotten.
func (v *Interview) reopen(e session.Row) error {
	n := len(v.lines) - 1
	if v.again || n < 0 {
		v.Say("  nothing to go back to here; sagline amend changes any line\n")
		return v.line(e)
	}
	v.Say("the line before again; it stays on disk as it was until it is written anew\n")
	last, now := v.lines[n], v.Forecast
	v.lines, v.Forecast, v.again = v.lines[:n], v.old, true
	err := v.line(maps.Clone(last))
	if v.again { // broken off
		v.lines, v.Forecast, v.again = append(v.lines, last), now, false
	}
	return err
}

// write puts a line on disk and shows the dive so far.
func (v *Interview) write(e session.Row) error {
	e = pruned(e)
	if !says(e) {
		v.Say("  nothing was read on this line; it is not written\n")
		return nil
	}
	if len(v.lines) == 0 && v.date != "" {
		e["date"] = v.date
	}
	for {
		kept := ""
		err := session.Edit(v.Folder, func(s *session.File) error {
			kept = s.CutOff
			if v.again {
				return s.ReplaceLast(v.dive, e)
			}
			return s.Append(e)
		})
		if err == nil && kept != "" {
			v.Say("%s\n", kept)
		}
		if err == nil {
			break
		}
		v.Say("%v\n", err)
		if _, err := v.ask(&question{text: "the line is not on disk; Enter tries again, back changes it", help: "mend what is wrong, then Enter"}); errors.Is(err, errBack) {
			return v.line(e)
		} else if err != nil {
			return err
		}
	}
	line, _ := v.soFar(e)
	v.old, v.again = v.Forecast, false
	if v.Forecast != nil {
		v.Forecast = v.Forecast.Clone()
	}
	v.learn(line)
	v.lines = append(v.lines, e)
	v.show()
	return nil
}
