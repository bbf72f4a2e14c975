package importer

import (
	_ "embed"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"sagline/session"
	"sagline/session/wording"
)

//go:embed vocabulary.txt
var vocabulary string

// A phrase is what headings call a quantity.
type phrase struct {
	quantity string
	stems    []string
}

// phrases are the vocabulary taken apart.
var phrases = sync.OnceValue(func() (out []phrase) {
	for quantity, all := range wording.Table(vocabulary) {
		for p := range strings.SplitSeq(all, ",") {
			out = append(out, phrase{quantity, strings.Fields(p)})
		}
	}
	return out
})

// shortest is how many letters a word has at least that is cut short.
const shortest = 5

// covers is how many words of a heading a phrase explains, and what share of
// their letters: thrusters are rather a thruster than a thrust. Both are 0
// where one of its stems is missing.
func (p phrase) covers(words []string) (n int, letters float64) {
	used := make([]bool, len(words))
	stems, whole := 0, 0
next:
	for _, stem := range p.stems {
		for i, w := range words {
			if !used[i] && (wording.Begins(w, stem) || len(w) >= shortest && strings.HasPrefix(stem, w)) {
				used[i] = true
				stems, whole = stems+min(len(stem), len(w)), whole+len(w)
				continue next
			}
		}
		return 0, 0
	}
	return len(p.stems), float64(stems) / float64(whole)
}

// A heading is what stands above a column of a foreign table, taken apart.
type heading struct {
	text  string // as it stands; "column 3" where nothing does
	words []string
	whole []string // words with the unit taken for one
	unit  *wording.Unit
	line  int    // of the file, where the table lies across it
	lone  string // what cells that stood alone in their rows become, which have no heading
	noted bool   // it says that it is for notes
}

// longestHeading bounds the work on one; no heading says more.
const longestHeading = 200

// readHeading takes a heading apart.
func readHeading(text string) heading {
	short := text[:min(len(text), longestHeading)]
	h := heading{text: text, words: wording.Words(short), whole: wording.Words(short)}
	if name, u, ok := splitUnit(short); ok {
		h.unit, h.words = &u, wording.Words(name)
	}
	return h
}

// in is the heading with another unit.
func (h heading) in(u *wording.Unit) heading { h.unit = u; return h }

// unitBeside says whether a unit stands beside the heading's words.
func (h heading) unitBeside() bool { return h.unit != nil && len(h.words) < len(h.whole) }

// unitIs says whether the heading has a unit of a dimension.
func (h heading) unitIs(dimension string) bool {
	return h.unit != nil && h.unit.Dimension == dimension
}

// splitUnit finds the unit that a heading ends with or has in brackets.
func splitUnit(text string) (name string, u wording.Unit, ok bool) {
	if open := strings.LastIndexAny(text, "([{"); open >= 0 {
		if n := strings.IndexAny(text[open:], ")]}"); n > 0 {
			if u, ok := wording.FindUnit(text[open+1 : open+n]); ok {
				return text[:open] + " " + text[open+n+1:], u, true
			}
		}
	}
	if u, ok := wording.FindUnit(text); ok { // "Volts" is a name too
		return text, u, true
	}
	for i, r := range text { // the longest end that is a unit
		if !unicode.IsSpace(r) && !strings.ContainsRune("_/,:-.", r) {
			continue
		}
		if u, ok := wording.FindUnit(text[i+utf8.RuneLen(r):]); ok {
			return text[:i], u, true
		}
	}
	return text, wording.Unit{}, false
}

// A candidate is a column that a heading may stand for.
type candidate struct {
	column *session.Column
	score  float64
	rest   int // words that it does not explain
}

// candidates are the columns whose words explain a heading best, one of each
// quantity; more than one where several do alike.
func candidates(h heading, words []string) (best []candidate) {
	count := 0
	for _, w := range words {
		if !wording.Is("filler", w) {
			count++
		}
	}
	of := map[string]bool{}
	for _, p := range phrases() {
		n, letters := p.covers(words)
		if n == 0 {
			continue
		}
		c := candidate{column: columnFor(p.quantity, h.unit), rest: max(0, count-n)}
		c.score = float64(n) - 0.3*float64(c.rest) + 0.1*letters // common practice, no source
		switch {
		case c.column == nil:
		case len(best) == 0 || c.score > best[0].score:
			best, of = []candidate{c}, map[string]bool{p.quantity: true}
		case c.score == best[0].score && !of[p.quantity]:
			best, of[p.quantity] = append(best, c), true
		}
	}
	return best
}

// columnFor is a quantity's column for a unit: in that very unit, else its
// first; nil where they do not go together.
func columnFor(quantity string, u *wording.Unit) (first *session.Column) {
	for _, c := range columnsOf(quantity) {
		if u == nil {
			return c
		}
		switch times, plus, ok := u.Into(c); {
		case ok && times == 1 && plus == 0:
			return c
		case ok && first == nil:
			first = c
		}
	}
	return first
}

// foreign says whether a word that quantity does not explain is another
// quantity's: the temperature of a motor is not the water's.
func foreign(words []string, quantity string) bool {
	for _, w := range words {
		of, other := false, false
		for _, p := range phrases() {
			for _, stem := range p.stems {
				if wording.Begins(w, stem) {
					of = of || p.quantity == quantity
					other = other || len(p.stems) == 1
				}
			}
		}
		if other && !of && !wording.Is("filler", w) {
			return true
		}
	}
	return false
}
