package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"sagline/cmd/prompt"
	"sagline/plotting"
	"sagline/session/importer"
)

// Widths of what import shows, so that it stays within 80 columns.
const (
	lineWidth    = 79
	headingWidth = 30
	cellWidth    = 15
	linesShown   = 4
)

// show prints the mapping, what it assumes, and the first lines.
func (im *importing) show(w io.Writer) {
	m := im.mapping
	where := "not written yet"
	switch {
	case im.stray:
		where = "another file's, not used"
	case im.had:
		where = "used"
	}
	wrapped(w, "", fmt.Sprintf("%s; mapping: %s, %s", im.file, im.mappingPath, where))
	fmt.Fprintln(w)
	aligned(w, func(w io.Writer) {
		fmt.Fprintln(w, "heading\tbecomes\t\thow sure")
		for _, c := range m.Columns {
			if im.source.Has(c.Heading) && c.To != "" {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", clip(c.Heading, headingWidth), c.To, sum(c), c.Sure)
			}
		}
	})
	im.leftOut(w)
	im.details(w)
	im.firstLines(w)
	if len(im.result.Skipped) > 0 {
		wrapped(w, "- ", "in the log, left out: dive "+strings.Join(im.result.Skipped, ", "))
	}
	for _, r := range im.result.Remarks {
		wrapped(w, "- ", r)
	}
}

// leftOut names the headings that become nothing, and why others are not
// sure.
func (im *importing) leftOut(w io.Writer) {
	for _, c := range im.mapping.Columns {
		if !im.source.Has(c.Heading) {
			continue
		}
		switch {
		case c.To == "":
			wrapped(w, "", fmt.Sprintf("left out: %q, %s", c.Heading, cmp.Or(c.Why, "as the mapping says")))
		case c.Sure == importer.Likely:
			wrapped(w, "", fmt.Sprintf("likely: %q, %s", c.Heading, c.Why))
		}
	}
}

// details prints how cells are read.
func (im *importing) details(w io.Writer) {
	m := im.mapping
	dives := map[string]string{importer.ByColumn: "by their labels", importer.ByDate: "one each date", importer.ByFile: "one of the file"}[m.Dives]
	dates := ""
	if m.Dated() {
		dates = "dates: " + m.Date + "; "
	}
	wrapped(w, "", fmt.Sprintf("\ndives: %s; %sdecimal mark: %s; %s", dives, dates, m.Decimal, im.source.Encoding))
	var words []string
	for _, from := range slices.Sorted(maps.Keys(m.Thrusters)) {
		words = append(words, fmt.Sprintf("%q is %s", from, m.Thrusters[from]))
	}
	if len(words) > 0 {
		wrapped(w, "", "thrusters: "+strings.Join(words, ", "))
	}
	fmt.Fprintln(w)
}

// next says how to go on after nothing was written.
func (im *importing) next(w io.Writer, o *importOptions, sound error) {
	command := fmt.Sprintf("sagline import %s %s", im.named, im.folder)
	if o.mapping != "" {
		command += " --mapping " + o.mapping
	}
	for _, name := range slices.Sorted(maps.Keys(o.cells)) {
		command += fmt.Sprintf(" --cell %q", name+"="+o.cells[name])
	}
	switch {
	case sound == nil:
		fmt.Fprintf(w, "\nnothing written; next: %s --write\n", command)
	case len(im.result.Asked) > 0 && !im.had:
		fmt.Fprintf(w, "\nnothing written; next: %s --save-mapping\n", command)
	default:
		fmt.Fprint(w, "\nnothing written\n")
	}
}

// aligned is table without blanks at the ends of lines.
func aligned(w io.Writer, rows func(w io.Writer)) {
	var b strings.Builder
	table(&b, rows)
	for line := range strings.Lines(b.String()) {
		fmt.Fprintln(w, strings.TrimRight(line, " \n"))
	}
}

// sum is what numbers under a heading are multiplied by and moved by, or the
// thruster that it is of.
func sum(c importer.Match) string {
	var out []string
	if c.Times != 1 && c.Times != 0 {
		out = append(out, fmt.Sprintf("× %.6g", c.Times))
	}
	if c.Plus != 0 {
		out = append(out, fmt.Sprintf("%+.6g", c.Plus))
	}
	if c.Drive != "" {
		out = append(out, c.Drive)
	}
	return strings.Join(out, " ")
}

// clip cuts a text to width on one line.
func clip(s string, width int) string { return plotting.SafeText(s, width-1) }

// wrapped prints a text in lines that fit.
func wrapped(w io.Writer, bullet, text string) {
	if strings.HasPrefix(text, "\n") {
		fmt.Fprintln(w)
	}
	fmt.Fprint(w, prompt.Wrap(bullet, text, lineWidth))
}
