package importer

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
)

// How sure a match is.
const (
	Sure   = "sure"   // the words and the unit say so
	Likely = "likely" // the words say so, and something was assumed
	Asked  = "?"      // it is for a person to say
)

// ownWords is why a column's very name is matched.
const ownWords = "its own name"

// candidate is a column that a heading may stand for.
type candidate struct {
	column *session.Column
	score  float64
	rest   int // words that it does not explain
}

// match proposes what a heading with cells below becomes.
func match(h heading, cells []string) Match {
	m := Match{Heading: h.text, Times: 1}
	// Case counts where a column's name is an everyday word; the volts of a battery are no label.
	if c, ok := session.Find(strings.ToLower(h.text)); ok && (c.Unit != "" || c.Name == h.text) && !(c.Name == "battery" && every(cells, isDecimal)) {
		return m.becomes(h, c, Sure, ownWords, cells)
	}
	if over, ok := m.overLength(h); ok {
		return over
	}
	best := candidates(h, h.words)
	if len(best) == 0 && m.byCells(h, cells) {
		return m
	}
	if len(best) == 0 && h.unit != nil {
		h.unit, h.words = nil, h.whole // what looked like a unit was a word
		if best = candidates(h, h.words); len(best) > 0 {
			return m.ask(best, "its words and its unit do not go together")
		}
	}
	switch {
	case len(best) == 0:
		m.To, m.Sure, m.Why = "note", Likely, "no column has this name"
		return m
	case len(best) > 1 && slices.ContainsFunc(best, func(c candidate) bool { return c.column.Quantity != "clock" && c.column.Quantity != "minute" }):
		return m.ask(best, "it may mean either")
	case best[0].rest > 0 && foreign(h.words, best[0].column.Quantity):
		return m.ask(best, "part of it means something else")
	case best[0].rest > 0 && h.unit != nil && best[0].column.Quantity == "minute":
		return m.open("time since the dive began, of a run or of a climb:", targetIn(measured("minute"), h.unit), targetIn(measured("run_s"), h.unit), targetIn(measured("climb_s"), h.unit), "note")
	case best[0].rest > 0:
		return m.becomes(h, best[0].column, Likely, "rest of the heading not understood", cells)
	case h.unit == nil:
		return m.becomes(h, best[0].column, Sure, "words", cells)
	}
	return m.becomes(h, best[0].column, Sure, "words and unit", cells)
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
	length, ok := findUnit(text[at[4]:at[5]])
	rest := readHeading(text[:at[0]] + text[at[1]:])
	if !ok || length.dimension != "m" || rest.unit != nil && rest.unit.dimension != seconds {
		return m, false
	}
	time, of := "run_s", "run"
	for _, c := range candidates(rest, rest.words) {
		switch c.column.Quantity {
		case "climb time", "climbed":
			time, of = "climb_s", "climbed"
		case "run back":
			return m.becomes(rest, c.column, Likely, "time back over "+text[at[0]:at[1]], nil), true
		case "minute", "clock", "run", "run time":
		default:
			return m, false
		}
	}
	if rest.unit == nil && len(candidates(rest, rest.words)) == 0 {
		return m, false
	}
	column := columnFor(of, &length)
	times, plus := length.to(column)
	to := targetIn(measured(time), rest.unit) + partTargets + column.Name + isFixed + converted(strings.Replace(text[at[2]:at[3]], ",", ".", 1), times, plus)
	if slices.ContainsFunc(rest.words, func(w string) bool { return isOf("at", w) }) { // a depth?
		return m.open("time over this length, or since the dive began:", to, targetIn(measured("minute"), rest.unit)), true
	}
	m.choose(to)
	m.Sure, m.Why = Likely, "time over the length that it names"
	return m, true
}

// byCells goes by what stands below a heading that no words explain, and says
// whether that was enough.
func (m *Match) byCells(h heading, cells []string) bool {
	unitless := h
	unitless.unit = nil
	best := candidates(unitless, h.words)
	switch {
	case h.unit != nil && h.unit.dimension == "A" && (len(best) > 0 && best[0].column.Quantity == "battery_v" || len(h.words) == len(h.whole)):
		m.To, m.Sure, m.Why, m.Times = "current_a", Likely, "its unit", h.unit.times
	case h.unit != nil && h.unit.dimension == "V" && len(h.words) == len(h.whole):
		*m = m.open("no more than a unit:", "battery_v", "vehicle_v")
	case h.text == "#", len(h.words) > 0 && every(h.words, func(w string) bool { return isOf("filler", w) }) && every(cells, digitsOnly):
		*m = m.open("number of the dive or of the line?", "dive", "note")
	case every(cells, func(s string) bool { dive, _ := section(s); return dive != "" }):
		m.To, m.Sure, m.Why = "dive", Likely, "its cells name dives"
	default:
		return false
	}
	return true
}

// isDecimal says whether a cell is a number with decimals.
func isDecimal(cell string) bool {
	_, err := plain(strings.Replace(cell, ",", ".", 1), ".")
	return err == nil && strings.ContainsAny(cell, ".,")
}

