package session

import (
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// decimal is the only shape of number accepted: no NaN, hexadecimal,
// underscore or thousands separator, which strconv would let through.
var decimal = regexp.MustCompile(`^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$`)

// decimalComma is a number whose point is written as a comma.
var decimalComma = regexp.MustCompile(`^[+-]?\d+,\d+$`)

func mustFloat(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return x
}

// clean removes what spreadsheets put around a cell.
func clean(s string) string {
	if strings.ContainsAny(s, "\u00a0\u202f\u2212") {
		s = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "\u2212", "-").Replace(s)
	}
	return strings.TrimSpace(s)
}

// number parses a cell strictly; commas says whether a comma may be the
// decimal point.
func (c *Column) number(text string, commas bool) (float64, error) {
	want := fmt.Sprintf("want a number in %s", c.Unit)
	if decimalComma.MatchString(text) {
		if !commas {
			return 0, fmt.Errorf("found %s, %s with a decimal point", problem.Quote(text), want)
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	if !decimal.MatchString(text) {
		return 0, fmt.Errorf("found %s, %s", problem.Quote(text), want)
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || x < c.Lowest || x > c.Highest {
		return 0, fmt.Errorf("found %s, want %g to %g %s", problem.Quote(text), c.Lowest, c.Highest, c.Unit)
	}
	return x, nil
}

// row is one record with the columns that the file has.
type row struct {
	rec    *record
	line   int
	has    []*Column
	commas bool
	file   string
	all    *problem.List
}

func (r *row) text(c *Column) string {
	return clean(reflect.ValueOf(r.rec).Elem().Field(c.field).Field(0).String())
}

func (r *row) bad(c *Column, format string, args ...any) {
	r.all.Add(r.file, r.line, fmt.Sprintf("column %q", c.Name), format, args...)
}

// value is the number given for a quantity in whichever of its columns the
// file has; the zero Value when not measured.
func (r *row) value(quantity string) Value {
	for _, c := range r.has {
		if c.Quantity != quantity || c.Unit == "" {
			continue
		}
		t := r.text(c)
		if t == "" {
			continue
		}
		x, err := c.number(t, r.commas)
		if err != nil {
			r.bad(c, "%v", err)
			continue
		}
		return Value{X: c.ToBase(x), Entered: x, Column: c}
	}
	return Value{}
}

// word is a text cell.
func (r *row) word(quantity string) (string, *Column) {
	for _, c := range r.has {
		if c.Quantity == quantity && c.Unit == "" {
			return r.text(c), c
		}
	}
	return "", nil
}

// yes reads a cell that is one of two words or empty.
func (r *row) yes(quantity, yes, no string) bool {
	t, c := r.word(quantity)
	switch {
	case c == nil || t == "" || strings.EqualFold(t, no):
		return false
	case strings.EqualFold(t, yes):
		return true
	}
	r.bad(c, "found %s, want %s, %s or nothing", problem.Quote(t), yes, no)
	return false
}
