package session

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagline/session/problem"
	"sagline/session/units"
)

// odd replaces the blanks and minus signs of spreadsheets and typesetters by plain ones.
var odd = strings.NewReplacer("\u00a0", " ", "\u2007", " ", "\u2009", " ", "\u202f", " ", "\u2212", "-")

// clean returns a cell with plain blanks and minus signs, without blanks around it.
func clean(s string) string {
	if strings.ContainsFunc(s, func(r rune) bool { return r >= utf8.RuneSelf }) {
		s = odd.Replace(s)
	}
	return strings.TrimSpace(s)
}

// formulaStarts are the characters with which a spreadsheet formula begins, and #, with which a
// comment line begins.
const formulaStarts = "=+-@\t\r\n#"

// EscapeFormula puts an apostrophe before text that a spreadsheet would run, that would be read as
// a comment, or that unescapeFormula would change.
func EscapeFormula(s string) string {
	if startsFormula(strings.TrimLeft(s, "'")) {
		return "'" + s
	}
	return s
}

// unescapeFormula removes the apostrophe that EscapeFormula added.
func unescapeFormula(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && startsFormula(strings.TrimLeft(rest, "'")) {
		return rest
	}
	return s
}

func startsFormula(s string) bool {
	s = strings.TrimLeft(s, " ")
	return s != "" && strings.IndexByte(formulaStarts, s[0]) >= 0
}

// number parses a clean cell strictly: a finite decimal within the column's range, without NaN,
// hexadecimal, underscore, unit or thousands separator. commas says whether a comma may be the
// decimal point. The error says what was found and what is wanted.
func (c *Column) number(text string, commas bool) (float64, error) {
	digits := text
	if commas && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		digits = strings.Replace(text, ",", ".", 1)
	}
	if !decimal(digits) {
		return 0, c.wrong(text, commas)
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil && !errors.Is(err, strconv.ErrRange) { // infinite values fail the range below
		return 0, c.wrong(text, commas)
	}
	if !(x >= c.Lowest && x <= c.Highest) {
		return 0, fmt.Errorf("found %s, want %s to %s %s", problem.Quote(text), units.Digits(c.Lowest, 6), units.Digits(c.Highest, 6), c.Unit)
	}
	return x, nil
}

// Number parses a cell as a number in the column's unit. A comma may be the decimal point.
func (c *Column) Number(text string) (float64, error) { return c.number(clean(text), true) }

// decimal reports whether s consists of the characters of decimal numbers. strconv accepts more.
func decimal(s string) bool { return s != "" && strings.Trim(s, "0123456789.+-eE") == "" }

// wrong returns the error for text that is not a number, with a hint if its shape suggests one.
func (c *Column) wrong(text string, commas bool) error {
	hint := ""
	whole, fraction, comma := strings.Cut(text, ",")
	switch {
	case comma && !commas && DigitsOnly(strings.TrimLeft(whole, "+-")) && DigitsOnly(fraction):
		hint = " with a decimal point: " + whole + "." + fraction
		if len(fraction) == 3 {
			hint += ", or " + whole + fraction
		}
	case thousands(text):
		hint = " without a thousands separator"
	case comma && !commas:
		hint = " with a decimal point"
	case withUnit(text, commas):
		hint = fmt.Sprintf(" alone: the unit is in the column's name %q", c.Name)
	}
	return fmt.Errorf("found %s, want a number in %s%s", problem.Quote(text), c.Unit, hint)
}

// DigitsOnly reports whether s consists of digits and is not empty.
func DigitsOnly(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// thousands reports whether text has a separator between groups of digits.
func thousands(text string) bool {
	groups := strings.FieldsFunc(strings.TrimLeft(text, "+-"), func(r rune) bool { return strings.ContainsRune(" ,.'’_", r) })
	if len(groups) < 2 {
		return false
	}
	for i, g := range groups {
		if !DigitsOnly(g) || i > 0 && i < len(groups)-1 && len(g) != 3 {
			return false
		}
	}
	return true
}

// withUnit reports whether text is a number followed by a unit.
func withUnit(text string, commas bool) bool {
	rest := strings.TrimRightFunc(text, func(r rune) bool { return unicode.IsLetter(r) || strings.ContainsRune("°%/² ", r) })
	if commas {
		rest = strings.Replace(rest, ",", ".", 1)
	}
	return rest != text && decimal(rest) && rest[len(rest)-1] >= '0' && rest[len(rest)-1] <= '9'
}
