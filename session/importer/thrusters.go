package importer

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sagline/session/problem"
	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

// drives converts a thrusters cell into a cell of dives.csv, and returns the words it does not know.
func (m *Mapping) drives(cell string, known []string) (written string, unknown []string) {
	if to := m.lookUp(cell, known); to != "" {
		return to, nil
	}
	return wording.Drives(cell, func(word string) string { return m.lookUp(word, known) })
}

// lookUp returns the mapping's meaning of a word, else "off" or the thruster of that name; "" for
// neither.
func (m *Mapping) lookUp(word string, known []string) string {
	if to, ok := m.Thrusters[word]; ok && to != Asked {
		return to
	}
	for _, from := range slices.Sorted(maps.Keys(m.Thrusters)) {
		if to := m.Thrusters[from]; strings.EqualFold(from, word) && to != Asked {
			return to
		}
	}
	if wording.Is("off", wording.Folded(word)) {
		return "off"
	}
	if i := slices.IndexFunc(known, func(k string) bool { return wording.Folded(k) == wording.Folded(word) }); i >= 0 {
		return known[i]
	}
	return ""
}

// nameThrusters proposes meanings for the file's words for thrusters.
func (m *Mapping) nameThrusters(s *spreadsheet.Sheet, k Known) {
	c := m.to("thrusters")
	if c == nil || c.Drive != "" {
		return
	}
	for _, cell := range s.Column(c.Heading, m.Empty) {
		_, unknown := m.drives(cell, k.Thrusters)
		for _, word := range unknown {
			if _, ok := m.Thrusters[word]; !ok && len(m.Thrusters) < mostListed {
				m.Thrusters[word] = cmp.Or(wording.Guess(word, k.Thrusters), Asked)
			}
		}
	}
}

// perThruster matches a heading to a single thruster, its Drive, if it names one and the cells only
// say whether it ran; or to all thrusters if the cells name them.
func (m *Mapping) perThruster(c Match, h spreadsheet.Heading, cells, known []string) Match {
	marks := spreadsheet.Every(cells, func(cell string) bool { _, ok := wording.Ran(cell, m.Yes, m.No); return ok })
	names := func(cell string) bool {
		_, unknown := m.drives(cell, known)
		return !slices.ContainsFunc(unknown, func(w string) bool { return wording.Guess(w, known) == "" })
	}
	name := strings.Join(h.Whole, " ")
	switch drive := cmp.Or(m.lookUp(name, known), wording.Guess(name, known)); {
	case c.Sure == Sure && c.To != "thrusters":
	case marks && slices.Contains(known, drive):
		c.Drive = drive
		return c.is("thrusters", Likely, "a column of its own for "+problem.Quote(drive))
	case c.To == "note" && !marks && len(cells) >= fewestJudged && spreadsheet.Every(cells, names):
		return c.is("thrusters", Likely, "its cells name thrusters")
	}
	return c
}

// runs is the current from which a line surely has something running, A: common practice, no source.
const runs = 1.0

// unmarked sets lines without a mark for any thruster to off, if a file has a column for each
// thruster and marks only those that ran.
func (c *converter) unmarked(lines []Line) {
	if c.marksOff || !slices.ContainsFunc(c.columns, func(u under) bool { return u.Drive != "" && u.To == "thrusters" }) {
		return
	}
	rest := slices.DeleteFunc(slices.Clone(lines), func(l Line) bool { return l.Cells["thrusters"] != "" })
	for _, l := range rest {
		l.Cells["thrusters"] = "off"
	}
	if len(rest) > 0 {
		c.remark("%s without a mark for any thruster, taken for off", problem.Count(len(rest), "line"))
	}
	drawing := slices.DeleteFunc(rest, func(l Line) bool {
		x, err := strconv.ParseFloat(l.Cells["current_a"], 64)
		return err != nil || x < runs
	})
	if len(drawing) > 0 {
		c.remark("%s of them, such as line %d, draw amperes: does a thruster's column lack, or a mark?", problem.Count(len(drawing), "line"), drawing[0].Number)
	}
}
