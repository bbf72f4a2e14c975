package prompt

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"sagline/predict/fit"
	"sagline/session"
	"sagline/session/problem"
	"sagline/session/quantity"
	"sagline/session/units"
)

// Answers that any question takes, in words.
const (
	backWord = "back"
	moreWord = "more"
	doneWord = "done"
	helpWord = "?"
)

const help = "  Enter alone: not measured, or what stands in brackets; " + none + ": not that either\n" +
	"  back: the question before; more: every column; done: the dive is complete\n"

// question is one question and how its answer is judged.
type question struct {
	text, help, preset string
	words              []string // that complete it
	free               bool     // any text is an answer, even a word such as back
	check              func(answer string) error
}

// ask asks until an answer passes.
func (v *Interview) ask(q *question) (string, error) {
	for {
		answer, err := v.Ask(q.text, q.preset, append(slices.Clone(q.words), backWord, moreWord, doneWord))
		if err != nil {
			return "", err
		}
		switch {
		case slices.Contains(q.words, answer):
			return answer, nil
		case q.free && answer != helpWord:
		case answer == backWord:
			return "", errBack
		case answer == moreWord:
			return "", errMore
		case answer == doneWord:
			return "", errDone
		case answer == helpWord:
			v.Say("%s%s", Wrap("  ", q.help, v.Width), help)
			continue
		}
		if q.check != nil && answer != "" {
			if err := q.check(answer); err != nil {
				v.Say("  %v\n", err)
				continue
			}
		}
		return answer, nil
	}
}

// Wrap is a text in lines of a width, broken at blanks. The first begins with
// bullet, the others are set in.
func Wrap(bullet, text string, width int) string {
	var b strings.Builder
	line := bullet
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
			line += word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > max(width, 40):
			b.WriteString(line + "\n")
			line = "  " + word
		default:
			line += " " + word
		}
	}
	return b.String() + line + "\n"
}

// answer asks for one column of a line and notes the answer.
func (v *Interview) answer(c *session.Column, e session.Row, l *session.Line, expected []fit.Expected) error {
	q := &question{text: c.Name, help: c.Name + ": " + c.Help, preset: v.preset(c, e), free: c.Quantity == "note"}
	if c.Quantity == "thrusters" {
		q.words = append(slices.Clone(v.Thrusters), "off")
	}
	if c.Quantity == "serviced" {
		q.words = session.Serviceable
	}
	reading, want := expectedOf(c, expected)
	if want != nil {
		q.text += "  expected " + v.expectedText(c, e, *want)
	}
	q.check = func(answer string) error { return v.check(c, e, answer) }
	answer, err := v.ask(q)
	for err == nil && answer != "" && want != nil && c.Quantity != "run" {
		doubt := v.doubt(c, e, answer, reading, *want, expected)
		if doubt == "" {
			break
		}
		again := &question{text: "  " + doubt, help: "Enter keeps what you typed; it is your reading that counts", preset: answer, check: q.check}
		before := answer
		if answer, err = v.ask(again); answer == before {
			break
		}
	}
	if err != nil {
		return err
	}
	e[c.Name] = point(c, answer)
	return nil
}

// preset is what a question offers: what was answered before, or what was
// done at this place of the dive before.
func (v *Interview) preset(c *session.Column, e session.Row) string {
	if text, ok := e[c.Name]; ok {
		return text
	}
	k := len(v.lines)
	if k >= len(v.plan) && c.Quantity == "thrusters" {
		return "off" // what a first line is for: the battery at rest
	}
	if k >= len(v.plan) || !slices.Contains([]string{"thrusters", "lights", "held", "depth", "tether", "run", "climbed"}, c.Quantity) {
		return ""
	}
	return v.plan[k][c.Name]
}

// check judges an answer by itself: as the column takes it, and for a
// thruster by the vehicle's names.
func (v *Interview) check(c *session.Column, e session.Row, answer string) error {
	try := session.Row{c.Name: point(c, answer)}
	for _, partner := range []string{"run_m", "run_ft", "run_s", "climb_m", "climb_ft"} {
		if text := e[partner]; text != "" && (c.Quantity == "run time" || c.Quantity == "run back" || c.Quantity == "climb time") {
			try[partner] = text
		}
	}
	if c.Quantity == "run" || c.Quantity == "climbed" {
		try[map[string]string{"run": "run_s", "climbed": "climb_s"}[c.Quantity]] = "100"
	}
	lines, list := session.ParseRows(try)
	if list != nil {
		return errors.New(list[0].Text)
	}
	return known(&lines[0], v.Thrusters)
}

// known says which thruster of a line the vehicle does not have; none is known
// where the vehicle is not.
func known(l *session.Line, thrusters []string) error {
	for _, d := range l.Drives {
		if len(thrusters) > 0 && !slices.Contains(thrusters, d.Name) {
			return fmt.Errorf("found %s, want %s or off%s", problem.Quote(d.Name), strings.Join(thrusters, ", "), problem.Suggest(d.Name, thrusters))
		}
	}
	return nil
}

