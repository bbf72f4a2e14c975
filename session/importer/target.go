package importer

import (
	"cmp"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// A target is one column that a heading's numbers become: number·times + plus.
type target struct {
	name        string
	column      *session.Column // nil if name is not a column
	quantity    string          // of the column; without a column, name
	times, plus float64
	fixed       string // the same value on all lines with the other targets; "": taken from the cell
	rest        bool   // read before the thrusters ran
}

// The syntax of a To.
const (
	partTargets = " / "      // between targets
	inUnit      = " in "     // between a column and the unit of its numbers
	isFixed     = " = "      // before a value that is the same for all lines
	atRest      = " at rest" // after volts that were read before the thrusters ran
)

// Targets of cells with two things.
const (
	stamp   = "date time" // dates with times
	section = "dive date" // lines that name the dive below them
)

// targets returns the targets of m.To. A target of an unknown name has no column.
func (m *Match) targets() (out []target) {
	for text := range strings.SplitSeq(m.To, partTargets) {
		t, _ := readTarget(text)
		out = append(out, t)
	}
	times := cmp.Or(m.Times, 1)
	out[0].times, out[0].plus = out[0].times*times, out[0].plus*times+m.Plus
	return out
}

// Factors returns what turns a cell's first number into its column's: number·times + plus.
func (m *Match) Factors() (times, plus float64) { t := m.targets()[0]; return t.times, t.plus }

// readTarget parses one target. ok is false if there is no such column, or it does not fit the unit
// or value.
func readTarget(text string) (t target, ok bool) {
	text, fixed, same := strings.Cut(text, isFixed)
	name, unit, has := strings.Cut(text, inUnit)
	column, rest := strings.CutSuffix(name, atRest)
	t = target{name: name, quantity: name, times: 1, fixed: fixed, rest: rest}
	if t.column, ok = session.Find(column); ok {
		t.quantity = t.column.Quantity
	}
	if (same || has) && !t.measured() || same && !wording.IsNumber(fixed) || rest && column != "battery_v" {
		return t, false
	}
	if has {
		u, known := wording.FindUnit(unit)
		t.times, t.plus, ok = u.Into(t.column)
		return t, ok && known
	}
	return t, ok || slices.Contains([]string{"", Asked, stamp, section}, name)
}

// measured reports whether the target is a column of numbers.
func (t target) measured() bool { return t.column != nil && t.column.Unit != "" }

// gives reports whether one of the targets is the column, or a cell with two things that has it.
func gives(targets []target, column string) bool {
	return slices.ContainsFunc(targets, func(t target) bool {
		return t.name == column || (t.name == stamp || t.name == section) && slices.Contains(strings.Fields(t.name), column)
	})
}

// shares reports whether two matches give the same quantity, which only one heading may.
func (m *Match) shares(o *Match) bool {
	return (m.Drive == o.Drive || m.Drive == "" || o.Drive == "") && slices.ContainsFunc(m.targets(), func(t target) bool {
		return !slices.Contains([]string{"note", "", Asked}, t.name) && slices.ContainsFunc(o.targets(), func(u target) bool { return t.quantity == u.quantity && t.rest == u.rest })
	})
}

// targetIn returns the text of a target for numbers of a column in a unit.
func targetIn(column string, u *wording.Unit) string {
	c := session.Named(column)
	if u == nil || c.Unit == "" {
		return column
	}
	if times, plus, ok := u.Into(c); ok && times == 1 && plus == 0 {
		return column
	}
	return column + inUnit + u.Name
}

// measuring returns the first column of each quantity of a dimension, except quantity but.
func measuring(dimension, but string) []string {
	return slices.DeleteFunc(session.ColumnNames(), func(name string) bool {
		c := session.Named(name)
		return c.Unit == "" || c.Quantity == but || wording.DimensionOf(c) != dimension || spreadsheet.ColumnsOf(c.Quantity)[0] != c
	})
}

// inUnits returns the targets of a quantity: its columns, then its columns in other units.
func inUnits(quantity string) (out []string) {
	for _, c := range spreadsheet.ColumnsOf(quantity) {
		out = append(out, c.Name)
	}
	for _, name := range wording.List("alternatives") {
		u, _ := wording.FindUnit(name)
		if c := spreadsheet.ColumnFor(quantity, &u); c != nil && !slices.Contains(out, targetIn(c.Name, &u)) {
			out = append(out, targetIn(c.Name, &u))
		}
	}
	return out
}
