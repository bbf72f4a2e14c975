package importer

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// A piece is one number of a cell with several, with its unit; nil: none.
type piece struct {
	number string
	unit   *unit
}

var (
	someNumber = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	parted     = regexp.MustCompile(`^(.*?)(?:\s*(?:[/;|,–→&+-]|\b(?:to|bis|à|a|y|et|und|and|in|en)\b)\s*|\s+)?$`) // a unit, and what parts it from the next number
)

// mostPieces is more than a person reads into one cell.
const mostPieces = 6

// pieces takes a cell with several numbers apart; nil where it is one number or
// says something else. Blanks alone part numbers that have units.
func pieces(text string) (out []piece) {
	at := someNumber.FindAllStringIndex(text, mostPieces+1)
	if len(at) < 2 || len(at) > mostPieces || strings.Trim(text[:at[0][0]], "+-") != "" {
		return nil
	}
	for i, a := range at {
		end := len(text)
		if i+1 < len(at) {
			end = at[i+1][0]
		}
		p, between := piece{number: text[a[0]:a[1]]}, text[a[1]:end]
		if i == 0 {
			p.number = text[:a[1]]
		}
		written := strings.TrimSpace(parted.FindStringSubmatch(between)[1])
		if u, ok := findUnit(written); ok {
			p.unit = &u
		} else if written != "" || end < len(text) && strings.TrimSpace(between) == "" {
			return nil
		}
		out = append(out, p)
	}
	return out
}

// several makes a match one of several columns where cells hold several numbers:
// by their units, by the names that the heading has, or by what a person says.
func several(m Match, h heading, cells []string) Match {
	unknown := m.To == "note" && m.Sure == Likely
	if t := m.targets()[0]; t.name != Asked && !unknown && (t.column == nil || t.column.Unit == "" || t.name == "minute") {
		return m
	}
	var units []*unit
	count := map[dimension]int{}
	parts, plain, split, twice := 0, 0, 0, false
	for _, c := range cells {
		ps := pieces(c)
		if isNumber(c) || ps == nil {
			continue
		}
		parts, split = max(parts, len(ps)), split+1
		for i, p := range ps {
			if p.unit != nil {
				count[p.unit.dimension]++
			}
			switch {
			case p.unit == nil:
				plain++
			case slices.ContainsFunc(ps[:i], func(o piece) bool { return o.unit != nil && o.unit.dimension == p.unit.dimension }):
				twice = true
			case !slices.ContainsFunc(units, func(u *unit) bool { return u.dimension == p.unit.dimension }):
				units = append(units, p.unit)
			}
		}
	}
	units = slices.DeleteFunc(units, func(u *unit) bool { return 4*count[u.dimension] < split }) // a cell's oddity
	switch {
	case len(units) > 1 && plain == 0 && !twice:
		return m.byUnits(h, units)
	case !unknown && split > 0 && 4*split >= len(cells) && (plain > 0 || twice && parts == 2): // a quarter: common practice, no source
		return m.byNames(h, parts, rises(cells))
	}
	return m
}

// rises says whether the second number of most cells is the greater.
func rises(cells []string) bool {
	n := 0
	for _, c := range cells {
		if ps := pieces(c); len(ps) == 2 {
			a, _ := strconv.ParseFloat(strings.Replace(ps[0].number, ",", ".", 1), 64)
			b, _ := strconv.ParseFloat(strings.Replace(ps[1].number, ",", ".", 1), 64)
			n += cmp.Compare(b, a)
		}
	}
	return n > 0
}

// byUnits gives each unit the column of its dimension, the heading's first.
func (m Match) byUnits(h heading, units []*unit) Match {
	choices := []string{""}
	own := m.targets()[0].column
	said := quantitiesOf(h)
	for _, u := range units {
		var next []string
		for _, c := range measuring(u.dimension) {
			if own != nil && own.Unit != "" && dimensionOf(own) == u.dimension && c.Quantity != own.Quantity || said[u.dimension] != "" && said[u.dimension] != c.Quantity {
				continue
			}
			for _, before := range choices {
				next = append(next, strings.TrimPrefix(before+partTargets+c.Name, partTargets))
			}
		}
		choices = next
	}
	if len(choices) == 1 {
		m.choose(choices[0])
		m.Sure, m.Why = Sure, "units in the cells"
		return m
	}
	return m.open("which are the numbers in a cell?", choices...)
}

