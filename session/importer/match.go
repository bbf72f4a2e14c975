package importer

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

// How sure a match is.
const (
	Sure   = "sure"   // the words and the unit say so
	Likely = "likely" // the words say so, and something was assumed
	Asked  = "?"      // it is for a person to say
)

// ownWords is why a column's very name is matched.
const ownWords = "its own name"

// is makes m what a heading becomes.
func (m Match) is(to, sure, why string) Match {
	m.To, m.Sure, m.Why = to, sure, why
	return m
}

// open leaves a match to the lines or to a person.
func (m Match) open(why string, choices ...string) Match {
	m.choices = choices
	return m.is(Asked, Asked, why+" "+strings.Join(choices, " or ")+"?")
}

// settled is the one choice that there is, or left open.
func (m Match) settled(sure, why, question string, choices ...string) Match {
	if len(choices) == 1 {
		return m.is(choices[0], sure, why)
	}
	return m.open(question, choices...)
}

// match proposes what a heading with cells below becomes.
func match(h heading, cells []string) Match {
	m := Match{Heading: h.text}
	if h.lone != "" {
		return m.is(h.lone, Sure, "cells alone in their rows")
	}
	// Case counts where a column's name is an everyday word; the volts of a battery are no label.
	if c, ok := session.Find(strings.ToLower(h.text)); ok && (c.Unit != "" || c.Name == h.text) && !(c.Name == "battery" && every(cells, isDecimal)) {
		return m.becomes(h, c, Sure, ownWords, cells)
	}
	if over, ok := m.overLength(h); ok {
		return over
	}
	best := candidates(h, h.words)
	if len(best) == 0 {
		return m.unexplained(h, cells)
	}
	c, rest := best[0].column, best[0].rest > 0
	switch {
	case slices.ContainsFunc(best[1:], func(o candidate) bool { return !isTime(c) || !isTime(o.column) }):
		return m.open("it may mean either:", namesOf(best)...)
	case rest && foreign(h.words, c.Quantity):
		return m.open("part of it means something else:", namesOf(best)...)
	case rest && h.unit != nil && c.Quantity == "minute":
		return m.open("time since the dive began, of a run or of a climb:", targetIn(columnNamed("minute"), h.unit), targetIn(columnNamed("run_s"), h.unit), targetIn(columnNamed("climb_s"), h.unit), "note")
	case rest:
		return m.becomes(h, c, Likely, "rest of the heading not understood", cells)
	case h.unit == nil:
		return m.becomes(h, c, Sure, "words", cells)
	}
	return m.becomes(h, c, Sure, "words and unit", cells)
}

func isTime(c *session.Column) bool { return c.Quantity == "clock" || c.Quantity == "minute" }

func namesOf(all []candidate) (names []string) {
	for _, c := range all {
		names = append(names, c.column.Name)
	}
	return names
}

// lengthIn is a length in a heading, such as "10 m".
var lengthIn = regexp.MustCompile(`(\d+(?:[.,]\d+)?)[ -]?(\pL+)\b`)

// overLength takes a heading that names the length of its run or climb, as
// "Time for 10 m [s]" does, and says whether it is one.
func (m Match) overLength(h heading) (Match, bool) {
	text := h.text[:min(len(h.text), longestHeading)]
	at := lengthIn.FindStringSubmatchIndex(text)
	if at == nil {
		return m, false
	}
	length, ok := wording.FindUnit(text[at[4]:at[5]])
	rest := readHeading(text[:at[0]] + text[at[1]:])
	best := candidates(rest, rest.words)
	if !ok || length.Dimension != "m" || rest.unit != nil && !rest.unitIs(wording.Seconds) || rest.unit == nil && len(best) == 0 {
		return m, false
	}
	time, of := "run_s", "run"
	for _, c := range best {
		switch c.column.Quantity {
		case "climb time", "climbed":
			time, of = "climb_s", "climbed"
		case "run back":
			return m.is(targetIn(c.column, rest.unit), Likely, "time back over "+text[at[0]:at[1]]), true
		case "minute", "clock", "run", "run time":
		default:
			return m, false
		}
	}
	column := columnFor(of, &length)
	times, plus, _ := length.Into(column)
	fixed := wording.Converted(strings.Replace(text[at[2]:at[3]], ",", ".", 1), times, plus)
	to := targetIn(columnNamed(time), rest.unit) + partTargets + column.Name + isFixed + fixed
	if wording.Any("at", rest.words) { // a depth?
		return m.open("time over this length, or since the dive began:", to, targetIn(columnNamed("minute"), rest.unit)), true
	}
	return m.is(to, Likely, "time over the length that it names"), true
}

