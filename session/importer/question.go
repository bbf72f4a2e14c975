package importer

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/shorthand"
	"sagline/session/wording"
)

// A Question must be answered by a person before anything is written. It is a "?" in the mapping,
// or asks for a given cell: the date of the whole file.
type Question struct {
	Text    string
	Choices []string // possible answers, the likeliest first; none: any text

	m     *Mapping
	key   string // in the mapping; "column.HEADING" for the target of a heading, "" for none
	value string // the mapping's value of key
	set   func(answer string) (value string, err error)
}

// Offered returns the choices in words, separated by commas.
func (q *Question) Offered() string {
	choices := slices.Clone(q.Choices)
	for i, c := range choices {
		choices[i] = cmp.Or(c, "- (left out)")
	}
	return strings.Join(choices, ", ")
}

// Answer writes an answer into the mapping. The error says what is wanted.
func (q *Question) Answer(text string) error {
	if len(q.Choices) > 0 && !slices.Contains(q.Choices, text) {
		return fmt.Errorf("found %s, want one of %s", problem.Quote(text), q.Offered())
	}
	value, err := q.set(text)
	if err == nil {
		q.value = value
		q.m.answered = append(q.m.answered, *q)
	}
	return err
}

func (c *converter) asks(key, value, text string, choices []string, set func(string) (string, error)) {
	c.out.Asked = append(c.out.Asked, Question{Text: text, Choices: choices, m: c.m, key: key, value: value, set: set})
}

// A setting is a key of the mapping whose value is one of some words, or a year if words is nil.
type setting struct {
	key   string
	value *string
	words []string
}

func (m *Mapping) settings() []setting {
	return []setting{
		{"dives", &m.Dives, []string{ByColumn, ByDate, ByFile}},
		{"date", &m.Date, append(slices.Clone(wording.DateForms), Asked)},
		{"year", &m.Year, nil},
		{"decimal", &m.Decimal, []string{".", ",", Asked}},
		{"work", &m.Work, []string{"yes", "no", Asked}},
		{"alone", &m.Alone, []string{"first", "note", Asked}},
	}
}

// ask adds a question for each "?" of the mapping, in the order of its keys.
func (c *converter) ask() {
	m := c.m
	texts := map[string]string{
		"date":    fmt.Sprintf(`dates such as %s: %q or %q?`, problem.Quote(cmp.Or(m.days(c.s)...)), wording.DayFirst, wording.MonthFirst),
		"year":    fmt.Sprintf("dates without a year such as %s: which year is the first of? %q: that of the date above it; the others go on from there in the order of the file", problem.Quote(m.lacking), wording.YearAbove),
		"decimal": `numbers with three digits after the mark: decimal "." or ","?`,
		"work":    "notes of work done: " + strings.Join(m.works(), "; ") + ": take these?",
		"alone":   "a number alone where other cells of its column have several: is it the first of them?",
	}
	for _, s := range m.settings() {
		if *s.value != Asked {
			continue
		}
		choices := slices.DeleteFunc(s.words, func(w string) bool { return w == Asked || w == wording.YearFirst })
		c.asks(s.key, Asked, texts[s.key], choices, func(a string) (string, error) {
			if s.words == nil && a != wording.YearAbove && !wording.IsYear(a) {
				return "", fmt.Errorf("found %s, want a year such as 2026", problem.Quote(a))
			}
			*s.value = a
			m.findYear(c.s)
			return a, nil
		})
	}
	for i := range m.Columns {
		if o := &m.Columns[i]; o.To == Asked && c.s.Has(o.Heading) {
			why := cmp.Or(o.Why, `which column? "" leaves it out`)
			choices := slices.DeleteFunc(slices.Clone(o.choices), func(to string) bool { return m.isTaken(to, o) })
			if !slices.Contains(choices, "note") {
				choices = append(choices, "note")
			}
			c.asks("column."+o.Heading, Asked, problem.Quote(o.Heading)+": "+why, append(choices, ""), func(a string) (string, error) {
				if o.To, o.given = a, true; a != "thrusters" {
					o.Drive = ""
				}
				if slices.Contains(c.k.Thrusters, a) { // of a column of marks
					o.To, o.Drive = "thrusters", a
				}
				return a, nil
			})
		}
	}
	reader := &shorthand.Reader{Thrusters: c.k.Thrusters}
	for _, w := range slices.Sorted(maps.Keys(m.Thrusters)) {
		if m.Thrusters[w] == Asked {
			text := fmt.Sprintf("thruster %q: which is it? (the vehicle has %s; off where none ran)", w, strings.Join(c.k.Thrusters, ", "))
			c.asks("thrusters."+w, Asked, text, nil, func(a string) (string, error) {
				drives, err := reader.Cell(session.Named("thrusters"), cmp.Or(a, Asked))
				if err == nil {
					m.Thrusters[w] = drives
				}
				return drives, err
			})
		}
	}
	c.askBallast()
}

// isTaken reports whether a heading other than but gives one of the columns of a To.
func (m *Mapping) isTaken(to string, but *Match) bool {
	return m.first(func(c *Match) bool { return c != but && c.To != Asked && c.shares(&Match{To: to}) }) != nil
}

// askBallast asks for the grams of ballast where notes mention ballast without a weight.
func (c *converter) askBallast() {
	for _, text := range slices.Sorted(maps.Keys(c.m.Notes)) {
		if before, open := strings.CutSuffix(c.m.Notes[text], wording.Unweighed); open && c.m.Work != "no" {
			c.asks("notes."+text, c.m.Notes[text], fmt.Sprintf("%q: how many grams, - for taken off? %q for unknown: the note alone", text, ""), nil, func(a string) (string, error) {
				grams, err := (&shorthand.Reader{}).Cell(session.Named("ballast_g"), a)
				if err != nil {
					return "", err
				}
				if c.m.Notes[text] = strings.TrimSuffix(before, wording.And); grams != "" {
					c.m.Notes[text], c.m.Work = before+"ballast_g "+grams, "yes"
				}
				return c.m.Notes[text], nil
			})
		}
	}
}
