package importer

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// fewestSeveral is the share of cells with several numbers that makes a column
// one of several: common practice, no source.
const fewestSeveral = 0.25

// several makes a match one of several columns where cells hold several numbers:
// by their units, by the names that the heading has, or by what a person says.
func several(m Match, h spreadsheet.Heading, cells []string) Match {
	unknown := m.To == "note" && m.Sure == Likely
	if t := m.targets()[0]; h.Lone != spreadsheet.NotLone || t.name != Asked && !unknown && (!t.measured() || t.name == "minute") {
		return m
	}
	like, units, split := wording.Alike(cells)
	switch {
	case split == 0:
		return m
	case units != nil:
		return m.byUnits(h, units)
	case !unknown && float64(split) >= fewestSeveral*float64(len(cells)):
		return m.byNames(h, like)
	}
	return m
}

// byUnits gives each unit the column of its dimension that the heading names.
func (m Match) byUnits(h spreadsheet.Heading, units []*wording.Unit) Match {
	choices := []string{""}
	for _, u := range units {
		names := namesOf(spreadsheet.Candidates(h.In(u), h.Words))
		if len(names) == 0 {
			names = measuring(u.Dimension)
		}
		var next []string
		for _, name := range names {
			for _, before := range choices {
				next = append(next, strings.TrimPrefix(before+partTargets+name, partTargets))
			}
		}
		choices = next
	}
	if len(choices) == 1 {
		return m.is(choices[0], Sure, "units in the cells")
	}
	return m.open("which are the numbers in a cell?", choices...)
}

// byNames gives each number of cells the column that the heading names for it.
// Where it names one alone, a person or the lines say which number is it: of
// two volts of a battery the greater is that at rest, or the other is the
// vehicle's.
func (m Match) byNames(h spreadsheet.Heading, cells [][]wording.Piece) Match {
	var names []string
	for _, part := range wording.Joined(h.Text) {
		part := spreadsheet.ReadHeading(part)
		if part.Unit == nil && h.UnitBeside() {
			part.Unit = h.Unit
		}
		if p := match(part, nil); p.targets()[0].measured() {
			names = append(names, p.To)
		}
	}
	t, n := m.targets()[0], len(cells[0])
	switch {
	case len(names) == n && len(slices.Compact(slices.Clone(names))) == n:
		return m.is(strings.Join(names, partTargets), Likely, "the numbers of a cell in the heading's order")
	case t.column == nil:
		return m
	case n > 2:
		return m.open(fmt.Sprintf("%d numbers in a cell, which are they?", n), "note")
	}
	own := targetIn(t.name, h.Unit)
	var choices []string
	if t.name == "battery_v" {
		rest, vehicle := strings.Replace(own, t.name, t.name+atRest, 1), targetIn("vehicle_v", h.Unit)
		if wording.Rise(cells) {
			choices = []string{vehicle + partTargets + own, own + partTargets + rest}
		} else {
			choices = []string{own + partTargets + vehicle, rest + partTargets + own}
		}
		if wording.Any("rest", h.Words) {
			return m.is(choices[1], Likely, "volts at rest and under load")
		}
	}
	return m.open("two numbers in a cell, which is which?", append(choices, own+partTargets+"note", "note"+partTargets+own)...)
}

// putNumbers writes the numbers of a cell into their columns; the cell is for the
// note where one of them is.
func (c *converter) putNumbers(cells session.Row, u *under, text string) error {
	ps := wording.Pieces(text)
	if len(u.targets) == 1 || ps == nil || wording.IsNumber(text) {
		number, of := wording.CutUnit(text)
		ps = []wording.Piece{{Number: number, Unit: of}}
	}
	left := slices.DeleteFunc(slices.Clone(u.targets), func(t target) bool { return t.fixed != "" || len(ps) == 1 && (t.name == "note" || t.rest) })
	found, note := session.Row{}, ""
	for _, p := range ps {
		i := slices.IndexFunc(left, func(t target) bool { return t.takes(p) })
		if i < 0 || len(ps) == 1 && p.Unit == nil && len(left) > 1 && c.m.Alone != "first" {
			return fmt.Errorf("found %s, want %d numbers", problem.Quote(text), len(u.targets))
		}
		t := left[i]
		left = slices.Delete(left, i, i+1)
		if !t.measured() {
			note = u.Heading + ": " + text
			continue
		}
		number, err := c.number(t, p.Number, p.Unit)
		if err != nil {
			return err
		}
		if t.rest {
			t.name += atRest
		}
		found[t.name] = number
	}
	for _, t := range u.targets {
		if t.fixed != "" {
			found[t.name] = t.fixed
		}
	}
	maps.Copy(cells, found)
	addNote(cells, note)
	return nil
}

// takes says whether a piece can be the target's: by its unit, else by its
// order.
func (t target) takes(p wording.Piece) bool {
	if p.Unit == nil || t.name == "note" {
		return true
	}
	_, _, ok := p.Unit.Into(t.column)
	return ok
}
