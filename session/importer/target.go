package importer

import (
	"slices"
	"strings"

	"sagline/session"
)

// A target is one column that a heading's numbers become, times and then plus.
type target struct {
	name        string
	column      *session.Column // nil where name is none
	times, plus float64
	fixed       string // what every line has that has the others, "" for what its cell says
	rest        bool   // read before the thrusters ran
}

// What stands between the targets of a To, between a column and the unit of
// its numbers, before what is the same for all lines, and behind the volts of a
// line of their own, before the thrusters ran.
const (
	partTargets = " / "
	inUnit      = " in "
	isFixed     = " = "
	atRest      = " at rest"
)

// targets are what m.To says; an unknown name has no column.
func (m *Match) targets() (out []target) {
	for i, text := range strings.Split(m.To, partTargets) {
		t, _ := readTarget(text)
		if i == 0 && !strings.Contains(text, inUnit) {
			t.times, t.plus = m.Times, m.Plus
		}
		out = append(out, t)
	}
	return out
}

// readTarget is a column with its unit; ok is false where there is no such
// column or it has no such unit.
func readTarget(text string) (t target, ok bool) {
	text, fixed, same := strings.Cut(text, isFixed)
	name, unit, has := strings.Cut(text, inUnit)
	name, rest := strings.CutSuffix(name, atRest)
	t = target{name: name, times: 1, fixed: fixed, rest: rest}
	t.column, ok = session.Find(name)
	if same && (!ok || t.column.Unit == "" || !isNumber(fixed)) || rest && name != "battery_v" {
		return t, false
	}
	if has {
		u, known := findUnit(unit)
		if !ok || !known || t.column.Unit == "" {
			return t, false
		}
		u, ok = u.fits(t.column)
		t.times, t.plus = u.to(t.column)
	}
	return t, ok || slices.Contains([]string{"", Asked, stamp}, name)
}

// isOf says whether a To is of the target's quantity.
func (t target) isOf(to string) bool {
	o, _ := readTarget(to)
	return o.column != nil && o.column.Quantity == t.column.Quantity
}

// shares says whether two matches have a column's quantity in common that one
// heading alone can give.
func (m *Match) shares(o *Match) bool {
	return slices.ContainsFunc(m.targets(), func(t target) bool {
		return t.name != "note" && t.name != "" && slices.ContainsFunc(o.targets(), func(u target) bool {
			return quantityOf(t.name) == quantityOf(u.name) && t.rest == u.rest
		})
	})
}

// targetIn is how a column reads as a target for numbers in a unit.
func targetIn(c *session.Column, u *unit) string {
	if u == nil {
		return c.Name
	}
	if f, ok := u.fits(c); ok {
		if times, plus := f.to(c); times == 1 && plus == 0 {
			return c.Name
		}
	}
	return c.Name + inUnit + u.name
}

// choose makes m one of its choices.
func (m *Match) choose(to string) {
	t, _ := readTarget(to)
	m.To, m.Times, m.Plus = to, t.times, t.plus
}

// asChosen is the choice that m is: what To says, with the heading's unit.
func (m *Match) asChosen() string {
	t, h := m.targets()[0], readHeading(m.Heading)
	if t.column == nil || t.column.Unit == "" || strings.Contains(m.To, inUnit) || strings.Contains(m.To, partTargets) {
		return m.To
	}
	return targetIn(t.column, h.unit)
}

// inUnits are the targets of a quantity: its columns, and the first of them in
// other units.
func inUnits(c *session.Column) (out []string) {
	first, _ := session.Find(columnsOf(c.Quantity)[0])
	out = columnsOf(c.Quantity)
	for _, name := range words("alternatives") {
		u, _ := findUnit(name)
		if f, ok := u.fits(first); ok && !slices.ContainsFunc(out, func(o string) bool { t, _ := readTarget(o); return t.column.Unit == name }) {
			if times, plus := f.to(first); times != 1 || plus != 0 {
				out = append(out, targetIn(first, &u))
			}
		}
	}
	return out
}

// measuring are the columns of a dimension, the first of each quantity.
func measuring(d dimension) (out []*session.Column) {
	for _, c := range session.Columns() {
		if c.Unit != "" && dimensionOf(c) == d && columnsOf(c.Quantity)[0] == c.Name {
			out = append(out, c)
		}
	}
	return out
}
