package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagline/cmd/prompt"
	"sagline/plotting"
	"sagline/session"
	"sagline/session/importer"
	"sagline/session/problem"
	"sagline/session/tomlfile"
)

// Widths and numbers of lines that import shows, to stay within 80 characters.
const (
	lineWidth    = 79
	headingWidth = 30
	cellWidth    = 15
	linesShown   = 4
	changesShown = 20
)

// show prints the mapping, its assumptions and the first lines.
func (im *importing) show(w io.Writer) {
	m := im.mapping
	where := "new"
	switch {
	case im.ofOthers:
		where = "another file's, not used"
	case im.had:
		where = "used"
	}
	wrapped(w, "", fmt.Sprintf("%s; mapping: %s, %s", im.file, im.mappingPath, where))
	fmt.Fprintln(w)
	table(w, func(w io.Writer) {
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
	for _, c := range im.result.Changed[:min(len(im.result.Changed), changesShown)] {
		wrapped(w, "- ", "differs from the log, not taken: "+c)
	}
	if more := len(im.result.Changed) - changesShown; more > 0 {
		fmt.Fprintf(w, "- and %d more differences\n", more)
	}
	im.account(w)
}

// account prints what became of the file's cells.
func (im *importing) account(w io.Writer) {
	a := im.result.Account
	if len(im.result.Asked) > 0 {
		return // it is not known yet which cells are taken
	}
	left := 0
	for _, n := range a.Left {
		left += n
	}
	text := fmt.Sprintf("\n%s in the file: %d of headings, %d taken, %d kept in the note, %d left out", problem.Count(a.Cells, "cell"), a.Headings, a.Taken, a.Noted, left)
	if left > 0 {
		text += ": " + strings.Join(a.LeftOut(), ", ")
	}
	wrapped(w, "", text)
}

// leftOut prints which headings are left out and which are in doubt, and why.
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

// next prints how to go on when nothing was written.
func (im *importing) next(w io.Writer, o *importOptions, sound error) error {
	command := "sagline import " + shellWord(im.named) + " " + shellWord(im.folder)
	if o.mapping != "" {
		command += " --mapping " + shellWord(o.mapping)
	}
	for _, name := range slices.Sorted(maps.Keys(o.cells)) {
		command += fmt.Sprintf(" --cell %q", name+"="+o.cells[name])
	}
	switch {
	case sound == nil && im.answered:
		fmt.Fprintf(w, "\nnothing written, your answers neither; next: %s --write\n", command)
	case sound == nil:
		fmt.Fprintf(w, "\nnothing written; next: %s --write\n", command)
	case len(im.result.Asked) > 0 && !im.ofOthers:
		return im.toEdit(w, command)
	default:
		fmt.Fprint(w, "\nnothing written\n")
	}
	return nil
}

// toEdit prints the lines of the mapping to edit, each with its question.
func (im *importing) toEdit(w io.Writer, command string) error {
	text, err := os.ReadFile(im.mappingPath)
	if err != nil {
		return err
	}
	f, err := tomlfile.Parse(text, im.mappingPath)
	if err != nil {
		return err
	}
	lines := strings.Split(string(text), "\n")
	fmt.Fprintf(w, "\nno line written; edit these lines of %s:\n", im.mappingPath)
	for _, q := range im.result.Asked {
		where := ""
		if n := q.Line(f); n > 0 {
			where = fmt.Sprintf("line %d, %s: ", n, strings.TrimSpace(lines[n-1]))
		}
		wrapped(w, "- ", where+q.Text)
	}
	fmt.Fprintf(w, "then: %s --write\n", command)
	return nil
}

// sum writes the conversion of the numbers under a heading, and the thruster of its cells.
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

// clip puts a text on one line and cuts it to width.
func clip(s string, width int) string { return plotting.SafeText(s, width-1) }

// wrapped prints a text in lines of at most 80 characters.
func wrapped(w io.Writer, bullet, text string) {
	if strings.HasPrefix(text, "\n") {
		fmt.Fprintln(w)
	}
	fmt.Fprint(w, prompt.Wrap(bullet, text, lineWidth))
}

// firstLines prints the first lines as a table, a column for each line.
func (im *importing) firstLines(w io.Writer) {
	r := im.result
	if len(r.Lines) == 0 {
		return
	}
	lines := r.Lines[:min(len(r.Lines), linesShown)]
	table(w, func(w io.Writer) {
		fmt.Fprint(w, "from")
		for _, l := range lines {
			fmt.Fprintf(w, "\t%s", im.source.Where(l.Number))
		}
		fmt.Fprintln(w)
		for _, name := range session.ColumnNames() {
			if !slices.ContainsFunc(lines, func(l importer.Line) bool { return l.Cells[name] != "" }) {
				continue
			}
			fmt.Fprint(w, name)
			for _, l := range lines {
				fmt.Fprintf(w, "\t%s", clip(l.Cells[name], cellWidth))
			}
			fmt.Fprintln(w)
		}
	})
	if more := len(r.Lines) - len(lines); more > 0 {
		fmt.Fprintf(w, "… and %d more\n", more)
	}
	if len(r.Asked) > 0 {
		return // the number of lines is not known yet
	}
	dives := map[string]bool{}
	for _, l := range r.Lines {
		dives[l.Cells["dive"]] = true
	}
	wrapped(w, "", fmt.Sprintf("\n%s of %s for %s", problem.Count(len(r.Lines), "line"), problem.Count(len(dives), "dive"), filepath.Join(im.folder, session.FileName)))
}

type matchJSON struct {
	Heading string  `json:"heading"`
	To      string  `json:"to"`
	Times   float64 `json:"times"`
	Plus    float64 `json:"plus"`
	Drive   string  `json:"drive,omitempty"`
	Sure    string  `json:"sure"`
	Why     string  `json:"why"`
}

// asJSON returns what import --json prints.
func (im *importing) asJSON(written bool) map[string]any {
	m, r := im.mapping, im.result
	columns, asked := []matchJSON{}, []string{}
	for _, c := range m.Columns {
		if im.source.Has(c.Heading) {
			times, plus := c.Factors()
			columns = append(columns, matchJSON{c.Heading, c.To, times, plus, c.Drive, c.Sure, c.Why})
		}
	}
	for _, q := range r.Asked {
		asked = append(asked, q.Text)
	}
	return map[string]any{"schema": 1, "file": im.file, "dives": m.Dives, "date": m.Date, "decimal": m.Decimal, "columns": columns, "asked": asked,
		"lines": append([]importer.Line{}, r.Lines...), "already": append([]string{}, r.Skipped...), "changed": append([]string{}, r.Changed...),
		"problems": append(problem.List{}, r.Problems...), "remarks": append([]string{}, r.Remarks...), "account": r.Account, "written": written}
}