func (m Match) ask(best []candidate, why string) Match {
	var names []string
	for _, c := range best {
		names = append(names, c.column.Name)
	}
	return m.open(why+":", names...)
}

// candidates are the columns whose words explain a heading best; more than one
// where several do alike.
func candidates(h heading, words []string) (best []candidate) {
	count := 0
	for _, w := range words {
		if !isOf("filler", w) {
			count++
		}
	}
	for _, p := range phrases() {
		n, letters := p.covers(words)
		if n == 0 {
			continue
		}
		column := columnFor(p.quantity, h.unit)
		if column == nil {
			continue
		}
		c := candidate{column: column, rest: max(0, count-n)}
		c.score = float64(n) - 0.3*float64(c.rest) + 0.1*letters // common practice, no source
		switch {
		case len(best) == 0 || c.score > best[0].score:
			best = []candidate{c}
		case c.score == best[0].score && !slices.ContainsFunc(best, func(o candidate) bool { return o.column.Quantity == column.Quantity }):
			best = append(best, c)
		}
	}
	return best
}

// columnFor is a quantity's column for a unit: in that very unit, else its
// first; nil where they do not go together.
func columnFor(quantity string, u *unit) (first *session.Column) {
	for _, c := range session.Columns() {
		if c.Quantity != quantity {
			continue
		}
		if u == nil {
			return c
		}
		f, ok := u.fits(c)
		if times, plus := f.to(c); ok && times == 1 && plus == 0 {
			return c
		}
		if ok && first == nil {
			first = c
		}
	}
	return first
}

// foreign says whether a word that quantity does not explain is another
// quantity's: the temperature of a motor is not the water's.
func foreign(words []string, quantity string) bool {
	return slices.ContainsFunc(words, func(w string) bool {
		of, other := false, false
		for _, p := range phrases() {
			if slices.ContainsFunc(p.stems, func(s string) bool { return begins(w, s) }) {
				of = of || p.quantity == quantity
				other = other || len(p.stems) == 1
			}
		}
		return other && !of && !isOf("filler", w)
	})
}

// becomes fills in a match with column c.
func (m Match) becomes(h heading, c *session.Column, sure, why string, cells []string) Match {
	if q := c.Quantity; q == "clock" || q == "minute" || q == "date" {
		return m.time(h, c, sure, why, cells)
	}
	units := columnsOf(c.Quantity)
	from, _ := findUnit(c.Unit)
	switch {
	case why == ownWords:
	case h.unit != nil:
		from = *h.unit
	case c.Unit == "" || every(cells, func(s string) bool { _, u := cutUnit(s); return u != nil }):
	case len(units) == 1:
		sure, why, m.choices = Likely, "words; "+c.Unit+" assumed", inUnits(c)
	default:
		return m.open("no unit:", units...)
	}
	if f, ok := from.fits(c); ok && c.Unit != "" {
		m.Times, m.Plus = f.to(c)
	}
	m.To, m.Sure, m.Why = c.Name, sure, why
	return m
}

// columnsOf are the names of a quantity's columns.
func columnsOf(quantity string) (names []string) {
	for _, c := range session.Columns() {
		if c.Quantity == quantity {
			names = append(names, c.Name)
		}
	}
	return names
}

// oneEach lets one heading stand for each column: the surest. Where two are as
// sure a person must say. Notes are joined, and columns of one thruster each
// where none gives all of them.
func oneEach(all []Match) {
	rank := map[string]int{Sure: 2, Likely: 1}
	for i := range all {
		for k := range all {
			a, b := &all[i], &all[k]
			if a.Drive != "" && b.Drive == "" && rank[b.Sure] > 0 && b.To == "thrusters" {
				a.To, a.Drive, a.Sure, a.Why = "note", "", Likely, problem.Quote(b.Heading)+" gives thrusters"
			}
		}
	}
	for i := range all {
		a := &all[i]
		for k := range all {
			b := &all[k]
			switch {
			case i == k || rank[a.Sure] == 0 || rank[b.Sure] == 0 || !a.shares(b) || a.Drive != b.Drive:
			case rank[b.Sure] > rank[a.Sure]:
				a.Why, a.To, a.Sure = fmt.Sprintf("%s gives %s more surely", problem.Quote(b.Heading), b.To), "note", Likely
			case rank[b.Sure] == rank[a.Sure]:
				why := fmt.Sprintf("%s and %s both mean %s: which?", problem.Quote(a.Heading), problem.Quote(b.Heading), a.To)
				choices := []string{a.To, b.To, "note"}
				a.To, a.Sure, a.Why, a.choices, b.To, b.Sure, b.Why, b.choices = Asked, Asked, why, choices, Asked, Asked, why, choices
			}
		}
	}
}

func quantityOf(column string) string {
	if c, ok := session.Find(column); ok {
		return c.Quantity
	}
	return column
}
