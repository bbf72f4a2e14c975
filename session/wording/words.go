// Package wording reads units, numbers, dates, thrusters with their directions and work
// on the vehicle as people write them, in the words of five languages. It does not know
// where a text comes from, and leaves ambiguous texts unread.
package wording

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

//go:embed words.txt
var wordLists string

// Table iterates over the lines of a table of words, "name: words"; # begins a comment.
func Table(table string) func(yield func(name, words string) bool) {
	return func(yield func(name, words string) bool) {
		for line := range strings.Lines(table) {
			if name, words, ok := strings.Cut(line, ": "); ok && !strings.HasPrefix(line, "#") && !yield(name, words) {
				return
			}
		}
	}
}

var lists = sync.OnceValue(func() map[string][]string {
	out := map[string][]string{}
	for name, words := range Table(wordLists) {
		out[name] = strings.Fields(words)
	}
	return out
})

// List returns a list of words.txt.
func List(name string) []string { return slices.Clone(lists()[name]) }

// Is reports whether a word is in a list of words.txt.
func Is(list, word string) bool { return slices.Contains(lists()[list], word) }

// Any reports whether one of the words is in a list of words.txt.
func Any(list string, words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return Is(list, w) })
}

// anyStem reports whether one of the words begins with a stem in a list of words.txt.
func anyStem(list string, words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool {
		return slices.ContainsFunc(lists()[list], func(stem string) bool { return Begins(w, stem) })
	})
}

// stemLength is the least length, in bytes, of a stem that matches longer words.
const stemLength = 4

// Begins reports whether a word is equal to a stem, or begins with it and it is long enough.
func Begins(word, stem string) bool {
	return word == stem || len(stem) >= stemLength && strings.HasPrefix(word, stem)
}

// Words splits a text into words in lower case, without accents; a capital after a small
// letter begins a word.
func Words(text string) []string {
	var b strings.Builder
	small := false
	for _, r := range norm.NFD.String(strings.ReplaceAll(text, "ß", "ss")) {
		if unicode.Is(unicode.Mn, r) {
			continue
		}
		if unicode.IsUpper(r) && small {
			b.WriteByte(' ')
		}
		small = unicode.IsLower(r)
		b.WriteRune(unicode.ToLower(r))
	}
	return strings.FieldsFunc(b.String(), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
}

// Folded joins a text's Words by blanks, for comparing texts.
func Folded(s string) string { return strings.Join(Words(s), " ") }

// OneOf reports whether a text is one of some words, regardless of case.
func OneOf(text string, words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, text) })
}
