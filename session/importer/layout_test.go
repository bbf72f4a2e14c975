package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sagline/session/spreadsheet"
)

// In a table that lies across the file a problem stands in the heading's line
// and the dive's column.
func TestPlacesAcross(t *testing.T) {
	text := "Date;2026-05-31;2026-06-07;2026-06-14;13.13.13\nBattery (V);12;12.1;12.2;12\nDepth (m);3;4;deep;5\n"
	_, taken := proposed(t, text, otter)
	assert.Equal(t, []string{`dates such as "2026-05-31": "day.month.year" or "month/day/year"?`}, asked(taken))
	m, taken := proposed(t, strings.Replace(text, "13.13.13", "2026-06-21", 1), otter)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, []string{`1 cell under "Depth (m)" kept in the note, such as column D: found "deep", want a number in m`}, taken.Remarks)
	assert.Equal(t, []string{"1", "2", "3", "4"}, strings.Fields(rows(taken, "dive")))
	assert.Equal(t, "depth_m", m.find("Depth (m)").To)
	assert.Equal(t, "column AB", (&spreadsheet.Sheet{Across: true}).Where(28))
}

// Lines above dives name them, notes between lines go to the line that follows.
func TestLinesBetween(t *testing.T) {
	_, taken := proposed(t, "Time;Battery (V)\nDive 3, 31 May 2026;\n10:00;12.5\nwind got up a lot;\n10:05;12.3\nDive 4, 7 June 2026;\n11:00;12.4\nthe end of it\n", otter)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "3|2026-05-31|10:00|12.5|\n3||10:05|12.3|wind got up a lot\n4|2026-06-07|11:00|12.4|the end of it\n", rows(taken, "dive date time battery_v note"))
	assert.Equal(t, spreadsheet.Account{Cells: 12, Headings: 2, Taken: 8, Noted: 2, Left: map[string]int{}}, taken.Account)
}

// A dive that is named and has no line leaves its date to none; what a note
// between lines says was done is done before the line that follows.
func TestWhatStandsBeforeALine(t *testing.T) {
	text := "Dive;Date;Battery (V)\n1;2026-05-31;12.5\nreplaced the o-ring;;\n2;2026-06-07;\n3;2026-06-14;12.4\n4;2026-06-21;\n;;12.3\n"
	s := source(t, text)
	m := Propose(s, otter)
	m.Work = "yes"
	taken := Convert(s, m, otter, nil)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "1|2026-05-31|12.5||\n3|2026-06-14|12.4|seal|replaced the o-ring\n4|2026-06-21|12.3||\n", rows(taken, "dive date battery_v serviced note"))
	assert.Equal(t, spreadsheet.Account{Cells: 15, Headings: 3, Taken: 9, Noted: 1, Left: map[string]int{"of dives without a reading": 2}}, taken.Account)
}
