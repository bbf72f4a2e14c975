package importer

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session/wording"
)

// What a cell counts for among headings: text as such, more than all that where
// a word of it names a column, and more than all that where all words do, which
// counts twice with a unit beside them.
const (
	asText = 1
	inPart = mostHeadings * asText
	inFull = mostHeadings * inPart
)

// fewestAcross is how many headings that are understood make a table lie across
// its file, and mostJoined how many rows headings may stand in: common practice,
// no source.
const (
	fewestAcross = 3
	mostJoined   = 3
)

// lay finds how the table lies in the file: which lines are its headings, what
// stands above them, and whether headings stand in the first column.
func (s *Source) lay() error {
	var lines []int
	for _, r := range s.rows {
		lines = append(lines, r.line)
	}
	first, last, most, _ := findHeadings(s.rows)
	if turned := turned(s.rows); len(s.rows) <= mostHeadings {
		if f, l, n, named := findHeadings(turned); n > most && named >= fewestAcross {
			s.rows, s.Across, first, last = turned, true, f, l
		}
	}
	if last < 0 {
		return problemAt(s.File, 0, "", "found no line of headings, want one above the cells")
	}
	if len(s.rows[last].cells) > mostHeadings {
		return problemAt(s.File, s.rows[last].line, "", "found more than %d headings, want at most that many", mostHeadings)
	}
	above, headings, below := s.rows[:first], s.rows[first:last+1], s.rows[last+1:]
	width := 0
	for _, r := range s.rows {
		width = max(width, len(r.cells))
	}
	names := joined(headings)
	for i, text := range append(names, make([]string, max(0, width-len(names)))...) {
		s.add(text)
		if s.Across {
			s.headings[i].line = lines[i]
		}
	}
	if n := first - 1; n >= 0 && s.namesNext(above[n]) && slices.ContainsFunc(below, s.namesNext) { // the first dive
		below, above = append(slices.Clone(above[n:]), below...), above[:n]
	}
	for _, r := range above {
		s.account.add("above the headings", filled(r.cells))
	}
	for _, r := range headings {
		s.account.Headings += filled(r.cells)
	}
	s.take(below, headings[len(headings)-1].cells)
	return nil
}

// take keeps the rows below the headings, but those that repeat them or add
// others up. Cells that stand alone in their rows have columns of their own.
func (s *Source) take(below []row, headings []string) {
	s.rows = nil
	for _, r := range below {
		switch {
		case len(r.cells) > 0 && slices.Equal(r.cells, headings):
			s.account.add("headings once more", filled(r.cells))
		case isTotal(r.cells):
			s.account.add("totals", filled(r.cells))
		default:
			s.rows = append(s.rows, r)
		}
	}
	all := s.rows
	s.rows = slices.DeleteFunc(slices.Clone(all), func(r row) bool { return s.alone(r) >= 0 })
	dated := false
	said := make([]bool, len(s.headings)) // of headings that are for such texts
	for i := range s.headings {
		h := &s.headings[i]
		m := match(*h, s.column(h.text, nil))
		h.noted = m.To == "note" && m.Sure == Sure
		dated, said[i] = dated || m.gives("date"), h.noted || m.To == "serviced"
	}
	s.rows = all
	names, notes := -1, -1
	for k, r := range s.rows {
		i := s.alone(r)
		switch {
		case i < 0 || said[i]:
		case namesDive(r.cells[i]) && !dated:
			s.rows[k].cells = s.moved(&names, "line above a dive", section, r.cells[i])
		default:
			s.rows[k].cells = s.moved(&notes, "line between", "note", r.cells[i])
		}
	}
}

// moved are the cells of a row whose only one has a column of its own, which is
// made for the first; to is what the column becomes.
func (s *Source) moved(column *int, heading, to, text string) []string {
	if *column < 0 {
		*column = len(s.headings)
		s.add(heading)
		s.headings[*column].lone, s.headings[*column].noted = to, true
	}
	return append(make([]string, *column), text)
}

