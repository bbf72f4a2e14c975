package importer

import (
	"fmt"
	"slices"
	"strings"

	"sagline/session/problem"
)

// A file may have a column for each thruster, with a word or a mark where it
// ran. Match.Drive is then the thruster, and To is "thrusters".

// perThruster turns a match into one for a single thruster, where the heading
// names one and the cells say no more than whether it ran.
func (m *Mapping) perThruster(c Match, h heading, cells, known []string) Match {
	if len(cells) == 0 || c.Sure == Sure && c.To != "thrusters" {
		return c
	}
	drive := named(h.whole, known)
	if drive == "" || slices.ContainsFunc(cells, func(cell string) bool { _, ok := m.way(cell); return !ok }) {
		return c
	}
	c.To, c.Drive, c.Times, c.Plus, c.Form = "thrusters", drive, 1, 0, ""
	c.Sure, c.Why = Likely, "a column of its own for "+problem.Quote(drive)
	return c
}

// neverRan takes in the empty columns of thrusters beside others that have one
// of their own.
func (m *Mapping) neverRan(all []Match, s *Source, known []string) {
	if !slices.ContainsFunc(all, func(c Match) bool { return c.Drive != "" }) {
		return
	}
	for i, c := range all {
		if c.Sure == Unused && len(s.sample(s.index(c.Heading), m.Empty)) == 0 {
			all[i] = m.perThruster(c, readHeading(c.Heading, ""), []string{"0"}, known)
		}
	}
}

// named is the thruster that a heading's words name, "" where they name none
// or say more. Several words may be one name.
func named(words, known []string) string {
	words = slices.DeleteFunc(slices.Clone(words), func(w string) bool {
		return filler[w] || slices.Contains([]string{"motor", "thruster", "m", "t", "on", "ran", "running", "switch", "relay"}, w)
	})
	name := strings.Join(words, " ")
	for _, k := range known {
		if folded(k) == name {
			return k
		}
	}
	if to := guessDrive(name, known); slices.Contains(known, to) {
		return to
	}
	return ""
}

// way is what a cell says of its column's thruster: " astern" where it ran in
// reverse, "off" where it did not run, "" where it did.
func (m *Mapping) way(cell string) (way string, ok bool) {
	is := func(words []string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.EqualFold(w, cell) })
	}
	switch f := folded(cell); {
	case is(m.No) || slices.Contains(offWords, f):
		return "off", true
	case is(m.Yes) || cell == "+1" || slices.Contains(forwards, f):
		return "", true
	case cell == "-1" || slices.Contains(reversed, f):
		return " astern", true
	}
	return "", false
}

// putSwitch adds what the column of one thruster says to a line's.
func (t *taking) putSwitch(cells map[string]string, m *Match, text string) error {
	way, ok := t.m.way(text)
	switch before := cells["thrusters"]; {
	case !ok:
		return fmt.Errorf("found %s, want one of the words under yes or no, ahead or astern: %s; %s", problem.Quote(text),
			strings.Join(t.m.Yes, " "), strings.Join(t.m.No, " "))
	case way == "off" && before == "":
		cells["thrusters"] = "off"
	case way == "off":
	case before == "" || before == "off":
		cells["thrusters"] = m.Drive + way
	default:
		cells["thrusters"] = before + " + " + m.Drive + way
	}
	return nil
}

// unmarked takes lines without a mark for any thruster for lines at rest,
// where a file has a column for each and marks only those that ran.
func (t *taking) unmarked() {
	some := false
	for _, c := range t.m.Columns {
		if c.Drive == "" || t.s.index(c.Heading) < 0 {
			continue
		}
		some = true
		for _, cell := range t.s.column(c.Heading) {
			if way, _ := t.m.way(cell); way == "off" {
				return // it tells those that did not run as well
			}
		}
	}
	rest := 0
	for _, l := range t.out.Lines {
		if some && l.Cells["thrusters"] == "" {
			l.Cells["thrusters"] = "off"
			rest++
		}
	}
	if rest > 0 {
		t.remark("%s without a mark for any thruster, taken for off", problem.Count(rest, "line"))
	}
}
