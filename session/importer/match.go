package importer

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// How sure a match is.
const (
	Sure   = "sure"   // the words and the unit agree
	Likely = "likely" // the words agree, and something was assumed
	Asked  = "?"      // a person must decide
)

// ownWords is the reason given for a heading that is a column's name.
const ownWords = "its own name"

// is returns m with its target, how sure it is, and why.
func (m Match) is(to, sure, why string) Match {
	m.To, m.Sure, m.Why = to, sure, why
	return m
}

// open returns m to be decided among choices, by the lines or by a person.
func (m Match) open(why string, choices ...string) Match {
	m.choices = choices
	return m.is(Asked, Asked, why+" "+strings.Join(choices, " or ")+"?")
}

// match proposes a target for a heading with the cells below it.
func match(h spreadsheet.Heading, cells []string) Match {
	m := Match{Heading: h.Text}
	switch h.Lone {
	case spreadsheet.NamesDive:
		return m.is(section, Sure, "lines above dives")
	case spreadsheet.BetweenLines:
		return m.is("note", Sure, "lines between others")
	}
	decimal := func(cell string) bool { return wording.IsNumber(cell) && strings.ContainsAny(cell, ".,") }
	// Case counts where a column's name is an everyday word; the volts of a battery are no label.
	if c, ok := session.Find(strings.ToLower(h.Text)); ok && (c.Unit != "" || c.Name == h.Text) && !(c.Name == "battery" && spreadsheet.Every(cells, decimal)) {
		return m.becomes(h, c, Sure, ownWords, cells)
	}
	if over, ok := m.overLength(h); ok {
		return over
	}
	best := spreadsheet.Candidates(h, h.Words)
	if len(best) == 0 {
		return m.unexplained(h, cells)
	}
	c, rest := best[0].Column, best[0].Rest > 0
	label := spreadsheet.Every(cells, func(cell string) bool { return !strings.ContainsAny(cell, "0123456789") })
	switch {
	case c.Name == "battery_v" && h.Unit == nil && label: // which battery, not its volts
		battery, _ := session.Find("battery")
		return m.becomes(h, battery, Likely, "below it are no numbers", cells)
	case slices.ContainsFunc(best[1:], func(o spreadsheet.Candidate) bool { return !isTime(c) || !isTime(o.Column) }):
		return m.open("it may mean either:", namesOf(best)...)
	case rest && spreadsheet.Foreign(h.Words, c.Quantity):
		return m.open("part of it means something else:", namesOf(best)...)
	case rest && h.Unit != nil && c.Quantity == "minute":
		return m.open("time since the dive began, of a run or of a climb:", targetIn("minute", h.Unit), targetIn("run_s", h.Unit), targetIn("climb_s", h.Unit), "note")
	case rest:
		return m.becomes(h, c, Likely, "rest of the heading not understood", cells)
	case h.Unit == nil:
		return m.becomes(h, c, Sure, "words", cells)
	}
	return m.becomes(h, c, Sure, "words and unit", cells)
}

func isTime(c *session.Column) bool { return c.Quantity == "clock" || c.Quantity == "minute" }

func namesOf(all []spreadsheet.Candidate) (names []string) {
	for _, c := range all {
		names = append(names, c.Column.Name)
	}
	return names
}

// lengthIn matches a length in a heading, such as "10 m" or "per 20 ft".
var lengthIn = regexp.MustCompile(`(?i)(?:(?:/|\b(?:per|pro|par|por|je|à|for|over|für|pour|voor)\b)[ ]*)?(\d+(?:[.,]\d+)?)[ -]?(\pL+)\b`)