// Known is an error where an entry names a thruster that is none of those
// given.
func Known(e session.Row, thrusters []string) error {
	lines, list := session.ParseRows(session.Row{"thrusters": e["thrusters"]})
	if list != nil {
		return list.Err()
	}
	return known(&lines[0], thrusters)
}

// point is a number with a decimal point for a decimal comma.
func point(c *session.Column, answer string) string {
	if c.Unit != "" && strings.Count(answer, ",") == 1 && !strings.Contains(answer, ".") {
		return strings.Replace(answer, ",", ".", 1)
	}
	return answer
}

// expectedOf is what the reading of a column should be, nil where there is
// none: the run's time stands for the speed.
func expectedOf(c *session.Column, all []fit.Expected) (quantity.Quantity, *fit.Expected) {
	q, ok := session.QuantityOf(c.Name)
	switch c.Quantity {
	case "run time", "run back":
		q, ok = quantity.Speed, true
	case "climb time":
		q, ok = quantity.Climb, true
	}
	for i := range all {
		if ok && all[i].Quantity == q {
			return q, &all[i]
		}
	}
	return q, nil
}

// value is an answer as a value of its line, as if it were all that was read.
func (v *Interview) value(c *session.Column, e session.Row, answer string, q quantity.Quantity) (session.Value, bool) {
	try := session.Row{c.Name: point(c, answer)}
	for _, name := range []string{"run_m", "run_ft", "climb_m", "climb_ft"} {
		if e[name] != "" && strings.HasSuffix(c.Name, "_s") {
			try[name] = e[name]
		}
	}
	if c.Quantity == "run back" { // either way alone should take as long
		try["run_s"] = try[c.Name]
		delete(try, c.Name)
	}
	lines, list := session.ParseRows(try)
	if list != nil {
		return session.Value{}, false
	}
	return lines[0].Readings[q], lines[0].Readings[q].Measured()
}

// expectedText words what a column should read.
func (v *Interview) expectedText(c *session.Column, e session.Row, want fit.Expected) string {
	like, ok := v.value(c, e, "1", want.Quantity)
	if !ok {
		like = session.Value{X: want.Value, Column: c, Entered: c.FromBase(want.Value)}
	}
	x, off := like.EnteredFor(want.Value), like.EnteredFor(want.Value+want.SD)
	if math.IsInf(x, 0) || math.IsInf(off, 0) {
		return "none"
	}
	return plusMinus(x, 2*math.Abs(off-x))
}

// doubt words why an answer is asked about, "" where it is not.
func (v *Interview) doubt(c *session.Column, e session.Row, answer string, q quantity.Quantity, want fit.Expected, all []fit.Expected) string {
	x, ok := v.value(c, e, answer, q)
	if !ok || !want.Surprising(x.X) {
		return ""
	}
	return fmt.Sprintf("%s? expected %s%s; keep", answer, v.expectedText(c, e, want), Slip(x, want, all))
}

// Slip words what a surprising reading was perhaps meant to be.
func Slip(x session.Value, want fit.Expected, all []fit.Expected) string {
	g, ok := want.Guess(x, all)
	if !ok {
		return ""
	}
	meant := fmt.Sprintf("%.4g", g.Meant)
	switch g.Slip {
	case fit.DecimalPoint:
		return ": decimal point? " + meant
	case fit.WrongColumn:
		return ": wrong column? it fits " + columnOf(quantityName(g.Quantity), nil, units.Metric).Name
	case fit.SwappedDigits:
		return ": digits swapped? " + meant
	case fit.WrongSign:
		return ": sign? " + meant
	}
	return fmt.Sprintf(": in %s? that would be %s", g.Column.Unit, meant)
}

func quantityName(q quantity.Quantity) string {
	for _, c := range session.Columns() {
		if is, ok := session.QuantityOf(c.Name); ok && is == q {
			return c.Quantity
		}
	}
	return ""
}

// plusMinus shows x to the digits that half leaves known.
func plusMinus(x, half float64) string {
	digits := 1
	if half > 0 {
		digits = -int(math.Floor(math.Log10(half)))
		if half*math.Pow10(digits) < 2 { // 0.12, but 0.3
			digits++
		}
	}
	digits = max(digits, 0)
	return fmt.Sprintf("%.*f ± %.*f", digits, x, digits, half)
}

// pruned is an entry without what says nothing by itself: empty cells, and
// the length of a run that was not timed.
func pruned(e session.Row) session.Row {
	e = maps.Clone(e)
	maps.DeleteFunc(e, func(_, text string) bool { return text == "" })
	if !has(e, "run_s") {
		for _, name := range []string{"run_m", "run_ft", "run_back_s"} {
			delete(e, name)
		}
	}
	if !has(e, "climb_s") {
		delete(e, "climb_m")
		delete(e, "climb_ft")
	}
	return e
}
