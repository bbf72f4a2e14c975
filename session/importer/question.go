package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
)

// A Question is what a person must say before anything is written. It stands
// as "?" in the mapping; a date for the whole file stands nowhere.
type Question struct {
	Text    string
	Choices []string // of the answers, the likeliest first; none: any text
	Given   string   // the column that the answer gives for every line, "" where it is the mapping's

	key string // of the mapping, "column.HEADING" for what a heading becomes
	m   *Mapping
	set func(answer string) error
}

// Answer writes an answer into the mapping; its error says what is wanted.
func (q *Question) Answer(text string) error {
	if len(q.Choices) > 0 && !slices.Contains(q.Choices, text) {
		return fmt.Errorf("found %s, want one of %q", problem.Quote(text), q.Choices)
	}
	if q.Given != "" {
		return nil
	}
	err := q.set(text)
	if err == nil {
		q.m.answered = append(q.m.answered, q.key)
	}
	return err
}

func (c *converter) asks(key, text string, choices []string, set func(string) error) {
	c.out.Asked = append(c.out.Asked, Question{Text: text, Choices: choices, key: key, m: c.m, set: set})
}

// sets is an answer that becomes a key of the mapping.
func sets(key *string) func(string) error {
	return func(a string) error { *key = a; return nil }
}

// ask gathers what the mapping leaves to a person, in the order of its keys.
func (c *converter) ask() {
	m := c.m
	if m.Date == Asked {
		c.asks("date", fmt.Sprintf(`dates such as %s: %q or %q?`, problem.Quote(cmp.Or(m.days(c.s)...)), DayFirst, MonthFirst),
			[]string{DayFirst, MonthFirst}, func(a string) error { m.Date = a; m.findYear(c.s); return nil })
	}
	if m.Year == Asked {
		days := m.days(c.s)
		i := slices.IndexFunc(days, func(text string) bool { _, err := readDate(text, m.Date, 0); return err != nil })
		c.asks("year", fmt.Sprintf("dates without a year such as %s: of which year is the first? (the next begins where one is over half a year back)", problem.Quote(days[max(i, 0)])), nil, func(a string) error {
			if n, err := strconv.Atoi(a); err != nil || n < firstYear || n > lastYear {
				return fmt.Errorf("found %s, want a year such as 2026", problem.Quote(a))
			}
			m.Year = a
			return nil
		})
	}
	if m.Decimal == Asked {
		c.asks("decimal", `numbers with three digits after the mark: decimal "." or ","?`, []string{".", ","}, sets(&m.Decimal))
	}
	if m.Work == Asked {
		c.asks("work", "notes of work done: "+strings.Join(m.works(), "; ")+": take these?", []string{"yes", "no"}, sets(&m.Work))
	}
	if m.Alone == Asked {
		c.asks("alone", "a number alone where other cells of its column have several: is it the first of them?", []string{"first", "note"}, sets(&m.Alone))
	}
	for i := range m.Columns {
		if o := &m.Columns[i]; o.To == Asked && c.s.Has(o.Heading) {
			why := cmp.Or(o.Why, `which column? "" leaves it out`)
			c.asks("column."+o.Heading, problem.Quote(o.Heading)+": "+why, slices.DeleteFunc(append(slices.Clone(o.choices), "note", ""), m.isTaken), func(a string) error {
				o.To, o.Times, o.Plus, o.given = a, 0, 0, true
				return nil
			})
		}
	}
	for _, w := range slices.Sorted(maps.Keys(m.Thrusters)) {
		if m.Thrusters[w] == Asked {
			which := ""
			if len(c.k.Thrusters) > 0 {
				which = " (the vehicle has " + strings.Join(c.k.Thrusters, ", ") + ")"
			}
			c.asks("thrusters."+w, fmt.Sprintf("thruster %q: which is it?%s", w, which), nil, func(a string) error {
				_, unknown := m.drives(a, c.k.Thrusters)
				if m.Thrusters[w] = a; a == "" || len(unknown) > 0 {
					m.Thrusters[w] = Asked
					return fmt.Errorf("found %s, want a thruster%s", problem.Quote(a), which)
				}
				return nil
			})
		}
	}
	c.askBallast()
}

// isTaken says whether a heading becomes one of the columns of a To.
func (m *Mapping) isTaken(to string) bool {
	return m.first(func(c *Match) bool { return c.To != Asked && c.shares(&Match{To: to}) }) != nil
}
