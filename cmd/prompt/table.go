package prompt

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"sagline/plotting"
	"sagline/session"
)

// show prints the dive so far, its newest line last.
func (v *Interview) show() {
	lines := append(append([]session.Row{}, v.before...), v.lines...)
	numbers := make([]int, len(lines))
	for i := range numbers {
		numbers[i] = i + 1
	}
	v.Say("\n%s\n", Table(numbers, lines, v.Width))
}

// Table shows numbered lines in the columns that they fill, in at most width
// columns of the terminal: what does not fit is left out from the end and said
// so.
func Table(numbers []int, lines []session.Row, width int) string {
	var names []string
	for _, c := range session.Columns() {
		for _, e := range lines {
			if e[c.Name] != "" && c.Name != "dive" && c.Name != "date" {
				names = append(names, c.Name)
				break
			}
		}
	}
	for n := len(names); ; n-- {
		text := grid(numbers, lines, names[:n])
		if n <= 1 || widest(text) <= max(width, 40) {
			if left := names[n:]; len(left) > 0 {
				text += "not shown: " + strings.Join(left, ", ") + "\n"
			}
			return text
		}
	}
}

func grid(numbers []int, lines []session.Row, names []string) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 4, 1, ' ', 0)
	heads := [2][]string{}
	for _, n := range names {
		word, unit := n, ""
		if c, _ := session.Find(n); c.Unit != "" {
			i := strings.IndexByte(n, '_')
			if i > 0 {
				word, unit = n[:i], n[i+1:]
			}
		}
		heads[0], heads[1] = append(heads[0], word), append(heads[1], unit)
	}
	for _, h := range heads {
		fmt.Fprintf(w, " \t%s\n", strings.Join(h, "\t"))
	}
	for i, e := range lines {
		cells := make([]string, len(names))
		for k, n := range names {
			cells[k] = short(e[n])
		}
		fmt.Fprintf(w, "%d\t%s\n", numbers[i], strings.Join(cells, "\t"))
	}
	_ = w.Flush() // into memory
	var out strings.Builder
	for line := range strings.Lines(b.String()) {
		out.WriteString(strings.TrimRight(line, " \n") + "\n")
	}
	return out.String()
}

// longestCell is how much of a cell a table has room for.
const longestCell = 19

// short is a cell cut to what a table has room for.
func short(s string) string {
	return plotting.SafeText(strings.Join(strings.Fields(strings.ReplaceAll(s, " + ", "+")), " "), longestCell)
}

func widest(text string) int {
	most := 0
	for l := range strings.Lines(text) {
		most = max(most, utf8.RuneCountInString(strings.TrimRight(l, " \n")))
	}
	return most
}