// overLength matches a heading that states the length of its run or climb, such as "Time for
// 10 m [s]". It returns false for any other heading.
func (m Match) overLength(h spreadsheet.Heading) (Match, bool) {
	text := h.Text[:min(len(h.Text), spreadsheet.LongestHeading)]
	at := lengthIn.FindStringSubmatchIndex(text)
	if at == nil {
		return m, false
	}
	length, ok := wording.FindUnit(text[at[4]:at[5]])
	rest := spreadsheet.ReadHeading(text[:at[0]] + text[at[1]:])
	if u, found := wording.FindUnit(strings.TrimSpace(text[:at[0]])); found && rest.Unit == nil { // "s per 10 m climb"
		rest = spreadsheet.ReadHeading(text[at[1]:]).In(&u)
	}
	best := spreadsheet.Candidates(rest, rest.Words)
	if !ok || length.Dimension != "m" || rest.Unit != nil && !rest.UnitIs(wording.Seconds) || rest.Unit == nil && len(best) == 0 {
		return m, false
	}
	time, of := "run_s", "run"
	for _, c := range best {
		switch c.Column.Quantity {
		case "climb time", "climbed":
			time, of = "climb_s", "climbed"
		case "run back":
			return m.is(targetIn(c.Column.Name, rest.Unit), Likely, "time back over "+text[at[2]:at[1]]), true
		case "minute", "clock", "run", "run time":
		default:
			return m, false
		}
	}
	column := spreadsheet.ColumnFor(of, &length)
	fixed, _, _ := wording.InUnit(strings.Replace(text[at[2]:at[3]], ",", ".", 1), length.Name, column)
	to := targetIn(time, rest.Unit) + partTargets + column.Name + isFixed + fixed
	if wording.Any("at", rest.Words) { // a depth?
		return m.open("time over this length, or since the dive began:", to, targetIn("minute", rest.Unit)), true
	}
	return m.is(to, Likely, "time over the length that it names"), true
}

// unexplained matches a heading whose words name no column, by its unit and cells.
func (m Match) unexplained(h spreadsheet.Heading, cells []string) Match {
	plain := h.In(nil)
	byName := spreadsheet.Candidates(plain, h.Words)
	byAll := spreadsheet.Candidates(plain, h.Whole)
	switch {
	case h.UnitIs("A") && (len(byName) > 0 && byName[0].Column.Quantity == "battery_v" || !h.UnitBeside()):
		return m.is(targetIn("current_a", h.Unit), Likely, "its unit")
	case h.UnitIs("V") && !h.UnitBeside():
		return m.open("no more than a unit:", "battery_v", "vehicle_v")
	case h.Text == "#", spreadsheet.Every(h.Words, func(w string) bool { return wording.Is("filler", w) }) && spreadsheet.Every(cells, session.DigitsOnly):
		return m.open("number of the dive or of the line?", "dive", "note")
	case spreadsheet.Every(cells, func(s string) bool { dive, _ := spreadsheet.NamedIn(s); return dive != "" }):
		return m.is("dive", Likely, "its cells name dives")
	case h.Unit != nil && len(byAll) > 0: // what looked like a unit is a word of the name
		return m.open("its words and its unit do not go together:", namesOf(byAll)...)
	}
	return m.is("note", Likely, "no column has this name")
}

// becomes matches a heading to column c.
func (m Match) becomes(h spreadsheet.Heading, c *session.Column, sure, why string, cells []string) Match {
	withUnit := func(s string) bool { _, u := wording.CutUnit(s); return u != nil }
	switch {
	case isTime(c) || c.Quantity == "date":
		return m.time(h, c, sure, why, cells)
	case why == ownWords, c.Unit == "", h.Unit == nil && spreadsheet.Every(cells, withUnit):
		return m.is(c.Name, sure, why)
	case h.Unit != nil:
		return m.is(targetIn(c.Name, h.Unit), sure, why)
	}
	if units := spreadsheet.ColumnsOf(c.Quantity); len(units) > 1 {
		return m.open("no unit:", inUnits(c.Quantity)[:len(units)]...)
	}
	return m.is(c.Name, Likely, "words; "+c.Unit+" assumed")
}

// time matches a heading to the date, the clock or the minutes, by its unit or cells.
func (m Match) time(h spreadsheet.Heading, c *session.Column, sure, why string, cells []string) Match {
	elapsed := spreadsheet.Every(cells, func(s string) bool { _, err := wording.ReadElapsed(s); return err == nil })
	early := elapsed && (strings.HasPrefix(cells[0], "0:") || strings.HasPrefix(cells[0], "00:")) // no one dives at midnight
	byName := why == ownWords && (c.Name != "time" || len(cells) == 0 || spreadsheet.Every(cells, wording.IsClock))
	switch {
	case spreadsheet.Every(cells, func(s string) bool { _, clock := wording.SplitStamp(s); return clock != "" }):
		return m.is(stamp, sure, "dates with times")
	case h.UnitIs(wording.Elapsed):
		return m.is("minute", sure, why)
	case h.UnitIs(wording.Seconds):
		return m.is(targetIn("minute", h.Unit), sure, why)
	case byName, c.Quantity == "date", h.UnitIs(wording.ClockOfDay):
		return m.is(c.Name, sure, why)
	case spreadsheet.Every(cells, wording.IsClock) && !early && (c.Quantity != "minute" || len(h.Words) == 1 && !spreadsheet.Foreign(h.Words, "clock")):
		return m.is("time", Likely, "words; a clock as hh:mm assumed")
	case elapsed:
		return m.open("mm:ss since the start or the clock?", "minute", "time")
	}
	return m.open("no unit:", "minute", "minute in s", "minute in ms")
}

