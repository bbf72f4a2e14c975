package importer

import (
	"fmt"
	"slices"
	"strings"
)

// named takes the headings apart. One that stands twice is told from the first
// by its number.
func (s *Source) named(cells, below []string) {
	seen := map[string]bool{}
	for i, text := range cells[:filled(cells)] {
		text = strings.Join(strings.Fields(text), " ")
		if text == "" || seen[text] {
			text = strings.TrimSpace(fmt.Sprintf("%s column %d", text, i+1))
		}
		seen[text] = true
		unit := ""
		if i < len(below) {
			unit = below[i]
		}
		s.headings = append(s.headings, readHeading(text, unit))
	}
}

func (s *Source) nameless(width int) {
	for i := range width {
		s.headings = append(s.headings, heading{text: fmt.Sprintf("column %d", i+1)})
	}
}

// headerAt is the row of headings: the first of words that is nearly as wide as
// the table, else half as wide; −1 where numbers come before any.
func headerAt(rows []row) int {
	width, half := usual(rows), -1
	for i, r := range rows[:min(len(rows), preamble)] {
		n := filled(r.cells)
		switch {
		case n < min(2, width) || 2*n < width:
		case !slices.ContainsFunc(r.cells, func(c string) bool { return strings.ContainsFunc(c, isLetter) }), 2*numbers(r.cells) > n:
			return half
		case 5*n >= 4*width:
			return i
		case half < 0:
			half = i
		}
	}
	return half
}

func isLetter(r rune) bool { return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r > 127 }

func numbers(cells []string) (n int) {
	for _, c := range cells {
		if number, _ := cutUnit(c); number != "" {
			if _, err := plain(number, ","); err == nil {
				n++
			} else if _, err := plain(number, "."); err == nil {
				n++
			}
		}
	}
	return n
}

// usual is the commonest width of rows.
func usual(rows []row) int {
	count := map[int]int{}
	width := 0
	for _, r := range rows {
		n := len(r.cells)
		if count[n]++; count[n] > count[width] || count[n] == count[width] && n > width {
			width = n
		}
	}
	return width
}

func widest(rows []row) (n int) {
	for _, r := range rows {
		n = max(n, filled(r.cells))
	}
	return n
}

func filled(cells []string) int {
	n := len(cells)
	for n > 0 && cells[n-1] == "" {
		n--
	}
	return n
}

// allUnits says whether a row names the units of the headings above it.
func allUnits(cells []string) bool {
	n := 0
	for _, c := range cells {
		c = strings.Trim(c, "()[]{} ")
		if c == "" || c == "-" {
			continue
		}
		if _, ok := findUnit(c); !ok {
			return false
		}
		n++
	}
	return n > 0
}

// sample is the first cells under the i-th heading, those that say nothing
// left empty.
func (s *Source) sample(i int, empty []string) []string {
	m := Mapping{Empty: empty}
	out := make([]string, 0, len(s.first))
	for _, r := range s.first {
		if i < len(r.cells) && !m.isEmpty(r.cells[i]) {
			out = append(out, r.cells[i])
		}
	}
	return out
}

// column is all cells read so far under a heading.
func (s *Source) column(name string) []string {
	i := s.index(name)
	if i < 0 {
		return nil
	}
	return s.sample(i, nil)
}
