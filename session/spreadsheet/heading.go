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

// A phrase is a name of a quantity in headings, as the stems of its words.
type phrase struct {
	quantity string
	stems    []string
}

// phrases are the phrases of vocabulary.txt.
var phrases = sync.OnceValue(func() (out []phrase) {
	for quantity, all := range wording.Table(vocabulary) {
		for p := range strings.SplitSeq(all, ",") {
			out = append(out, phrase{quantity, wording.Words(p)})
		}
	}
	return out
})

// shortestAbbreviation is the least length, in bytes, of a word that abbreviates a stem.
const shortestAbbreviation = 5

// covers returns how many words of a heading a phrase explains, and which share of their letters
// its stems have: by that, "thrusters" fits thruster better than thrust. Both are 0 if one of the
// stems is missing.
func (p phrase) covers(words []string) (n int, letters float64) {
	used := make([]bool, len(words))
	stems, whole := 0, 0
next:
	for _, stem := range p.stems {
		for i, w := range words {
			if !used[i] && (wording.Begins(w, stem) || len(w) >= shortestAbbreviation && strings.HasPrefix(stem, w)) {
				used[i] = true
				stems, whole = stems+min(len(stem), len(w)), whole+len(w)
				continue next
			}
		}
		return 0, 0
	}
	return len(p.stems), float64(stems) / float64(whole)
}

// A Heading is the parsed heading of a column of a table.
type Heading struct {
	Text  string   // as written; "column 3" if empty
	Words []string // without the unit's
	Whole []string // with the unit's
	Unit  *wording.Unit
	Line  int  // of the file, if the table is Across
	Lone  Lone // kind of the cells, if they were alone in their rows
	Noted bool // its cells go into notes unchanged
}

// Lone is the kind of cells that were alone in their rows. They are under a heading that
// the file does not have.
type Lone int

// Kinds of cells alone in their rows: the name of the dive below, or a note.
const (
	NotLone Lone = iota
	NamesDive
	BetweenLines
)

// LongestHeading bounds the bytes of a heading that are read.
const LongestHeading = 200

// ReadHeading parses a heading.
func ReadHeading(text string) Heading {
	short := text[:min(len(text), LongestHeading)]
	h := Heading{Text: text, Words: wording.Words(short), Whole: wording.Words(short)}
	if name, u, ok := splitUnit(short); ok {
		h.Unit, h.Words = &u, wording.Words(name)
	}
	return h
}

// In returns the heading with another unit.
func (h Heading) In(u *wording.Unit) Heading { h.Unit = u; return h }

// UnitBeside reports whether the heading has a unit apart from its words.
func (h Heading) UnitBeside() bool { return h.Unit != nil && len(h.Words) < len(h.Whole) }

// UnitIs reports whether the heading has a unit of a dimension.
func (h Heading) UnitIs(dimension string) bool {
	return h.Unit != nil && h.Unit.Dimension == dimension
}

// splitUnit finds the unit at the end of a heading or in brackets.
func splitUnit(text string) (name string, u wording.Unit, ok bool) {
	if open := strings.LastIndexAny(text, "([{"); open >= 0 {
		if n := strings.IndexAny(text[open:], ")]}"); n > 0 {
			if u, ok := wording.FindUnit(text[open+1 : open+n]); ok {
				return text[:open] + " " + text[open+n+1:], u, true
			}
		}
	}
	if u, ok := wording.FindUnit(text); ok { // "Volts" is also a name
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
	Rest   int // number of words that it does not explain

	score float64
}

// Candidates lists the columns whose phrases explain words of a heading best, several of
// different quantities if they do so equally well.
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

// ColumnFor returns a quantity's column for a unit: the one in that very unit, else the
// first that the unit converts to, nil for none. Any column fits a nil unit.
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

// Foreign reports whether one of the words names another quantity and does not belong to
// this one, as in the temperature of a motor, which is not that of the water.
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

// ColumnsOf lists a quantity's columns.
func ColumnsOf(quantity string) []*session.Column {
	return slices.DeleteFunc(session.Columns(), func(c *session.Column) bool { return c.Quantity != quantity })
}

// mostFields bounds the words of a line that names a dive and its day: common practice,
// no source.
const mostFields = 10

// NamedIn finds the dive and the day, as written, that a line above a dive names; "" for
// none. A day without its year counts only next to a dive, since it could be any number.
func NamedIn(text string) (dive, day string) {
	fields := strings.Fields(text[:min(len(text), LongestHeading)])
	if !strings.ContainsAny(text, "0123456789") || len(fields) > mostFields {
		return "", ""
	}
	short := ""
	for i, f := range fields {
		for n := range min(3, len(fields)-i) {
			written := strings.Trim(strings.Join(fields[i:i+n+1], " "), "(),:;–-")
			if day == "" && isDate(written, 0) {
				day = written
			}
			if short == "" && isDate(written, wording.AnyYear) && (strings.Count(written, ".") == 2 || strings.ContainsFunc(written, unicode.IsLower)) {
				short = written
			}
		}
		h := ReadHeading(f)
		if best := Candidates(h, h.Whole); i+1 < len(fields) && dive == "" && len(best) == 1 && best[0].Column.Name == "dive" {
			if label := strings.Trim(fields[i+1], "(),:;.–-#"); session.DigitsOnly(label) {
				dive = label
			}
		}
	}
	if dive != "" && day == "" {
		day = short
	}
	return dive, day
}

// namesDive reports whether a text names a dive, or a day among other words.
func namesDive(text string) bool {
	dive, day := NamedIn(text)
	return dive != "" || day != "" && day != text
}

func isDate(text string, year int) bool {
	return slices.ContainsFunc(wording.DateForms, func(form string) bool { _, err := wording.ReadDate(text, form, year); return err == nil })
}

// Every reports whether there are cells, and is holds for each.
func Every(cells []string, is func(string) bool) bool {
	return len(cells) > 0 && !slices.ContainsFunc(cells, func(c string) bool { return !is(c) })
}
