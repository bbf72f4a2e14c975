package importer

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// A heading is what stands above a column of a foreign table, taken apart.
type heading struct {
	text  string // as it stands; "column 3" where nothing does
	words []string
	whole []string // words with the unit taken for one
	unit  *unit
}

// longestHeading bounds the work on one; no heading says more.
const longestHeading = 200

// readHeading takes a heading apart.
func readHeading(text string) heading {
	short := text[:min(len(text), longestHeading)]
	h := heading{text: text, words: wordsOf(short), whole: wordsOf(short)}
	if name, u, ok := splitUnit(short); ok {
		h.unit, h.words = &u, wordsOf(name)
	}
	return h
}

// splitUnit finds the unit that a heading ends with or has in brackets.
func splitUnit(text string) (name string, u unit, ok bool) {
	if open := strings.LastIndexAny(text, "([{"); open >= 0 {
		if n := strings.IndexAny(text[open:], ")]}"); n > 0 {
			if u, ok := findUnit(text[open+1 : open+n]); ok {
				return text[:open] + " " + text[open+n+1:], u, true
			}
		}
	}
	if u, ok := findUnit(text); ok { // "Volts" is a name too
		return text, u, true
	}
	for i, r := range text { // the longest end that is a unit
		if !unicode.IsSpace(r) && !strings.ContainsRune("_/,:-.", r) {
			continue
		}
		if u, ok := findUnit(text[i+utf8.RuneLen(r):]); ok {
			return text[:i], u, true
		}
	}
	return text, unit{}, false
}