// unexplained goes by the unit and by what stands below a heading whose words
// say nothing.
func (m Match) unexplained(h heading, cells []string) Match {
	plain := h.in(nil)
	byName := candidates(plain, h.words)
	byAll := candidates(plain, h.whole)
	switch {
	case h.unitIs("A") && (len(byName) > 0 && byName[0].column.Quantity == "battery_v" || !h.unitBeside()):
		return m.is(targetIn(columnNamed("current_a"), h.unit), Likely, "its unit")
	case h.unitIs("V") && !h.unitBeside():
		return m.open("no more than a unit:", "battery_v", "vehicle_v")
	case h.text == "#", every(h.words, func(w string) bool { return wording.Is("filler", w) }) && every(cells, wording.DigitsOnly):
		return m.open("number of the dive or of the line?", "dive", "note")
	case every(cells, func(s string) bool { dive, _ := namedIn(s); return dive != "" }):
		return m.is("dive", Likely, "its cells name dives")
	case h.unit != nil && len(byAll) > 0: // what looked like a unit was a word
		return m.open("its words and its unit do not go together:", namesOf(byAll)...)
	}
	return m.is("note", Likely, "no column has this name")
}

// isDecimal says whether a cell is a number with decimals.
func isDecimal(cell string) bool {
	return wording.IsNumber(cell) && strings.ContainsAny(cell, ".,")
}

// becomes fills in a match with column c.
func (m Match) becomes(h heading, c *session.Column, sure, why string, cells []string) Match {
	withUnit := func(s string) bool { _, u := wording.CutUnit(s); return u != nil }
	switch {
	case isTime(c) || c.Quantity == "date":
		return m.time(h, c, sure, why, cells)
	case why == ownWords, c.Unit == "", h.unit == nil && every(cells, withUnit):
		return m.is(c.Name, sure, why)
	case h.unit != nil:
		return m.is(targetIn(c, h.unit), sure, why)
	}
	if units := columnsOf(c.Quantity); len(units) > 1 {
		return m.open("no unit:", inUnits(c.Quantity)[:len(units)]...)
	}
	return m.is(c.Name, Likely, "words; "+c.Unit+" assumed")
}

// time fills in a match with the date, the clock or the minutes, as its unit
// or the cells say.
func (m Match) time(h heading, c *session.Column, sure, why string, cells []string) Match {
	elapsed := every(cells, func(s string) bool { _, err := wording.ReadElapsed(s); return err == nil })
	early := elapsed && (strings.HasPrefix(cells[0], "0:") || strings.HasPrefix(cells[0], "00:")) // no one dives at midnight
	own := why == ownWords && (c.Name != "time" || len(cells) == 0 || every(cells, wording.IsClock))
	switch {
	case every(cells, func(s string) bool { _, clock := wording.SplitStamp(s); return clock != "" }):
		return m.is(stamp, sure, "dates with times")
	case c.Quantity == "date":
		return m.is("date", sure, why)
	case h.unitIs(wording.Elapsed):
		return m.is("minute", sure, why)
	case h.unitIs(wording.Seconds):
		return m.is(targetIn(columnNamed("minute"), h.unit), sure, why)
	case own, h.unitIs(wording.ClockOfDay):
		return m.is(c.Name, sure, why)
	case every(cells, wording.IsClock) && !early && (c.Quantity != "minute" || len(h.words) == 1 && !foreign(h.words, "clock")):
		return m.is("time", Likely, "words; a clock as hh:mm assumed")
	case elapsed:
		return m.open("mm:ss since the start or the clock?", "minute", "time")
	}
	return m.open("no unit:", "minute", "minute in s", "minute in ms")
}

// rank is how sure a match is, 0 for not.
func (m *Match) rank() int { return map[string]int{Sure: 2, Likely: 1}[m.Sure] }

// oneEach lets one heading stand for each column: the surest. Where two are as
// sure a person must say. Notes are joined, and columns of one thruster each
// where none gives all of them.
func oneEach(all []Match) {
	gives := func(b *Match, what string) string { return problem.Quote(b.Heading) + " gives " + what }
	for i := range all {
		for k := range all {
			if a, b := &all[i], &all[k]; a.Drive != "" && b.Drive == "" && b.rank() > 0 && b.To == "thrusters" {
				a.Drive = ""
				*a = a.is("note", Likely, gives(b, "thrusters"))
			}
		}
	}
	for i := range all {
		for k := range all {
			a, b := &all[i], &all[k]
			switch {
			case i == k || a.rank() == 0 || b.rank() == 0 || !a.shares(b):
			case b.rank() > a.rank():
				*a = a.is("note", Likely, gives(b, b.To)+" more surely")
			case b.rank() == a.rank():
				why := fmt.Sprintf("%s and %s both mean %s: which?", problem.Quote(a.Heading), problem.Quote(b.Heading), a.To)
				choices := []string{a.To, b.To, "note"}
				*a, *b = a.is(Asked, Asked, why), b.is(Asked, Asked, why)
				a.choices, b.choices = choices, choices
			}
		}
	}
}
