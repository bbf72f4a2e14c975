package prompt

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"sagline/plotting"
	"sagline/predict/forecast"
	"sagline/predict/newdive"
	"sagline/session"
)

// echo shows a line that is on disk, each reading with what it should be.
func (v *Interview) echo(i int, row session.Row) {
	_, expected := v.Dive.Line(row)
	v.list(fmt.Sprintf("%d on disk: ", i+1), Items(row, expected), ", ")
}

// Items lists a row's cells in words, each reading with what it should be.
func Items(row session.Row, expected []forecast.Expected) (out []string) {
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
	for _, name := range slices.Sorted(maps.Keys(row)) {
		if _, known := session.Find(name); !known && row[name] != "" {
			out = append(out, name+" "+row[name])
		}
	}
	return out
}

// table shows lines, numbered from 1, in the columns that any of them fills. Columns that do not
// fit the width go into a table below.
func table(lines []session.Row, width int) string {
	rows := make([][]string, 2+len(lines)) // and two rows of headings
	for k := range rows {
		rows[k] = []string{strconv.Itoa(k - 1)}
	}
	rows[0][0], rows[1][0] = "", ""
	for _, c := range session.Columns() {
		filled := slices.ContainsFunc(lines, func(row session.Row) bool { return row[c.Name] != "" })
		if !filled || c.Name == "dive" || c.Name == "date" {
			continue
		}
		rows[0], rows[1] = append(rows[0], c.Stem()), append(rows[1], strings.TrimPrefix(c.Name[len(c.Stem()):], "_"))
		for i, row := range lines {
			cell := strings.Join(strings.Fields(strings.ReplaceAll(row[c.Name], " + ", "+")), " ")
			rows[i+2] = append(rows[i+2], plotting.SafeText(cell, longestCell))
		}
	}
	if len(lines) == 0 {
		return ""
	}
	return Columns(rows, 1, 1, max(width, 40))
}

// longestCell is the number of characters of a cell that a table shows.
const longestCell = 19

// Columns aligns rows of cells in columns, separated by between blanks, without blanks at the ends
// of lines. A table wider than width is cut into several, each with the first keys columns, which
// tell rows apart; width 0 means no limit. A single key column goes on a line above the others if
// there is no room beside it.
func Columns(rows [][]string, keys, between, width int) string {
	if len(rows) == 0 {
		return ""
	}
	var widths []int
	for _, row := range rows {
		for c, cell := range row {
			if c == len(widths) {
				widths = append(widths, 0)
			}
			widths[c] = max(widths[c], utf8.RuneCountInString(cell)+between)
		}
	}
	names := make([]string, len(rows))
	if keys == 1 && len(widths) > 1 && width > 0 && widths[0]+slices.Max(widths[1:])-between > width {
		for i, row := range rows {
			names[i], row[0] = row[0], ""
		}
		widths[0] = between
	}
	var out strings.Builder
	for i, columns := range splitColumns(widths, min(keys, len(widths)), between, width) {
		if i > 0 {
			out.WriteByte('\n')
		}
		var b strings.Builder
		t := tabwriter.NewWriter(&b, 0, 4, between, ' ', 0)
		for _, row := range rows {
			var some []string
			for _, c := range columns {
				some = append(some, row[min(c, len(row)):min(c+1, len(row))]...)
			}
			fmt.Fprintln(t, strings.Join(some, "\t"))
		}
		_ = t.Flush() // a strings.Builder never fails
		for r, line := range strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n") {
			line = strings.TrimRight(line, " ")
			if names[r] != "" {
				out.WriteString(names[r] + "\n")
			}
			if names[r] == "" || line != "" {
				out.WriteString(line + "\n")
			}
		}
	}
	return out.String()
}

// splitColumns returns the indexes of the columns of each table that fits a width. With width 0
// there is one table.
func splitColumns(widths []int, keys, between, width int) [][]int {
	var of []int
	room := 0
	for c := range keys {
		of, room = append(of, c), room+widths[c]
	}
	parts, used := [][]int{slices.Clone(of)}, room
	for c, wide := range widths[keys:] {
		last := &parts[len(parts)-1]
		if width > 0 && used+wide-between > width && len(*last) > keys {
			parts, used = append(parts, slices.Clone(of)), room
			last = &parts[len(parts)-1]
		}
		*last, used = append(*last, keys+c), used+wide
	}
	return parts
}
