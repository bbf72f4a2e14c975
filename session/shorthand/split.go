package shorthand

import (
	"slices"
	"strings"
	"unicode/utf8"

	"sagline/session/wording"
)

// marks are the characters other than blanks that people write after or between words.
const marks = ",/|:"

// split cuts a line into words; a plus that is not a sign is a word. Two tabs,
// semicolons or equal marks with nothing in between stand for a number that was not
// measured.
func split(text string) (out []word) {
	between := "" // the mark since the last word
	add := func(w word) { out, between = append(out, w), "" }
	apart := func(mark string, at int) {
		if between == mark {
			out = append(out, word{text: notMeasured, start: at, end: at})
		}
		between = mark
	}
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		end := i + size
		switch {
		case r == ' ':
		case r == '\t' || r == ';':
			apart(";", i)
		case plus(text, i):
			add(word{text: "+", start: i, end: end})
		default:
			for end < len(text) && !strings.Contains(" \t;", text[end:end+1]) && !plus(text, end) {
				end++
			}
			trimmed := strings.TrimRight(text[i:end], marks)
			if trimmed != "" {
				add(word{text: strings.TrimSpace(trimmed), start: i, end: end})
			}
			if i += len(trimmed); i < end {
				apart(text[i:i+1], i)
			}
		}
		i = end
	}
	return out
}

// plus reports whether text has a plus at offset at that is not the sign of a number.
func plus(text string, at int) bool {
	if text[at] != '+' {
		return false
	}
	after := strings.TrimLeft(text[at+1:], ".,")
	begins := at == 0 || strings.Contains(" \t;=", text[at-1:at])
	return !begins || after == "" || after[0] < '0' || after[0] > '9'
}

// joined joins the words of a thruster's name, of its direction, and of several
// thrusters into one word.
func (r *Reader) joined(words []word) (out []word) {
	for i := 0; i < len(words); {
		unit := unitAt(words, i)
		begin, way := i, r.leads(words[i:])
		if way != "" {
			i++
		}
		w, n := r.drive(words[i:])
		w.text, w.start = w.text+way, words[begin].start
		for i += n; i < len(words); {
			at := i
			with := words[i].text == "+"
			if with || wording.Joins(words[i].text) {
				at++
			}
			if at == len(words) {
				break
			}
			next, n := r.drive(words[at:])
			if _, own := r.cut(next.text); own == "" {
				next.text += way
			}
			if !with && (unit || !r.names(w) || !r.names(next)) {
				break
			}
			w.text, w.end = w.text+" + "+next.text, next.end
			i = at + n
		}
		out = append(out, w)
	}
	return out
}

// names reports whether a word names thrusters and is not a number.
func (r *Reader) names(w word) bool {
	cell, err := r.drives(w.text)
	return err == nil && cell != "off" && len(r.Thrusters) > 0 && !isNumber(w.text)
}

// leads returns the direction, after a blank, that stands before the names of thrusters, of all of
// which it is; "" if there is none.
func (r *Reader) leads(words []word) string {
	way := strings.ToLower(words[0].text)
	if way != "astern" && way != "down" || len(words) < 2 || r.names(words[0]) || !r.names(words[1]) {
		return ""
	}
	if _, own := r.drive(words[1:]); own > 1 {
		return ""
	}
	return " " + way
}

// drive joins the first word with those after it that belong to a thruster's name or
// say its direction, and returns how many words these are.
func (r *Reader) drive(words []word) (word, int) {
	w, n := words[0], 1
	for _, k := range r.Thrusters {
		if m := len(strings.Fields(k)); m > n && m <= len(words) {
			var said []string
			for _, o := range words[:m] {
				said = append(said, o.text)
			}
			if text := strings.Join(said, " "); r.spelt(text) != "" {
				w, n = word{text: r.spelt(text), start: w.start, end: words[m-1].end}, m
			}
		}
	}
	if n == len(words) {
		return w, n
	}
	last := words[n]
	_, digits := r.exactly(w.text)
	switch lower := strings.ToLower(last.text); {
	case isNumber(w.text) && !digits || strings.EqualFold(w.text, "off"):
		return w, n
	case lower == "astern" || lower == "down":
		w.text += " " + lower
	case wording.Is("reversed", lower) && r.names(w) && !r.names(last):
		w.text += " astern"
	default:
		return w, n
	}
	w.end = last.end
	return w, n + 1
}

// spelt returns the single thruster whose name's words begin with the words of text, at
// least two; "" if there is none or several.
func (r *Reader) spelt(text string) string {
	words := strings.Fields(strings.ToLower(text))
	if len(words) < 2 {
		return ""
	}
	if k, ok := r.exactly(strings.Join(words, " ")); ok {
		return k
	}
	return only(r.Thrusters, func(k string) bool {
		return slices.EqualFunc(strings.Fields(strings.ToLower(k)), words, func(whole, begin string) bool {
			return whole == begin || strings.HasPrefix(whole, begin) && !isNumber(begin)
		})
	})
}

// exactly finds the thruster of a name, regardless of case.
func (r *Reader) exactly(name string) (string, bool) {
	i := slices.IndexFunc(r.Thrusters, func(k string) bool { return strings.EqualFold(k, name) })
	if i < 0 {
		return "", false
	}
	return r.Thrusters[i], true
}

// mayName finds the words that may name thrusters. A word that is also a unit, as s, is
// taken for the unit if it follows a number and another word names thrusters.
func (s *scan) mayName() {
	var may []int
	for i := range s.words {
		w := &s.words[i]
		if isNumber(w.text) || s.column(w.text) != nil || wording.OneOf(w.text, []string{"note", "y", "on"}) {
			continue
		}
		if cell, err := s.drives(w.text); err == nil && (len(s.Thrusters) > 0 || cell == "off") {
			w.thrusters = cell
			may = append(may, i)
		}
	}
	named := slices.DeleteFunc(slices.Clone(may), func(i int) bool { return unitAt(s.words, i) })
	if len(named) == 0 && len(may) > 1 && may[0] == 1 && !strings.ContainsAny(s.words[0].text, ".,") {
		named = may[:1] // "27 v 12.48 v": minute 27, thruster v, 12.48 volts
	}
	for _, i := range may {
		if len(may) > 1 && !slices.Contains(named, i) {
			s.words[i].thrusters = ""
		}
	}
	if len(may) == 0 {
		s.numbered()
	}
}

// unitAt reports whether word i is a unit that follows a number without one.
func unitAt(words []word, i int) bool {
	if i == 0 || !wording.IsUnit(words[i].text) {
		return false
	}
	_, unit, is := number(words[i-1].text)
	return is && unit == ""
}

// numbered finds a number that is a thruster's name: it is in the place that the order
// gives to the thrusters, and only numbers precede it.
func (s *scan) numbered() {
	for i, c := range s.order(s.out.Row) {
		if i >= len(s.words) || c.Quantity != "thrusters" && !isNumber(s.words[i].text) {
			return
		}
		if c.Quantity == "thrusters" {
			s.words[i].thrusters, _ = s.exactly(s.words[i].text)
			return
		}
	}
}
