package prompt

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"sagline/plotting"
	"sagline/predict/fit"
	"sagline/predict/newdive"
	"sagline/session"
)

// echo shows a line that is on disk, each reading beside what it should be.
func (v *Interview) echo(i int, row session.Row) {
	_, expected := v.Dive.Line(row)
	v.Say("%s", wrapped(fmt.Sprintf("%d on disk: ", i+1), Items(row, expected), ", ", v.Width))
}

// Items are a row's cells in words, each reading with what it should be.
func Items(row session.Row, expected []fit.Expected) (out []string) {
	for _, c := range session.Columns() {
		text := row[c.Name]
		switch {
		case text == "" || c.Name == "dive" || c.Name == "date":
			continue
		case c.Quantity == "thrusters":
			out = append(out, text)
			continue
		case c.Quantity == "held":
			out = append(out, "held")
			continue
		}
		item := c.Name + " " + text
		if should := newdive.Should(c, row, expected); should != "" {
			item += " (" + should + ")"
		}
		out = append(out, item)
	}
	return out
}

// table shows lines, numbered from 1, in the columns that they fill; what does
// not fit in a width goes into a table below.
func table(lines []session.Row, width int) string {
	var names []string
	for _, c := range session.Columns() {
		for _, e := range lines {
			if e[c.Name] != "" && c.Name != "dive" && c.Name != "date" {
				names = append(names, c.Name)
				break
			}
		}
	}
	var out []string
	for len(names) > 0 {
		n := len(names)
		for n > 1 && widest(grid(lines, names[:n])) > max(width, 40) {
			n--
		}
		out = append(out, grid(lines, names[:n]))
		names = names[n:]
	}
	return strings.Join(out, "\n")
}

func grid(lines []session.Row, names []string) string {
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
			cells[k] = plotting.SafeText(strings.Join(strings.Fields(strings.ReplaceAll(e[n], " + ", "+")), " "), longestCell)
		}
		fmt.Fprintf(w, "%d\t%s\n", i+1, strings.Join(cells, "\t"))
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

func widest(text string) int {
	most := 0
	for l := range strings.Lines(text) {
		most = max(most, utf8.RuneCountInString(strings.TrimRight(l, " \n")))
	}
	return most
}
