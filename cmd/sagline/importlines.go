package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"

	"sagline/session"
	"sagline/session/importer"
	"sagline/session/problem"
)

// firstLines prints the first lines as they would be written, a column each.
func (im *importing) firstLines(w io.Writer) {
	t := im.taken
	if len(t.Lines) == 0 {
		return
	}
	shown := t.Lines[:min(len(t.Lines), linesShown)]
	aligned(w, func(w io.Writer) {
		fmt.Fprint(w, "from line")
		for _, l := range shown {
			fmt.Fprintf(w, "\t%d", l.Number)
		}
		fmt.Fprintln(w)
		for _, name := range importer.Used(shown) {
			across(w, name, shown, func(l *importer.Line) string { return clip(l.Cells[name], cellWidth) })
			if m := meanOf(&shown[0], name); m != nil {
				across(w, "  sd of one", shown, func(l *importer.Line) string { return spread(meanOf(l, name).SD) })
				across(w, "  sd of mean", shown, func(l *importer.Line) string { return spread(meanOf(l, name).SE) })
			}
		}
	})
	if more := len(t.Lines) - len(shown); more > 0 {
		fmt.Fprintf(w, "… and %d more\n", more)
	}
	if len(t.Asked) > 0 {
		return // how many they are is not known yet
	}
	dives := map[string]bool{}
	for _, l := range t.Lines {
		dives[l.Cells["dive"]] = true
	}
	wrapped(w, "", fmt.Sprintf("\n%s of %s for %s", problem.Count(len(t.Lines), "line"), problem.Count(len(dives), "dive"), filepath.Join(im.folder, session.FileName)))
}

// across prints a row with a cell of each line.
func across(w io.Writer, name string, lines []importer.Line, cell func(*importer.Line) string) {
	fmt.Fprint(w, name)
	for i := range lines {
		fmt.Fprintf(w, "\t%s", cell(&lines[i]))
	}
	fmt.Fprintln(w)
}

// meanOf is what a line's cell is the mean of, nil for an observation.
func meanOf(l *importer.Line, column string) *importer.Reading {
	if l.Stretch == nil {
		return nil
	}
	for i := range l.Stretch.Means {
		if m := &l.Stretch.Means[i]; m.Column == column {
			return m
		}
	}
	return nil
}

// spread is a standard deviation to two digits.
func spread(sd float64) string {
	if math.IsNaN(sd) {
		return ""
	}
	return fmt.Sprintf("%.2g", sd)
}
