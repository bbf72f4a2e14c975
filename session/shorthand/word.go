package shorthand

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"sagline/session"
	"sagline/session/problem"
	"sagline/session/wording"
)

var (
	date  = regexp.MustCompile(`^\d{1,4}([-/]\d\d?[-/]|\.\d\d?\.)\d{0,4}$`)
	clock = regexp.MustCompile(`^\d?\d:\d\d(:\d\d)?$`)
)

// word reads the next word and the words that belong to it.
func (s *scan) word() error {
	w := s.words[s.at]
	s.at++
	switch {
	case strings.EqualFold(w.text, "note"): // takes the rest of the line
		s.at = len(s.words)
		return s.put(w, session.Named("note"), strings.TrimSpace(s.text[w.end:]))
	case date.MatchString(w.text):
		return s.named(w, session.Named("date"), w.text)
	case clock.MatchString(w.text):
		return s.put(w, session.Named("time"), w.text)
	}
	if digits, unit, ok := number(w.text); ok && w.thrusters == "" {
		s.number(w, digits, unit)
		return nil
	}
	if w.text == notMeasured {
		s.number(w, notMeasured, "")
		return nil
	}
	if text, ok := strings.CutSuffix(w.text, "="); ok && s.column(text) != nil {
		w.text = text
	}
	if name, value, ok := strings.Cut(w.text, "="); ok && s.column(name) != nil && value != "" && isOwnColumn(s.column(name)) {
		s.at--
		s.words[s.at] = word{text: value, start: w.start + len(name) + 1, end: w.end}
		return s.free(w, s.column(name))
	} else if ok && s.column(name) != nil && value != "" {
		return s.given(w, s.column(name), value)
	}
	if c := s.column(w.text); c != nil && isOwnColumn(c) {
		return s.free(w, c)
	} else if c != nil && s.takes(c) {
		s.at++
		text := s.value(s.words[s.at-1].text)
		return s.given(word{text: text, start: w.start, end: s.words[s.at-1].end}, c, text)
	}
	return s.plain(w)
}

// number adds a number, with its unit from the same word or the next, to the items.
func (s *scan) number(w word, digits, unit string) {
	if unit == "" && s.at < len(s.words) {
		if next := s.words[s.at]; next.thrusters == "" && s.column(next.text) == nil && wording.IsUnit(next.text) {
			unit, w.end = next.text, next.end
			w.text += " " + next.text
			s.at++
		}
	}
	s.out.Named = s.out.Named && unit != ""
	s.items = append(s.items, item{w, digits, unit, nil})
}

// column finds a column by its name or, if it has a unit, by the name's first word;
// columns of the log come first.
func (s *scan) column(text string) *session.Column {
	text = strings.ToLower(text)
	if text == "light" {
		text = "lights"
	}
	if c, ok := session.Find(text); ok {
		return c
	}
	for _, list := range [][]*session.Column{s.Columns, session.Columns()} {
		for _, c := range list {
			first, _, _ := strings.Cut(c.Name, "_")
			if c.Unit != "" && (text == first || text == c.Stem()) || isOwnColumn(c) && strings.EqualFold(text, c.Name) {
				return c
			}
		}
	}
	return nil
}

// isOwnColumn reports whether a column is one of the log's own.
func isOwnColumn(c *session.Column) bool { _, known := session.Find(c.Name); return !known }

// free reads the text of a column of the log's own, which ends at the next column's name.
func (s *scan) free(w word, c *session.Column) error {
	from := s.at
	for s.at < len(s.words) && s.column(s.words[s.at].text) == nil && !strings.EqualFold(s.words[s.at].text, "note") {
		s.at++
	}
	if from == s.at {
		return s.wrong(w, c.Name+": found nothing, want what it was")
	}
	w.end = s.words[s.at-1].end
	return s.put(w, c, strings.TrimSpace(s.text[s.words[from].start:w.end]))
}

// takes reports whether the next word can be a cell of column c.
func (s *scan) takes(c *session.Column) bool {
	if s.at >= len(s.words) {
		return false
	}
	next := s.words[s.at].text
	_, _, is := number(next)
	switch {
	case next == notMeasured:
		return true
	case c.Unit != "":
		return is
	case c.Quantity == "held" || c.Quantity == "lights":
		return slices.Contains([]string{"y", "yes", "n", "no", "on", "off", "x"}, strings.ToLower(next))
	}
	return true
}

// value returns the word of a cell together with a unit in the next word.
func (s *scan) value(text string) string {
	if _, unit, is := number(text); is && unit == "" && s.at < len(s.words) && s.words[s.at].thrusters == "" && wording.IsUnit(s.words[s.at].text) {
		s.at++
		return text + s.words[s.at-1].text
	}
	return text
}

// given sets a cell of a column that the line names.
func (s *scan) given(w word, c *session.Column, text string) error {
	s.items = append(s.items, item{w, text, "", c})
	err := s.named(w, c, text)
	if u := (*Unread)(nil); errors.As(err, &u) {
		u.column = c.Name
	}
	return err
}

// named sets a cell of a column from what was typed.
func (s *scan) named(w word, c *session.Column, text string) error {
	cell, err := s.Cell(c, text)
	if err != nil {
		return s.wrong(w, c.Name+": "+err.Error())
	}
	return s.put(w, c, cell)
}

// plain reads a word that says both the column and the cell.
func (s *scan) plain(w word) error {
	thrusters := session.Named("thrusters")
	lower := strings.ToLower(w.text)
	_, serviced := session.Services(services(lower))
	switch {
	case s.Yes != nil && (lower == "y" || lower == "yes"):
		return s.named(w, s.Yes, lower)
	case lower == "held":
		return s.put(w, session.Named("held"), "yes")
	case lower == "lights" || lower == "light" || lower == "on":
		return s.put(w, session.Named("lights"), "on")
	case w.thrusters != "":
		s.items = append(s.items, item{w, "", "", thrusters})
		return s.put(w, thrusters, w.thrusters)
	case serviced:
		return s.put(w, session.Named("serviced"), services(lower))
	}
	if len(s.Thrusters) == 0 && s.out.Row["thrusters"] == "" {
		return s.put(w, thrusters, w.text)
	}
	return s.wrong(w, "found "+problem.Quote(s.said(w))+", want thrusters ("+strings.Join(s.Thrusters, ", ")+", off), a number, a column or note"+
		nearest(w.text, append(session.ColumnNames(), s.Thrusters...)))
}

// nearest suggests what a word may be meant for. Words and names of fewer than
// shortestSuggestion letters are left out, since any is near to them.
func nearest(word string, known []string) string {
	return problem.Suggest(word, slices.DeleteFunc(known, func(k string) bool {
		return utf8.RuneCountInString(k) < shortestSuggestion || utf8.RuneCountInString(word) < shortestSuggestion
	}))
}

// shortestSuggestion is one more than the letters that may differ in a suggestion.
const shortestSuggestion = 3
