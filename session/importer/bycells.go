package importer

import (
	"slices"

	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// byCells matches headings that name nothing by what is below them where the other headings leave
// one thing open: dates, where none gives them, and the marks of a thruster's own column, where other
// thrusters have one. Of which thruster these are is asked: they may be of anything.
func byCells(all []Match, s *spreadsheet.Sheet, m *Mapping, thrusters []string) {
	nameless := func(c *Match, is func(cell string) bool) bool {
		cells := s.Column(c.Heading, m.Empty)
		return c.To == "note" && c.Sure == Likely && len(cells) >= fewestJudged && spreadsheet.Every(cells, is)
	}
	date := func(cell string) bool { return wording.DateForm([]string{cell}) != "" }
	if !m.Dated() && !slices.ContainsFunc(all, func(c Match) bool { return gives(c.targets(), "date") }) {
		for i := range all {
			if nameless(&all[i], date) {
				all[i] = all[i].is("date", Likely, "its cells are dates")
				break
			}
		}
	}
	own := func(name string) bool { return slices.ContainsFunc(all, func(c Match) bool { return c.Drive == name }) }
	left := slices.DeleteFunc(slices.Clone(thrusters), own)
	if len(left) == 0 || len(left) == len(thrusters) {
		return
	}
	for i := range all {
		if c := &all[i]; nameless(c, func(cell string) bool { _, ok := wording.Ran(cell, m.Yes, m.No); return ok }) {
			*c = c.open("marks, as of a thruster's own column:", append(slices.Clone(left), "note")...)
		}
	}
}
