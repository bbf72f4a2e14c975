package prompt

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/predict/newdive"
	"sagline/session"
	"sagline/session/shorthand"
	"sagline/session/wording"
)

// Words that a line accepts as an answer.
const (
	newWord   = "new"
	tableWord = "="
	yesWord   = "y"
)

const lineRules = "numbers go by the order above; with a unit or a column they go anywhere: 4.2m, depth_m 4.2; - stands for what was not measured; " +
	"thrusters by any short form, as p+s; held; lights; note and the rest of the line. = shows the dive so far, back the line before, done ends the dive."

// first asks which dive it is and what is new since the dive before.
func (v *Interview) first() (session.Row, error) {
	columns := v.Dive.First()
	if len(v.Dive.Log.Dives) == 0 { // nothing was worked on since
		columns = slices.DeleteFunc(columns, func(c *session.Column) bool { return c.Quantity == "serviced" })
	}
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.Name
	}
	text := "worked on since?"
	switch {
	case v.before > 0:
		names, text = nil, "Enter goes on, "+newWord+" begins another"
	case len(names) == 0:
		text = "Enter begins it"
	case len(v.Dive.Log.Dives) == 0:
		text = "any of these?"
	}
	if len(names) > 0 {
		v.list("  ", names, " ")
	}
	q := &question{text: "dive " + strings.TrimSpace(v.Dive.Label+" "+v.date) + ", " + text, words: append(slices.Clone(session.Serviceable), newWord),
		help: "Enter where nothing is new; joint+seal for what was worked on, numbers in the order that is asked for; dive 7 or date 2026-05-31 where another is meant; new for another dive of today"}
	for {
		answer, err := v.ask(q)
		if err != nil || answer == "" {
			return session.Row{}, err
		}
		if answer == newWord {
			return session.Row{"dive": newWord}, nil
		}
		row, named, err := v.read(answer, func(session.Row) []*session.Column { return columns })
		if err == nil && row["thrusters"] != "" && !named { // its numbers are none of these
			v.PrintWrapped("  ", "that reads as a line of the dive: Enter first, where nothing is new")
			continue
		}
		if !errors.Is(err, errBack) {
			return row, err
		}
	}
}

// typed asks for the i-th line at once. cells are those that it already has. On a line that is
// already written, named cells replace those, and Enter keeps them all.
func (v *Interview) typed(i int, cells session.Row) (session.Row, error) {
	again := i < len(v.Dive.Rows)
	for {
		if again {
			v.echo(i, cells)
			v.PrintWrapped("  ", "type what changes, as battery_v 12.3, or the whole line; Enter keeps it")
		} else {
			v.list("  ", orderOf(v.Dive, v.Dive.Next()), " ")
		}
		answer, err := v.ask(&question{text: fmt.Sprint(i + 1), words: append([]string{"off", helpWord, tableWord}, v.Dive.Reader.Thrusters...)})
		switch {
		case errors.Is(err, errMore):
			v.PrintWrapped("  ", "any column is taken by its name: "+strings.Join(session.ColumnNames(), " "))
		case err != nil:
			return nil, err
		case answer == helpWord:
			v.Say("%s%s", v.orders(), Wrap("  ", lineRules, v.Width))
		case answer == tableWord:
			v.Say("\n%s\n", table(v.Dive.Rows, v.Width))
		case answer == "" && again:
			return cells, nil
		case answer == "":
			v.Say("  done ends the dive, ? says what can be typed\n")
		default:
			row, named, err := v.read(answer, v.Dive.Order)
			if err == nil && named && again {
				switch changed, wrong := v.Dive.Reader.Changes(answer); {
				case wrong == nil:
					row = changed
				case row["thrusters"] != "": // a whole line, each number with its unit
					named = false
				default:
					v.PrintWrapped("  ", wrong.Error())
					continue
				}
			}
			if errors.Is(err, errBack) {
				continue
			}
			cells = maps.Clone(cells)
			if err == nil && !named && again {
				maps.DeleteFunc(cells, func(name, _ string) bool { c, ok := session.Find(name); return ok && !c.Once })
			}
			maps.Copy(cells, row)
			if err == nil {
				v.Dive.Measure(cells)
				err = v.timed(cells)
			}
			if errors.Is(err, errBack) {
				continue
			}
			return cells, err
		}
	}
}

// timed asks for the seconds of a run or climb if only its length was typed.
func (v *Interview) timed(row session.Row) error {
	length, c := newdive.Untimed(row)
	if length == nil {
		return nil
	}
	answer, err := v.ask(&question{text: fmt.Sprintf("  %s beside %s %s, Enter: leave that out", c.Name, length.Name, row[length.Name]), help: c.Help, check: v.passes(c, row)})
	if err == nil && answer != "" {
		row[c.Name], err = v.Dive.Reader.Cell(c, answer)
	}
	if errors.Is(err, errMore) {
		return errBack
	}
	return err
}

// read reads a line and asks again for each word without a meaning. named reports that every word
// names its cell. If the dive or the input ends meanwhile, that is the error; the row is then the
// line without those words, which its note keeps.
func (v *Interview) read(text string, order func(session.Row) []*session.Column) (row session.Row, named bool, end error) {
	var left []string
	for {
		line, err := v.Dive.Reader.Read(text, order)
		var unread *shorthand.Unread
		if !errors.As(err, &unread) {
			if len(left) > 0 {
				line.Row["note"] = strings.TrimSpace(line.Row["note"] + " not understood: " + strings.Join(left, " "))
			}
			return line.Row, line.Named, cmp.Or(err, end)
		}
		if end != nil {
			left, text = append(left, unread.Word), unread.Replaced("")
			continue
		}
		v.PrintWrapped("  ", unread.Why)
		word, err := v.ask(&question{text: fmt.Sprintf("  instead of %s, Enter: leave it out", unread.Word), help: "the word again; back for the whole line"})
		switch {
		case errors.Is(err, errMore):
			continue
		case ended(err):
			end = err
			continue
		case err != nil:
			return nil, false, err
		}
		text = unread.Replaced(word)
	}
}

// orderOf lists the order in which numbers without a unit or column go into a line.
func orderOf(d *newdive.Dive, row session.Row) (out []string) {
	for _, c := range d.Order(row) {
		if c.Quantity == "thrusters" {
			out = append(out, "["+row["thrusters"]+map[string]string{"yes": " held"}[row["held"]]+"]")
			continue
		}
		if course := d.Course(c.Name); course != "" {
			out = append(out, course)
		}
		out = append(out, c.Name)
	}
	return out
}

// orders returns orderOf for each kind of line in recent dives, one per line.
func (v *Interview) orders() string {
	var out []string
	for _, row := range v.Dive.Kinds() {
		if text := wrapped("  ", orderOf(v.Dive, row), " ", v.Width); !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return strings.Join(out, "")
}

// serviced asks whether to log the work that a note mentions.
func (v *Interview) serviced(row session.Row) error {
	services := wording.Services(row["note"])
	if services == "" || row["serviced"] != "" {
		return nil
	}
	answer, err := v.ask(&question{text: "  worked on before this line: " + services + "? y, Enter: no", help: "y writes serviced " + services + ", which later dives are judged from"})
	if err == nil && isYes(answer) {
		row["serviced"] = services
	}
	return ignored(err, errBack, errMore)
}

func isYes(answer string) bool {
	return strings.EqualFold(answer, yesWord) || strings.EqualFold(answer, "yes")
}
