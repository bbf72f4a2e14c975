package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"sagline/session"
	"sagline/session/importer"
	"sagline/session/problem"
)

// firstLines prints the first lines, a column each.
func (im *importing) firstLines(w io.Writer) {
	r := im.result
	if len(r.Lines) == 0 {
		return
	}
	shown := r.Lines[:min(len(r.Lines), linesShown)]
	aligned(w, func(w io.Writer) {
		fmt.Fprint(w, "from")
		for _, l := range shown {
			fmt.Fprintf(w, "\t%s", im.source.Where(l.Number))
		}
		fmt.Fprintln(w)
		for _, name := range filledColumns(shown) {
			fmt.Fprint(w, name)
			for _, l := range shown {
				fmt.Fprintf(w, "\t%s", clip(l.Cells[name], cellWidth))
			}
			fmt.Fprintln(w)
		}
	})
	if more := len(r.Lines) - len(shown); more > 0 {
		fmt.Fprintf(w, "… and %d more\n", more)
	}
	if len(r.Asked) > 0 {
		return // how many they are is not known yet
	}
	dives := map[string]bool{}
	for _, l := range r.Lines {
		dives[l.Cells["dive"]] = true
	}
	wrapped(w, "", fmt.Sprintf("\n%s of %s for %s", problem.Count(len(r.Lines), "line"), problem.Count(len(dives), "dive"), filepath.Join(im.folder, "dives.csv")))
}

// filledColumns are those that lines fill, in the order of the table.
func filledColumns(lines []importer.Line) []string {
	return slices.DeleteFunc(session.ColumnNames(), func(name string) bool {
		return !slices.ContainsFunc(lines, func(l importer.Line) bool { return l.Cells[name] != "" })
	})
}
