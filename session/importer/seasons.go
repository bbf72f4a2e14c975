package importer

import (
	"slices"
	"strings"
)

// newSeasons tells apart the dives of people who begin at 1 again each year:
// labels of a year with one that an earlier year has too begin with the year.
// Lines of a label that follow each other are one dive, whatever their dates:
// those are for judge to tell.
func (t *taking) newSeasons() {
	if t.m.Dives != ByColumn {
		return
	}
	years := map[string][]string{} // of a label's dives
	before := ""
	for _, l := range t.out.Lines {
		label, y := l.Cells["dive"], calendarYear(l)
		if label != before && y != "" && !slices.Contains(years[label], y) {
			years[label] = append(years[label], y)
		}
		before = label
	}
	again, example := map[string]bool{}, ""
	for _, l := range t.out.Lines {
		of := years[l.Cells["dive"]]
		if y := calendarYear(l); len(of) > 1 && y != slices.Min(of) && slices.Contains(of, y) {
			again[y] = true
			if example == "" {
				example = y + "-" + l.Cells["dive"]
			}
		}
	}
	if example == "" {
		return
	}
	for _, l := range t.out.Lines {
		if y := calendarYear(l); again[y] {
			l.Cells["dive"] = y + "-" + l.Cells["dive"]
		}
	}
	t.remark("labels of dives begin anew with a year, which those of the later ones are given: %s", example)
}

// calendarYear is the year of a line's day, "" where there is none.
func calendarYear(l Line) string {
	y, _, _ := strings.Cut(l.Cells["date"], "-")
	return y
}
