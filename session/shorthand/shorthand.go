// Package shorthand reads a line of a dive as it is written in a notebook:
// "p+s 12.31 8.1 8.72 4.2 .45" or "p+s 4.2m 12.31V 8.1A .45m/s". Numbers without a
// unit are taken in the order of the log's columns; a unit or a column's name counts
// more than the order. A word without a meaning is a problem and never guessed at.
package shorthand

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// A Reader reads the lines of one log.
type Reader struct {
	Columns   []*session.Column // one of each quantity; a number without a unit is in its unit
	Thrusters []string          // names of the vehicle's thrusters; none: any word is taken for one
	Sides     map[string]string // thrusters by port, starboard, vertical and both; names count first
	Yes       *session.Column   // the column that a lone yes answers, nil for none
}

// UsableName reports whether a name can be used for a column of the log's own: it cannot be
// confused with a known column, a thruster, a unit or a number.
func (r *Reader) UsableName(name string) bool {
	_, known := session.Find(name)
	_, err := r.drives(name)
	first, _ := utf8.DecodeRuneInString(name)
	return !known && unicode.IsLetter(first) && !strings.ContainsAny(name, " \t;+=") && !wording.IsUnit(name) && (err != nil || len(r.Thrusters) == 0)
}

// notMeasured is written for a number that was not measured.
const notMeasured = "-"

// decimal is a number with a decimal point or comma, and what follows it.
var decimal = regexp.MustCompile(`^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))(.*)$`)

// number splits a word into a number, written with a decimal point, and the rest, which
// may or may not be a unit; ok is false if the word does not begin with a number.
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

// isNumber reports whether a word is a number, perhaps with its unit.
func isNumber(word string) bool {
	_, _, is := number(word)
	return is && !strings.Contains(word, " ")
}

// Cell converts one answer into a cell of column c. It understands units, decimal
// commas, short forms of names and y for yes; "-" gives an empty cell. An answer that
// does not fit the column is an error or is returned as it is, to be found when the
// log is read.
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
	case "date":
		return day(answer)
	}
	return answer, nil
}

// day gives the cell for a day in any order that can be told from it alone.
func day(answer string) (string, error) {
	at, err := wording.ReadDate(answer, wording.DateForm([]string{answer}), 0)
	if err != nil {
		return "", err
	}
	return at.Format(time.DateOnly), nil
}

// Cells converts the answers of a row into cells, in place, and lists those that cannot be.
func (r *Reader) Cells(row session.Row) (wrong problem.List) {
	for _, name := range slices.Sorted(maps.Keys(row)) {
		c, ok := session.Find(name)
		if !ok {
			continue // is reported when the row is written
		}
		cell, err := r.Cell(c, row[name])
		if err != nil {
			wrong.Add("", 0, fmt.Sprintf("column %q", name), "%v", err)
			continue
		}
		row[name] = cell
	}
	return wrong
}

// inColumn converts a number, perhaps with its unit, into the unit of a column.
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
		digits = answer // c.Number reports it
	}
	_, err := c.Number(digits)
	return digits, err
}

// yes gives the cell for a word for yes or no; any other word is returned as it is.
func yes(answer, is, not string) string {
	switch strings.ToLower(answer) {
	case "y", "yes", "on", "x", is:
		return is
	case "n", "no", "off", not:
		return not
	}
	return answer
}

// services completes the names of parts that were worked on, joined by +, from
// unambiguous beginnings.
func services(answer string) string {
	list := strings.Split(answer, "+")
	for i, word := range list {
		word = strings.ToLower(strings.TrimSpace(word))
		begun := func(n string) bool { return n == word || len(word) >= fewestLetters && strings.HasPrefix(n, word) }
		list[i] = cmp.Or(only(session.Serviceable, begun), list[i])
	}
	return strings.Join(list, "+")
}

// fewestLetters is the least number of letters of an abbreviated name: common
// practice, no source.
const fewestLetters = 4

// only returns the single name for which is holds, "" if there is none or several.
func only(names []string, is func(name string) bool) string {
	found := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return !is(n) })
	if len(found) != 1 {
		return ""
	}
	return found[0]
}