// rank returns how sure a match is: 2 sure, 1 likely, 0 neither.
func (m *Match) rank() int { return map[string]int{Sure: 2, Likely: 1}[m.Sure] }

// oneEach gives each column to one heading, the surest. If two are equally sure, a person must
// decide. Several headings may be notes or columns of one thruster each, but not the latter if a
// heading gives all thrusters.
func oneEach(all []Match) {
	whole := slices.IndexFunc(all, func(m Match) bool { return m.Drive == "" && m.rank() > 0 && m.To == "thrusters" })
	for i := range all {
		if a := &all[i]; a.Drive != "" && whole >= 0 {
			a.Drive = ""
			*a = a.is("note", Likely, problem.Quote(all[whole].Heading)+" gives thrusters")
		}
	}
	for i := range all {
		for k := range all {
			a, b := &all[i], &all[k]
			switch {
			case i == k || a.rank() == 0 || b.rank() == 0 || !a.shares(b):
			case b.rank() > a.rank():
				*a = a.is("note", Likely, problem.Quote(b.Heading)+" gives "+b.To+" more surely")
			case a.atRest(b), b.atRest(a):
			case b.rank() == a.rank():
				why, choices := fmt.Sprintf("%s and %s mean the same:", problem.Quote(a.Heading), problem.Quote(b.Heading)), slices.Compact([]string{a.To, b.To, "note"})
				*a, *b = a.open(why, choices...), b.open(why, choices...)
			}
		}
	}
}

// atRest makes m the volts at rest if its heading says so and o's does not. It reports whether it does.
func (m *Match) atRest(o *Match) bool {
	idle := func(of *Match) bool { return wording.Any("idle", wording.Words(of.Heading)) }
	if !strings.HasPrefix(m.To, "battery_v") || strings.Contains(m.To, atRest) || !idle(m) || idle(o) {
		return false
	}
	*m = m.is(strings.Replace(m.To, "battery_v", "battery_v"+atRest, 1), Likely, "volts at rest and under load")
	return true
}

// fewestSeveral is the least share of cells with several numbers for which their column counts as
// one with several numbers: common practice, no source.
const fewestSeveral = 0.25

// several gives a match several targets if its cells have several numbers: by their units, by the
// names in the heading, or by asking.
func several(m Match, h spreadsheet.Heading, cells []string) Match {
	unknown := m.To == "note" && m.Sure == Likely
	if t := m.targets()[0]; h.Lone != spreadsheet.NotLone || t.name != Asked && !unknown && (!t.measured() || t.name == "minute") {
		return m
	}
	like, units, split := wording.Alike(cells)
	switch {
	case units != nil:
		return m.byUnits(h, units)
	case !unknown && split > 0 && float64(split) >= fewestSeveral*float64(len(cells)):
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
			names = measuring(u.Dimension, "")
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

// byNames gives each number of a cell the column that the heading names for it. If it names only
// one column, the lines or a person decide which number that is. Of two battery voltages either the
// greater is the one at rest, or the smaller is the vehicle's.
func (m Match) byNames(h spreadsheet.Heading, cells [][]wording.Piece) Match {
	var names []string
	for _, text := range wording.Joined(h.Text) {
		heading := spreadsheet.ReadHeading(text)
		if heading.Unit == nil && h.UnitBeside() {
			heading.Unit = h.Unit
		}
		if p := match(heading, nil); p.targets()[0].measured() {
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
	target := targetIn(t.name, h.Unit)
	var choices []string
	if t.name == "battery_v" {
		rest, vehicle := strings.Replace(target, t.name, t.name+atRest, 1), targetIn("vehicle_v", h.Unit)
		if wording.Rise(cells) {
			choices = []string{vehicle + partTargets + target, target + partTargets + rest}
		} else {
			choices = []string{target + partTargets + vehicle, rest + partTargets + target}
		}
		if wording.Any("rest", h.Words) {
			return m.is(choices[1], Likely, "volts at rest and under load")
		}
	}
	return m.open("two numbers in a cell, which is which?", append(choices, target+partTargets+"note", "note"+partTargets+target)...)
}
