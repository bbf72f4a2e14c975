package importer

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

//go:embed vocabulary.txt
var vocabulary string

//go:embed words.txt
var wordLists string

// listed goes through the lines of a table of words: a name, then its words.
func listed(table string) func(yield func(name, words string) bool) {
	return func(yield func(name, words string) bool) {
		for line := range strings.Lines(table) {
			if name, words, ok := strings.Cut(line, ": "); ok && !strings.HasPrefix(line, "#") && !yield(name, words) {
				return
			}
		}
	}
}

// phrases are the vocabulary taken apart.
var phrases = sync.OnceValue(func() (out []phrase) {
	for quantity, all := range listed(vocabulary) {
		for p := range strings.SplitSeq(all, ",") {
			out = append(out, phrase{quantity, strings.Fields(p)})
		}
	}
	return out
})

type phrase struct {
	quantity string
	stems    []string
}

var lists = sync.OnceValue(func() map[string][]string {
	out := map[string][]string{}
	for name, words := range listed(wordLists) {
		out[name] = strings.Fields(words)
	}
	return out
})

// words is a list of words.txt.
func words(list string) []string { return lists()[list] }

// isOf says whether a word is in a list of words.txt.
func isOf(list, word string) bool { return slices.Contains(words(list), word) }

// stemOf says whether a word begins with a stem of a list.
func stemOf(list, word string) bool {
	return slices.ContainsFunc(words(list), func(s string) bool { return begins(word, s) })
}

// stemLength is how long a stem is at least to begin a longer word.
const stemLength = 4

func begins(word, stem string) bool {
	return word == stem || len(stem) >= stemLength && strings.HasPrefix(word, stem)
}

// covers is how many words of a heading a phrase explains, and what share of
// their letters: thrusters are rather a thruster than a thrust. Both are 0
// where one of its stems is missing.
func (p phrase) covers(words []string) (n int, letters float64) {
	used := make([]bool, len(words))
	stems, whole := 0, 0
next:
	for _, stem := range p.stems {
		for i, w := range words {
			if !used[i] && (begins(w, stem) || len(w) > stemLength && strings.HasPrefix(stem, w)) { // cut short
				used[i] = true
				stems, whole = stems+min(len(stem), len(w)), whole+len(w)
				continue next
			}
		}
		return 0, 0
	}
	return len(p.stems), float64(stems) / float64(whole)
}

// wordsOf are a text's words: lower case, without accents, cut where a capital
// follows a small letter.
func wordsOf(text string) []string {
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

func folded(s string) string { return strings.Join(wordsOf(s), " ") }

// A heading is what stands above a column of a foreign table, taken apart.
type heading struct {
	text  string // as it stands; "column 3" where nothing does
	words []string
	whole []string // words with the unit taken for one
	unit  *unit
	line  int  // of the file, where the table lies across it
	noted bool // its words say that it is for notes
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
