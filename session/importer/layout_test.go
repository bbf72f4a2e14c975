package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// How tables lie in a file: which lines are headings, and what becomes of every
// cell.
func TestLayouts(t *testing.T) {
	for name, c := range map[string]struct {
		text, headings string
		rows           int
		across         bool
		account        Account
	}{
		"units below":      {"Battery;Amps;Depth\nV;mA;ft\n12;8000;3\n", "Battery V|Amps mA|Depth ft", 1, false, Account{Cells: 9, Headings: 6}},
		"groups above":     {"Club;;;\nBattery;;Depth;\nV;No.;ft;Remarks\n12;A;3;x\n", "Battery V|Battery No.|Depth ft|Depth Remarks", 1, false, Account{Cells: 11, Headings: 6, Left: map[string]int{"above the headings": 1}}},
		"no group":         {"Club;Pond\nDate;Battery (V)\n2026-05-31;12\n", "Date|Battery (V)", 1, false, Account{Cells: 6, Headings: 2, Left: map[string]int{"above the headings": 2}}},
		"totals":           {"Date;Battery (V)\n2026-05-31;12\nMean;12\n", "Date|Battery (V)", 1, false, Account{Cells: 6, Headings: 2, Left: map[string]int{"totals": 2}}},
		"headings again":   {"Date;Battery (V)\n2026-05-31;12\nDate;Battery (V)\n;13\n", "Date|Battery (V)", 2, false, Account{Cells: 7, Headings: 2, Left: map[string]int{"headings once more": 2}}},
		"across":           {"Date;2026-05-31;2026-06-07\nBattery (V);12;12.1\nDepth (m);3;4\n", "Date|Battery (V)|Depth (m)", 2, true, Account{Cells: 9, Headings: 3}},
		"cells beyond":     {"Date;Battery (V)\n2026-05-31;12;odd\n", "Date|Battery (V)|column 3", 1, false, Account{Cells: 5, Headings: 2}},
		"a dive names day": {"Dive 1 – 3.5.2026;\nTime;Battery (V)\n10:00;12\nDive 2 – 4.5.2026;\n10:00;12\n", "Time|Battery (V)|line above a dive", 4, false, Account{Cells: 8, Headings: 2}},
	} {
		s, err := Open(strings.NewReader(c.text), "old.csv")
		require.NoError(t, err, name)
		var got []string
		for _, h := range s.headings {
			got = append(got, h.text)
		}
		assert.Equal(t, c.headings, strings.Join(got, "|"), name)
		assert.Len(t, s.rows, c.rows, name)
		assert.Equal(t, c.across, s.Across, name)
		assert.Equal(t, c.account, s.account, name)
	}
}

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
	assert.Equal(t, "column AB", (&Source{Across: true}).Where(28))
}

// Lines above dives name them, notes between lines go to the line that follows.
func TestLinesBetween(t *testing.T) {
	_, taken := proposed(t, "Time;Battery (V)\nDive 3, 31 May 2026;\n10:00;12.5\nwind got up a lot;\n10:05;12.3\nDive 4, 7 June 2026;\n11:00;12.4\nthe end of it\n", otter)
	assert.Empty(t, taken.Problems)
	assert.Equal(t, "3|2026-05-31|10:00|12.5|\n3||10:05|12.3|wind got up a lot\n4|2026-06-07|11:00|12.4|the end of it\n", rows(taken, "dive date time battery_v note"))
	assert.Equal(t, Account{Cells: 12, Headings: 2, Taken: 8, Noted: 2, Left: map[string]int{}}, taken.Account)
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
	assert.Equal(t, Account{Cells: 15, Headings: 3, Taken: 9, Noted: 1, Left: map[string]int{"of dives without a reading": 2}}, taken.Account)
}
