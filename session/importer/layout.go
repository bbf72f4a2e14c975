package importer

import (
	"fmt"
	"slices"
	"strings"
)

// fewestAcross is how many headings that are understood make a table lie across
// its file: common practice, no source.
const fewestAcross = 3

// lay finds how the table lies in the file: which lines are its headings, what
// stands above them, and whether headings stand in the first column.
func (s *Source) lay() error {
	var lines []int
	for _, r := range s.rows {
		lines = append(lines, r.line)
	}
	if flat, across := mostUnderstood(s.rows), mostUnderstood(turned(s.rows, preamble)); across > flat && across >= fewestAcross && len(s.rows) <= mostHeadings {
		s.rows, s.Across = turned(s.rows, len(s.rows)), true
	}
	at := headingsAt(s.rows)
	if at < 0 {
		return problemAt(s.File, 0, "", "found no line of headings, want one above the cells")
	}
	if len(s.rows[at].cells) > mostHeadings {
		return problemAt(s.File, s.rows[at].line, "", "found more than %d headings, want at most that many", mostHeadings)
	}
	first, last := s.headingRows(at)
	above, headings, below := s.rows[:first], s.rows[first:last+1], s.rows[last+1:]
	s.name(joined(headings), lines)
	s.sort(above, headings, below)
	return nil
}

// sort keeps the rows below the headings, but those that repeat them or add
// others up.
func (s *Source) sort(above, headings, below []row) {
	for _, r := range headings {
		s.account.Headings += filled(r.cells)
	}
	s.rows = below
	if n := len(above) - 1; n >= 0 && len(s.days()) > 0 && s.alone(above[n]) >= 0 { // which names the first dive
		below, above = append(slices.Clone(above[n:]), below...), above[:n]
	}
	s.account.leave("above the headings", above...)
	s.rows = nil
	for _, r := range below {
		switch {
		case len(r.cells) > 0 && slices.Equal(r.cells, headings[len(headings)-1].cells):
			s.account.leave("headings once more", r)
		case isTotal(r.cells):
			s.account.leave("totals", r)
		default:
			s.rows = append(s.rows, r)
		}
	}
}

// turned is the table with its first rows as columns.
func turned(rows []row, most int) (out []row) {
	for k, r := range rows[:min(len(rows), most)] {
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

func mostUnderstood(rows []row) int {
	if at := headingsAt(rows); at >= 0 {
		return understood(rows[at].cells)
	}
	return 0
}

func understood(cells []string) (n int) {
	for _, c := range cells[:min(len(cells), mostHeadings)] {
		if h := readHeading(c); len(c) <= longestHeading && !startsWithDigit(c) && !namesDive(c) && len(candidates(h, h.whole))+len(candidates(h, h.words)) > 0 {
			n++
		}
	}
	return n
}

// headingsAt is the row of headings: of the first the one with most cells whose
// words are understood, else with most cells without a digit; −1 where there
// are no rows.
func headingsAt(rows []row) int {
	best, most := -1, -1
	for i, r := range rows[:min(len(rows), preamble)] {
		n := understood(r.cells) * mostHeadings
		for _, c := range r.cells {
			if c != "" && !strings.ContainsAny(c, "0123456789") {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// headingRows are the first and last row of the headings about the row at: one
// above it or below it belongs to them where more is then understood.
func (s *Source) headingRows(at int) (first, last int) {
	first, last = at, at
	best := explained(s.rows[at].cells)
	for _, c := range [][2]int{{at - 1, at}, {at, at + 1}, {at - 1, at + 1}} {
		if c[0] < 0 || c[1] >= len(s.rows) || slices.ContainsFunc(s.rows[c[0]:c[1]+1], func(r row) bool {
			return filled(r.cells) < 2 || slices.ContainsFunc(r.cells, startsWithDigit)
		}) {
			continue
		}
		if n := explained(joined(s.rows[c[0] : c[1]+1])); n > best {
			first, last, best = c[0], c[1], n
		}
	}
	return first, last
}

// explained is how many headings have no word that a column does not explain,
// those with a unit beside twice.
func explained(cells []string) (n int) {
	for _, c := range cells[:min(len(cells), mostHeadings)] {
		h := readHeading(c)
		best := candidates(h, h.words)
		switch {
		case len(best) == 0 || best[0].rest > 0:
		case h.unit != nil && len(h.words) < len(h.whole):
			n += 2
		default:
			n++
		}
	}
	return n
}

func startsWithDigit(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r >= '0' && r <= '9' }) == 0
}

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

// name takes the headings apart. One that stands twice is set apart from the
// first by its number, and cells beyond the headings have one too.
func (s *Source) name(cells []string, lines []int) {
	width := len(cells)
	for _, r := range s.rows {
		width = max(width, len(r.cells))
	}
	for i, text := range append(cells, make([]string, width-len(cells))...) {
		text = strings.Join(strings.Fields(text), " ")
		if text == "" || s.Has(text) {
			text = strings.TrimSpace(fmt.Sprintf("%s column %d", text, i+1))
		}
		h := readHeading(text)
		if s.Across {
			h.line = lines[i]
		}
		m := match(h, nil)
		h.noted = m.Sure == Sure && m.To == "note"
		s.headings = append(s.headings, h)
	}
}

// isTotal says whether a row adds others up, by the word that it begins with.
func isTotal(cells []string) bool {
	i := slices.IndexFunc(cells, func(c string) bool { return c != "" })
	if i < 0 {
		return false
	}
	w := wordsOf(cells[i])
	return len(w) > 0 && len(w) <= 3 && isOf("total", w[0]) && !strings.ContainsAny(cells[i], "0123456789")
}
