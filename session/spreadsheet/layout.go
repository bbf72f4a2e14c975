package spreadsheet

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session/wording"
)

// fewestAcross is the least number of known headings in the first column for a table to
// be taken as Across: common practice, no source.
const fewestAcross = 3

// findLayout finds the rows of headings, sorts out what is above and below them, and
// transposes the table if its headings are in the first column.
func (s *Sheet) findLayout() error {
	var lines []int
	for _, r := range s.Rows {
		lines = append(lines, r.Line)
	}
	first, last, named := findHeadings(s.Rows)
	if turned := transposed(s.Rows); len(s.Rows) <= mostHeadings {
		if f, l, n := findHeadings(turned); n > named && n >= fewestAcross {
			s.Rows, s.Across, first, last = turned, true, f, l
		}
	}
	if last < 0 {
		return problemAt(s.File, 0, "", "found no line of headings, want one above the cells")
	}
	if len(s.Rows[last].Cells) > mostHeadings {
		return problemAt(s.File, s.Rows[last].Line, "", "found more than %d headings, want at most that many", mostHeadings)
	}
	above, headings, below := s.Rows[:first], s.Rows[first:last+1], s.Rows[last+1:]
	width := 0
	for _, r := range s.Rows {
		width = max(width, len(r.Cells))
	}
	names := joined(headings)
	for i, text := range append(names, make([]string, max(0, width-len(names)))...) {
		s.add(text)
		if s.Across {
			s.Headings[i].Line = lines[i]
		}
	}
	if n := first - 1; n >= 0 && s.namesNext(above[n]) && slices.ContainsFunc(below, s.namesNext) { // the first dive
		below, above = append(slices.Clone(above[n:]), below...), above[:n]
	}
	for _, r := range above {
		s.Account.Add("above the headings", filled(r.Cells))
	}
	for _, r := range headings {
		s.Account.Headings += filled(r.Cells)
	}
	s.take(below, headings[len(headings)-1].Cells)
	return nil
}

// take keeps the rows below the headings, except repeated headings and totals. Cells that
// are alone in their rows get columns of their own.
func (s *Sheet) take(below []Row, headings []string) {
	s.Rows = nil
	for _, r := range below {
		switch {
		case len(r.Cells) > 0 && slices.Equal(r.Cells, headings):
			s.Account.Add("headings once more", filled(r.Cells))
		case isTotal(r.Cells):
			s.Account.Add("totals", filled(r.Cells))
		default:
			s.Rows = append(s.Rows, r)
		}
	}
	all := s.Rows
	s.Rows = slices.DeleteFunc(slices.Clone(all), func(r Row) bool { return s.alone(r) >= 0 })
	dated := false
	said := make([]bool, len(s.Headings)) // headings of notes or services, under which lone texts stay
	for i := range s.Headings {
		h := &s.Headings[i]
		for _, c := range Candidates(*h, h.Words) {
			h.Noted = h.Noted || c.Column.Name == "note" && c.Rest == 0
			dated = dated || c.Column.Name == "date"
			said[i] = said[i] || h.Noted || c.Column.Name == "serviced"
		}
		dated = dated || Every(s.Column(h.Text, nil), func(text string) bool {
			day, _ := wording.SplitStamp(text)
			return isDate(day, 0)
		})
	}
	s.Rows = all
	names, notes := -1, -1
	for k, r := range s.Rows {
		i := s.alone(r)
		switch {
		case i < 0 || said[i]:
		case namesDive(r.Cells[i]) && !dated:
			s.Rows[k].Cells = s.moved(&names, "line above a dive", NamesDive, r.Cells[i])
		default:
			s.Rows[k].Cells = s.moved(&notes, "line between", BetweenLines, r.Cells[i])
		}
	}
}

// moved returns a row whose only cell is moved to a column for such cells, which is added
// on first use.
func (s *Sheet) moved(column *int, heading string, lone Lone, text string) []string {
	if *column < 0 {
		*column = len(s.Headings)
		s.add(heading)
		s.Headings[*column].Lone, s.Headings[*column].Noted = lone, true
	}
	return append(make([]string, *column), text)
}

