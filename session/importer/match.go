package importer

import (
	"slices"
	"strings"

	"sagline/session"
)

// How sure a match is.
const (
	Sure   = "sure"   // the words and the unit say so
	Likely = "likely" // the words say so, and something was assumed
	Asked  = "?"      // it is for a person to say
	Unused = "–"
)

// A Match is which column of dives.csv a heading becomes: its numbers times
// Times, then plus Plus. To is "" where it is left out, "?" where a person must
// say, and "date time" for a column that tells both.
type Match struct {
	Heading string
	To      string
	Times   float64 // 0 is 1
	Plus    float64
	Form    string // of text that tells a time: "mm:ss" or "hh:mm"
	Drive   string // the thruster that the column is of; "" unless it has one of its own
	Sure    string // not kept in the mapping's file
	Why     string // likewise
}

// stamp is what Match.To says of a column of dates with times.
const stamp = "date time"

// candidate is a column that a heading may stand for.
type candidate struct {
	column *session.Column
	score  float64
	rest   int // words that it does not explain
}

// match proposes what a heading becomes. has are the columns of the log that
// it goes into; cells are the first under the heading.
func match(h heading, has map[string]*session.Column, cells []string) Match {
	m := Match{Heading: h.text, To: "", Sure: Unused, Times: 1}
	if c, ok := ownName(h.text); ok {
		return m.becomes(h, c, has, Sure, "its own name", cells)
	}
	best := candidates(h, h.words)
	if len(best) == 0 && h.unit != nil {
		h.unit, h.words = nil, h.whole // what looked like a unit was a word
		if best = candidates(h, h.words); len(best) > 0 {
			return m.ask(best, "its words and its unit do not go together")
		}
	}
	switch {
	case len(best) == 0:
		m.Why = "no column has this name"
		return m
	case len(best) > 1 && !timeAlike(best):
		return m.ask(best, "it may mean either")
	}
	c, sure, why := best[0], Sure, "words and unit"
	if h.unit == nil {
		why = "words"
	}
	if c.rest > 0 {
		sure, why = Likely, why+"; rest of the heading not understood"
		if foreign(h.words, c.column.Quantity) {
			return m.ask(best, "part of it means something else")
		}
	}
	return m.becomes(h, c.column, has, sure, why, cells)
}

// ownName is the column that a heading is the very name of; case counts where
// the name is an everyday word.
func ownName(text string) (*session.Column, bool) {
	c, ok := session.Find(strings.ToLower(strings.TrimSpace(text)))
	return c, ok && (c.Unit != "" || c.Name == text)
}

func (m Match) ask(best []candidate, why string) Match {
	names := make([]string, len(best))
	for i, c := range best {
		names[i] = c.column.Name
	}
	m.To, m.Sure, m.Why = Asked, Asked, why+": "+strings.Join(names, " or ")+"?"
	return m
}

// candidates are the columns whose words explain a heading best; more than one
// where several do alike.
func candidates(h heading, words []string) (best []candidate) {
	for _, p := range phrases() {
		n, letters := p.covers(words)
		if n == 0 {
			continue
		}
		c := columnFor(p.quantity, h.unit)
		if c == nil {
			continue
		}
		rest := 0
		for _, w := range words {
			if !filler[w] {
				rest++
			}
		}
		rest = max(0, rest-n)
		best = better(best, candidate{c, float64(n) - 0.3*float64(rest) + 0.1*letters, rest})
	}
	return best
}

func better(best []candidate, c candidate) []candidate {
	switch {
	case len(best) == 0 || c.score > best[0].score:
		return []candidate{c}
	case c.score < best[0].score:
		return best
	}
	if !slices.ContainsFunc(best, func(o candidate) bool { return o.column.Quantity == c.column.Quantity }) {
		best = append(best, c)
	}
	return best
}

// columnFor is a quantity's column for a unit: in that very unit, else its
// first; nil where they do not go together.
func columnFor(quantity string, u *unit) *session.Column {
	var first *session.Column
	for _, c := range session.Columns() {
		if c.Quantity != quantity {
			continue
		}
		if u == nil {
			return c
		}
		f, ok := u.fits(c)
		if !ok {
			continue
		}
		if times, plus := f.to(c); times == 1 && plus == 0 {
			return c
		}
		if first == nil {
			first = c
		}
	}
	return first
}

// timeAlike says whether the candidates are the two columns that tell time,
// between which the cells decide.
func timeAlike(best []candidate) bool {
	return !slices.ContainsFunc(best, func(c candidate) bool { return c.column.Quantity != "clock" && c.column.Quantity != "minute" })
}

// foreign says whether a word that quantity does not explain is another
// quantity's: the temperature of a motor is not the water's.
func foreign(words []string, quantity string) bool {
	own := map[string]bool{}
	for _, p := range phrases() {
		if p.quantity == quantity {
			for _, w := range words {
				for _, s := range p.stems {
					own[w] = own[w] || begins(w, s)
				}
			}
		}
	}
	return slices.ContainsFunc(words, func(w string) bool {
		return !own[w] && !filler[w] && slices.ContainsFunc(phrases(), func(p phrase) bool { return len(p.stems) == 1 && begins(w, p.stems[0]) })
	})
}

// becomes fills in a match with column c, in the unit that the log has where
// it has the quantity already.
func (m Match) becomes(h heading, c *session.Column, has map[string]*session.Column, sure, why string, cells []string) Match {
	if q := c.Quantity; q == "clock" || q == "minute" || q == "date" {
		return m.time(h, c, sure, why, cells)
	}
	from, _ := findUnit(c.Unit)
	switch {
	case sure == Sure && why == "its own name":
	case h.unit != nil:
		from = *h.unit
	case c.Unit == "" || carryUnits(cells):
	case alone(c) || c.Quantity == "run time" || c.Quantity == "run back" || c.Quantity == "climb time":
		sure, why = Likely, "words; "+c.Unit+" assumed"
	default:
		return m.askUnit(c)
	}
	if o := has[c.Quantity]; o != nil {
		c = o
	}
	if f, ok := from.fits(c); ok && c.Unit != "" {
		m.Times, m.Plus = f.to(c)
	}
	m.To, m.Sure, m.Why = c.Name, sure, why
	return m
}

// alone says whether a quantity has one column only, so that its unit goes
// without saying.
func alone(c *session.Column) bool {
	n := 0
	for _, o := range session.Columns() {
		if o.Quantity == c.Quantity {
			n++
		}
	}
	return n == 1
}

func (m Match) askUnit(c *session.Column) Match {
	var names []string
	for _, o := range session.Columns() {
		if o.Quantity == c.Quantity {
			names = append(names, o.Name)
		}
	}
	m.To, m.Sure, m.Why = Asked, Asked, "no unit: "+strings.Join(names, " or ")+"?"
	return m
}

// carryUnits says whether the numbers in cells have units of their own.
func carryUnits(cells []string) bool {
	n := 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		if _, u := cutUnit(c); u == "" {
			return false
		}
		n++
	}
	return n > 0
}
