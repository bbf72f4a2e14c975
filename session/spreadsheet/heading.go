package spreadsheet

import (
	_ "embed"
	"slices"
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

// A Heading is what stands above a column of a table, taken apart.
type Heading struct {
	Text  string // as it stands; "column 3" where nothing does
	Words []string
	Whole []string // words with the unit taken for one
	Unit  *wording.Unit
	Line  int  // of the file, where the table lies across it
	Lone  Lone // what its cells are, where they stood alone in their rows
	Noted bool // its cells are notes as they stand
}

// Lone is what cells are that stood alone in their rows, and have a heading
// that the file does not have.
type Lone int

// What stands alone in a row: the name of the dive below it, or a note.
const (
	NotLone Lone = iota
	NamesDive
	BetweenLines
)

// LongestHeading bounds the work on one; no heading says more.
const LongestHeading = 200

// ReadHeading takes a heading apart.
func ReadHeading(text string) Heading {
	short := text[:min(len(text), LongestHeading)]
	h := Heading{Text: text, Words: wording.Words(short), Whole: wording.Words(short)}
	if name, u, ok := splitUnit(short); ok {
		h.Unit, h.Words = &u, wording.Words(name)
	}
	return h
}

// In is the heading with another unit.
func (h Heading) In(u *wording.Unit) Heading { h.Unit = u; return h }

// UnitBeside says whether a unit stands beside the heading's words.
func (h Heading) UnitBeside() bool { return h.Unit != nil && len(h.Words) < len(h.Whole) }

// UnitIs says whether the heading has a unit of a dimension.
func (h Heading) UnitIs(dimension string) bool {
	return h.Unit != nil && h.Unit.Dimension == dimension
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

// A Candidate is a column that a heading may stand for.
type Candidate struct {
	Column *session.Column
	Rest   int // words that it does not explain

	score float64
}

// Candidates are the columns whose words explain a heading best, one of each
// quantity; more than one where several do alike.
func Candidates(h Heading, words []string) (best []Candidate) {
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
		c := Candidate{Column: ColumnFor(p.quantity, h.Unit), Rest: max(0, count-n)}
		c.score = float64(n) - 0.3*float64(c.Rest) + 0.1*letters // common practice, no source
		switch {
		case c.Column == nil:
		case len(best) == 0 || c.score > best[0].score:
			best, of = []Candidate{c}, map[string]bool{p.quantity: true}
		case c.score == best[0].score && !of[p.quantity]:
			best, of[p.quantity] = append(best, c), true
		}
	}
	return best
}

// ColumnFor is a quantity's column for a unit: in that very unit, else its
// first; nil where they do not go together.
func ColumnFor(quantity string, u *wording.Unit) (first *session.Column) {
	for _, c := range ColumnsOf(quantity) {
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

// Foreign says whether a word that quantity does not explain is another
// quantity's: the temperature of a motor is not the water's.
func Foreign(words []string, quantity string) bool {
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

// ColumnsOf are a quantity's columns.
func ColumnsOf(quantity string) []*session.Column {
	return slices.DeleteFunc(session.Columns(), func(c *session.Column) bool { return c.Quantity != quantity })
}
