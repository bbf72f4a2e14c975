// Package shorthand reads a line of a dive as it is written in a notebook:
// "p+s 12.31 8.1 8.72 4.2 .45" or "p+s 4.2m 12.31V 8.1A .45m/s". It assumes that
// numbers alone stand in the order of the log's columns, that a unit or a column
// says more than the order, and that a word which means nothing is a problem and
// not a guess.
package shorthand

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Reader reads the lines of one log.
type Reader struct {
	Columns   []*session.Column // one of each quantity: a number alone is in its unit
	Thrusters []string          // of the vehicle; none: any name is one
	Sides     map[string]string // thrusters by port, starboard, vertical and both; a name goes before
	Yes       *session.Column   // that a yes alone is of; nil: none
}

// Own says whether a name that is no column of the table can be one in a line.
func (r *Reader) Own(name string) bool {
	_, known := session.Find(name)
	_, err := r.drives(name)
	first, _ := utf8.DecodeRuneInString(name)
	return !known && unicode.IsLetter(first) && !strings.ContainsAny(name, " \t;+=") && !wording.IsUnit(name) && (err != nil || len(r.Thrusters) == 0)
}

// notMeasured stands for a number that was not measured.
const notMeasured = "-"

// decimal is a number with a decimal point or comma, and what follows it.
var decimal = regexp.MustCompile(`^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))(.*)$`)

// number splits a word into a number with a decimal point and a unit; ok is
// false where it is none. The rest may be no unit.
func number(word string) (digits, unit string, ok bool) {
	f := decimal.FindStringSubmatch(strings.ReplaceAll(word, "\u2212", "-"))
	if f == nil {
		return "", "", false
	}
	sign, digits := "", strings.Replace(f[1], ",", ".", 1)
	if digits[0] == '+' || digits[0] == '-' {
		sign, digits = strings.TrimPrefix(digits[:1], "+"), digits[1:]
	}
	if digits[0] == '.' {
		digits = "0" + digits
	}
	return sign + digits, strings.TrimSpace(f[2]), true
}

// isNumber says whether a word is one, perhaps with its unit.
func isNumber(word string) bool {
	_, _, is := number(word)
	return is && !strings.Contains(word, " ")
}

// Cell is one answer as a cell of a column: its unit or a decimal comma, short
// forms and y for yes are understood. An answer that is "-" is empty.
func (r *Reader) Cell(c *session.Column, answer string) (string, error) {
	answer = strings.TrimSpace(answer)
	switch {
	case answer == notMeasured || answer == "":
		return "", nil
	case c.Unit != "":
		return r.inColumn(c, answer)
	}
	switch c.Quantity {
	case "thrusters":
		return r.drives(answer)
	case "held":
		return yes(answer, "yes", "no"), nil
	case "lights":
		return yes(answer, "on", "off"), nil
	case "serviced":
		return services(answer), nil
	}
	return answer, nil
}

// Cells makes cells of a row's answers.
func (r *Reader) Cells(row session.Row) error {
	for name, answer := range row {
		c, ok := session.Find(name)
		if !ok {
			continue // a problem where it is written
		}
		cell, err := r.Cell(c, answer)
		if err != nil {
			return fmt.Errorf("column %q: %w", name, err)
		}
		row[name] = cell
	}
	return nil
}

// inColumn is a number, perhaps with its unit, in a column.
func (r *Reader) inColumn(c *session.Column, answer string) (string, error) {
	digits, unit, ok := number(answer)
	if ok && unit != "" {
		cell, _, fits := wording.InUnit(digits, unit, c)
		if !fits {
			return "", fmt.Errorf("found %s, want a number in %s", problem.Quote(answer), c.Unit)
		}
		digits = cell
	}
	if !ok {
		digits = answer // a problem
	}
	_, err := c.Number(digits)
	return digits, err
}

// yes is a word for yes or no as a cell has it; any other stays, as a problem.
func yes(answer, is, not string) string {
	switch strings.ToLower(answer) {
	case "y", "yes", "on", "x", is:
		return is
	case "n", "no", "off", not:
		return not
	}
	return answer
}

// services are what was worked on, each by an unambiguous beginning of its name.
func services(answer string) string {
	list := strings.Split(answer, "+")
	for i, word := range list {
		word = strings.ToLower(strings.TrimSpace(word))
		begun := func(n string) bool { return n == word || len(word) >= fewestLetters && strings.HasPrefix(n, word) }
		list[i] = cmp.Or(only(session.Serviceable, begun), list[i])
	}
	return strings.Join(list, "+")
}

// fewestLetters is how much of a name is typed at least: common practice,
// no source.
const fewestLetters = 4

// only is the one of some names that is as wanted, "" where there is none or
// several.
func only(names []string, is func(name string) bool) string {
	found := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return !is(n) })
	if len(found) != 1 {
		return ""
	}
	return found[0]
}
