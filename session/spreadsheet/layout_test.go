package spreadsheet

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
		for _, h := range s.Headings {
			got = append(got, h.Text)
		}
		assert.Equal(t, c.headings, strings.Join(got, "|"), name)
		assert.Len(t, s.Rows, c.rows, name)
		assert.Equal(t, c.across, s.Across, name)
		if c.account.Left == nil {
			c.account.Left = map[string]int{}
		}
		assert.Equal(t, c.account, s.Account, name)
	}
}

// What stands before the headings.
func TestHeadersAreFound(t *testing.T) {
	for _, c := range []struct {
		text, headings string
		line           int
	}{
		{"a,b\n1,2\n", "a|b", 2},
		{"Logger 7\nstarted,2026-05-31\n\ntime (s),V,A\n0,1,2\n1,1,2\n2,1,2\n", "time (s)|V|A", 5},
		{"a;a;;b\n1;2;3;4\n", "a|a column 2|column 3|b", 2},
	} {
		s, err := Open(strings.NewReader(c.text), "old.csv")
		require.NoError(t, err)
		var got []string
		for _, h := range s.Headings {
			got = append(got, h.Text)
		}
		assert.Equal(t, c.headings, strings.Join(got, "|"), c.text)
		assert.Equal(t, c.line, s.Rows[0].Line, c.text)
	}
}

// What is left out is listed by number, and by name where numbers are equal.
func TestLeftOut(t *testing.T) {
	a := Account{Left: map[string]int{"b": 2, "c": 3, "a": 2, "d": 2}}
	for range 20 {
		assert.Equal(t, []string{"3 cells c", "2 cells a", "2 cells b", "2 cells d"}, a.LeftOut())
	}
}