// quantitiesOf are what the names that a heading joins measure, by dimension.
func quantitiesOf(h heading) map[dimension]string {
	out := map[dimension]string{}
	for part := range strings.SplitSeq(joints().Replace(h.text), "+") {
		part := readHeading(part)
		for _, c := range candidates(part, part.words) {
			if c.column.Unit != "" {
				out[dimensionOf(c.column)] = c.column.Quantity
			}
		}
	}
	for length, time := range map[string]string{"run": "run time", "climbed": "climb time"} { // of which one names the other
		switch {
		case out["m"] == length && out[seconds] == "":
			out[seconds] = time
		case out[seconds] == time && out["m"] == "":
			out["m"] = length
		}
	}
	return out
}

// byNames gives each of n numbers the column that the heading names for it.
// Where it names one alone, a person or the lines say which number is it: of
// two volts of a battery the greater is that at rest, or the other is the
// vehicle's.
func (m Match) byNames(h heading, n int, rises bool) Match {
	text, shared := h.text, (*unit)(nil)
	if h.unit != nil && len(h.words) < len(h.whole) {
		shared = h.unit
	}
	var names []string
	for part := range strings.SplitSeq(joints().Replace(text), "+") {
		part := readHeading(part)
		if part.unit == nil {
			part.unit = shared
		}
		p := match(part, nil)
		if t := p.targets()[0]; t.column != nil && t.column.Unit != "" {
			names = append(names, targetIn(t.column, part.unit))
		}
	}
	t := m.targets()[0]
	switch {
	case len(names) == n && len(slices.Compact(slices.Clone(names))) == n:
		m.choose(strings.Join(names, partTargets))
		m.Sure, m.Why = Likely, "the numbers of a cell in the heading's order"
		return m
	case t.column == nil:
		return m
	case n == 2:
		own := targetIn(t.column, h.unit)
		var choices []string
		pair := func(a, b string) {
			if rises {
				a, b = b, a
			}
			choices = append(choices, a+partTargets+b)
		}
		if t.name == "battery_v" {
			pair(own, targetIn(measured("vehicle_v"), h.unit))
			pair(strings.Replace(own, t.name, t.name+atRest, 1), own)
		}
		choices = append(choices, own+partTargets+"note", "note"+partTargets+own)
		return m.open("two numbers in a cell, which is which?", choices...)
	}
	return m.open(fmt.Sprintf("%d numbers in a cell, which are they?", n), "note")
}

// open leaves a match to the lines or to a person.
func (m Match) open(why string, choices ...string) Match {
	m.choose(Asked)
	m.Sure, m.choices, m.Why = Asked, choices, why+" "+strings.Join(choices, " or ")+"?"
	return m
}

// putSeveral writes the numbers of a cell into their columns; kept says that one
// of them is for the note.
func (c *converter) putSeveral(cells session.Row, targets []target, text string) (kept bool, err error) {
	ps := pieces(text)
	if ps == nil || isNumber(text) {
		number, of := cutUnit(text)
		ps = []piece{{number, of}}
	}
	left := slices.DeleteFunc(slices.Clone(targets), func(t target) bool { return t.fixed != "" || len(ps) == 1 && (t.name == "note" || t.rest) })
	if len(ps) == 1 && ps[0].unit == nil && len(left) > 1 && c.m.Alone != "first" {
		return false, fmt.Errorf("found %s, want %d numbers", problem.Quote(text), len(targets))
	}
	found := session.Row{}
	for _, p := range ps {
		i := slices.IndexFunc(left, func(t target) bool { return t.takes(p) })
		if i < 0 {
			return false, fmt.Errorf("found %s, want %d numbers", problem.Quote(text), len(targets))
		}
		t := left[i]
		left = slices.Delete(left, i, i+1)
		if t.column.Unit == "" {
			kept = true
			continue
		}
		name := t.name
		if t.rest {
			name += atRest
		}
		if found[name], err = c.number(t, p.number, p.unit); err != nil {
			return false, err
		}
	}
	for _, t := range targets {
		if t.fixed != "" {
			found[t.name] = t.fixed
		}
	}
	maps.Copy(cells, found)
	return kept, nil
}

// takes says whether a piece can be the target's: by its unit, else by its
// order.
func (t target) takes(p piece) bool {
	if p.unit == nil || t.name == "note" {
		return true
	}
	_, ok := p.unit.fits(t.column)
	return ok
}