// add adds a heading. One that stands twice is set apart from the first by its
// number, and one that is empty has it too.
func (s *Source) add(text string) {
	text = strings.Join(strings.Fields(text), " ")
	for text == "" || s.Has(text) {
		text = strings.TrimSpace(fmt.Sprintf("%s column %d", text, len(s.headings)+1))
	}
	s.headings = append(s.headings, readHeading(text))
}

// alone is the index of the one cell of a row that is a text of several words
// with no other beside it, −1 without: a note between the lines, or what names
// the dive that follows.
func (s *Source) alone(r row) int {
	i := slices.IndexFunc(r.cells, func(t string) bool { return t != "" })
	if i < 0 || len(s.headings) == 1 || filled(r.cells) > 1 {
		return -1
	}
	long := slices.DeleteFunc(wording.Words(r.cells[i]), func(w string) bool { return len(w) < 3 || wording.DigitsOnly(w) })
	if len(long) < 2 && !namesDive(r.cells[i]) {
		return -1
	}
	return i
}

// namesNext says whether a row names the dive below it.
func (s *Source) namesNext(r row) bool {
	i := s.alone(r)
	if i < 0 {
		return false
	}
	_, day := namedIn(r.cells[i])
	return day != ""
}

// turned is the table with its first rows as columns.
func turned(rows []row) (out []row) {
	for k, r := range rows[:min(len(rows), mostHeadings)] {
		for i, text := range r.cells {
			if i == len(out) {
				out = append(out, row{line: i + 1})
			}
			if o := &out[i]; text != "" {
				o.cells = append(o.cells, make([]string, k+1-len(o.cells))...)
				o.cells[k] = text
			}
		}
	}
	return out
}

// findHeadings are the first and last row of the headings: of the first rows
// that, or those several joined, that are understood most, how far they are, and
// how many of them name a column. last is −1 where there are no rows.
func findHeadings(rows []row) (first, last, most, named int) {
	first, last, most = 0, -1, -1
	for i := range rows[:min(len(rows), preamble)] {
		for k := i; k < min(len(rows), i+mostJoined); k++ {
			if k > i && slices.ContainsFunc(rows[i:k+1], func(r row) bool { return filled(r.cells) < 2 || slices.ContainsFunc(r.cells, startsWithDigit) }) {
				break
			}
			if n, names := understood(joined(rows[i : k+1])); n > most {
				first, last, most, named = i, k, n, names
			}
		}
	}
	return first, last, most, named
}

// understood is how far cells are understood as headings, and how many of them
// name a column.
func understood(cells []string) (n, named int) {
	for _, c := range cells[:min(len(cells), mostHeadings)] {
		h := readHeading(c)
		best := candidates(h, h.words)
		switch {
		case len(c) > longestHeading || startsWithDigit(c) || namesDive(c) || len(best)+len(candidates(h, h.whole)) == 0:
			if c != "" && !strings.ContainsAny(c, "0123456789") {
				n += asText
			}
			continue
		case len(best) == 0 || best[0].rest > 0:
			n += inPart
		case h.unitBeside():
			n += 2 * inFull
		default:
			n += inFull
		}
		named++
	}
	return n, named
}

func startsWithDigit(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// joined are the headings that rows make: what stands in an upper one
// is above the empty cells after it too, where a lower one has something.
func joined(rows []row) []string {
	out := slices.Clone(rows[len(rows)-1].cells)
	for k := len(rows) - 2; k >= 0; k-- {
		above, upper := "", rows[k].cells
		out = append(out, make([]string, max(0, len(upper)-len(out)))...)
		for i := range out {
			if i < len(upper) && upper[i] != "" {
				above = upper[i]
			}
			if out[i] != "" || i < len(upper) && upper[i] != "" {
				out[i] = strings.TrimSpace(above + " " + out[i])
			}
		}
	}
	return out
}

// isTotal says whether a row adds others up, by the word that it begins with.
func isTotal(cells []string) bool {
	i := slices.IndexFunc(cells, func(c string) bool { return c != "" })
	if i < 0 {
		return false
	}
	w := wording.Words(cells[i])
	return len(w) > 0 && len(w) <= 3 && wording.Is("total", w[0]) && !strings.ContainsAny(cells[i], "0123456789")
}