// add adds a heading. An empty or repeated one has the number of its column appended.
func (s *Sheet) add(text string) {
	text = strings.Join(strings.Fields(text), " ")
	for text == "" || s.Has(text) {
		text = strings.TrimSpace(fmt.Sprintf("%s column %d", text, len(s.Headings)+1))
	}
	s.Headings = append(s.Headings, ReadHeading(text))
}

// alone returns the index of a row's only cell if that is a note between the lines, of
// several words, or names the dive that follows; else −1.
func (s *Sheet) alone(r Row) int {
	i := slices.IndexFunc(r.Cells, func(t string) bool { return t != "" })
	if i < 0 || len(s.Headings) == 1 || filled(r.Cells) > 1 {
		return -1
	}
	long := slices.DeleteFunc(wording.Words(r.Cells[i]), func(w string) bool { return len(w) < 3 || strings.ContainsAny(w, "0123456789") })
	if len(long) < 2 && !namesDive(r.Cells[i]) {
		return -1
	}
	return i
}

// namesNext reports whether a row names the dive below it.
func (s *Sheet) namesNext(r Row) bool {
	i := s.alone(r)
	if i < 0 {
		return false
	}
	_, day := NamedIn(r.Cells[i])
	return day != ""
}

// transposed turns the first rows into columns.
func transposed(rows []Row) (out []Row) {
	for k, r := range rows[:min(len(rows), mostHeadings)] {
		for i, text := range r.Cells {
			if i == len(out) {
				out = append(out, Row{Line: i + 1})
			}
			if o := &out[i]; text != "" {
				o.Cells = append(o.Cells, make([]string, k+1-len(o.Cells))...)
				o.Cells[k] = text
			}
		}
	}
	return out
}

// findHeadings finds the first and last row of the headings: the row with most cells that
// name a column, or else most text, and adjacent rows if joining them explains more. named
// counts the cells that name a column. last is −1 if there are no rows.
func findHeadings(rows []Row) (first, last, named int) {
	first, last = 0, -1
	most := -1
	for i, r := range rows[:min(len(rows), preamble)] {
		if n, _, texts := understood(r.Cells); n*mostHeadings+texts > most {
			first, last, named, most = i, i, n, n*mostHeadings+texts
		}
	}
	if last < 0 {
		return first, last, named
	}
	at := last
	_, best, _ := understood(rows[at].Cells)
	for _, c := range [][2]int{{at - 1, at}, {at, at + 1}, {at - 1, at + 1}} {
		if c[0] < 0 || c[1] >= len(rows) || slices.ContainsFunc(rows[c[0]:c[1]+1], func(r Row) bool { return filled(r.Cells) < 2 || slices.ContainsFunc(r.Cells, startsWithDigit) }) {
			continue
		}
		if _, n, _ := understood(joined(rows[c[0] : c[1]+1])); n > best {
			first, last, best = c[0], c[1], n
		}
	}
	return first, last, named
}

// understood counts cells that name a column, cells whose words the column all explains,
// twice if a unit is beside them, and other cells of text.
func understood(cells []string) (named, explained, texts int) {
	for _, c := range cells[:min(len(cells), mostHeadings)] {
		h := ReadHeading(c)
		best := Candidates(h, h.Words)
		switch {
		case len(c) <= LongestHeading && !startsWithDigit(c) && !namesDive(c) && len(best)+len(Candidates(h, h.Whole)) > 0:
			named++
		case c != "" && !strings.ContainsAny(c, "0123456789"):
			texts++
		}
		if len(best) > 0 && best[0].Rest == 0 {
			explained++
			if h.UnitBeside() {
				explained++
			}
		}
	}
	return named, explained, texts
}

func startsWithDigit(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// joined joins rows of headings into one. A heading of an upper row also applies to the
// empty cells after it that have something below.
func joined(rows []Row) []string {
	out := slices.Clone(rows[len(rows)-1].Cells)
	for k := len(rows) - 2; k >= 0; k-- {
		above, upper := "", rows[k].Cells
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

// isTotal reports whether a row is a total, by its first word.
func isTotal(cells []string) bool {
	i := slices.IndexFunc(cells, func(c string) bool { return c != "" })
	if i < 0 {
		return false
	}
	w := wording.Words(cells[i])
	return len(w) > 0 && len(w) <= 3 && wording.Is("total", w[0]) && !strings.ContainsAny(cells[i], "0123456789")
}
