package importer

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session/spreadsheet"
	"sagline/session/wording"
)

func TestDrives(t *testing.T) {
	known := []string{"port", "starboard", "vertical"}
	apart := &Mapping{Thrusters: map[string]string{"L": "port", "l": "starboard", "LI": "vertical"}}
	for range 20 {
		assert.Equal(t, []string{"port", "starboard", "vertical"}, []string{apart.lookUp("L", nil), apart.lookUp("l", nil), apart.lookUp("li", nil)}, "in its own case first")
	}
	m := &Mapping{Thrusters: map[string]string{"li": "port", "beide": "port + starboard", "hub": Asked}}
	for _, c := range []struct{ cell, want, unknown string }{
		{"port + starboard", "port + starboard", ""}, {"PORT & Starboard rev", "", "PORT & Starboard rev"}, {"PORT rev & Starboard rev", "port astern + starboard astern", ""}, {"port + starboard astern", "port + starboard astern", ""}, {"li zurück, starboard fwd", "port astern + starboard", ""},
		{"beide", "port + starboard", ""}, {"beide rev", "port astern + starboard astern", ""}, {"aus", "off", ""}, {"none", "off", ""}, {"vertical down", "vertical astern", ""}, {"hub", "", "hub"}, {"port, prot", "port", "prot"},
	} {
		got, unknown := m.drives(c.cell, known)
		assert.Equal(t, c.want, got, c.cell)
		assert.Equal(t, c.unknown, strings.Join(unknown, " "), c.cell)
	}
	assert.Equal(t, "starboard", wording.Guess("Stb", known))
	assert.Equal(t, "vertical", wording.Guess("up", known))
	assert.Empty(t, wording.Guess("no. 3", known))
}

// A date without a year has that of the file's others or of its name, else it
// is asked for; what was taken is told.
func TestDatesWithoutAYear(t *testing.T) {
	for _, c := range []struct{ name, dates, file, answer, want, remark string }{
		{"others", "3.5.2025 10.5. 17.5.", "old.csv", "", "2025-05-03 2025-05-10 2025-05-17", "2 dates without a year, taken for 2025-05-10 to 2025-05-17"},
		{"others later", "3.5. 10.5.2025 17.5.", "old.csv", "", "2025-05-03 2025-05-10 2025-05-17", "2 dates without a year, taken for 2025-05-03 to 2025-05-17"},
		{"newest first", "17.9. 10.5. 3.1.", "pond-2025.csv", "", "2025-01-03 2025-05-10 2025-09-17", "3 dates without a year, taken for 2025-01-03 to 2025-09-17"},
		{"name", "3_May 10_May", "season 2025/pond_2024.csv", "", "2024-05-03 2024-05-10", "2 dates"},
		{"slashes", "5/3 5/14", "2025.csv", "", "2025-05-03 2025-05-14", "2 dates"},
		{"two years in the name", "3.5. 10.5.", "2024-2025.csv", "2025", "2025-05-03 2025-05-10", "2 dates"},
		{"no year at all", "3.5. 10.5.", "20250531.csv", "2026", "2026-05-03 2026-05-10", "2 dates"},
		{"a year ends", "28.11.2025 12.12. 9.1.", "2025.csv", "", "2025-11-28 2025-12-12 2026-01-09", "2 dates without a year, taken for 2025-12-12 to 2026-01-09"},
		{"a year has ended", "28.12. 9.1.2026", "2026.csv", "", "2025-12-28 2026-01-09", "1 date without a year, taken for 2025-12-28"},
		{"it may have", "3.1. 20.12.", "2026.csv", "2026", "2026-01-03 2026-12-20", "2 dates without a year, taken for 2026-01-03 to 2026-12-20"},
		{"winters", "12.11. 3.12. 14.1. 9.2. 5.11. 8.1.", "old.csv", "2023", "2023-11-12 2023-12-03 2024-01-14 2024-02-09 2024-11-05 2025-01-08", "6 dates without a year, taken for 2023-11-12 to 2025-01-08"},
		{"winters in the name", "12.11. 3.12. 14.1. 9.2.", "2023-2024.csv", "", "2023-11-12 2023-12-03 2024-01-14 2024-02-09", "taken for 2023-11-12 to 2024-02-09"},
		{"one of them", "12.11. 3.12. 14.1. 9.2.", "2024.csv", "2023", "2023-11-12 2023-12-03 2024-01-14 2024-02-09", "taken for 2023-11-12 to 2024-02-09"},
		{"summers", "2.5.2023 3.8. 10.9. 20.4. 14.8. 3.9. 2.5.", "old.csv", "", "2023-05-02 2023-08-03 2023-09-10 2024-04-20 2024-08-14 2024-09-03 2025-05-02", "6 dates without a year, taken for 2023-08-03 to 2025-05-02"},
		{"winters, newest first", "8.1.2025 20.12. 5.12. 9.2. 14.1. 3.12.", "old.csv", "", "2023-12-03 2024-01-14 2024-02-09 2024-12-05 2024-12-20 2025-01-08", "5 dates without a year, taken for 2023-12-03 to 2024-12-20"},
		{"a row out of order", "3.5.2025 17.5. 10.5. 24.5.", "old.csv", "", "2025-05-03 2025-05-10 2025-05-17 2025-05-24", "3 dates without a year, taken for 2025-05-10 to 2025-05-24"},
		{"two months back", "3.5.2025 17.5. 20.7. 25.5. 24.7.", "old.csv", "2025", "2025-05-03 2025-05-17 2025-07-20 2026-05-25 2026-07-24", "taken for 2025-05-17 to 2026-07-24"},
		{"a leap day", "20.12.2023 28.12. 29.2.", "old.csv", "", "2023-12-20 2023-12-28 2024-02-29", "2 dates"},
		{"of each year's first", "3.5.2025 10.5. 2.5.2026 9.5.", "old.csv", "", "2025-05-03 2025-05-10 2026-05-02 2026-05-09", "2 dates"},
		{"all have it", "3.5.2025 10.5.2025", "2024.csv", "", "2025-05-03 2025-05-10", ""},
	} {
		s, err := spreadsheet.Open(strings.NewReader("Date;Battery (V)\n"+strings.NewReplacer(" ", ";12\n", "_", " ").Replace(c.dates)+";12\n"), c.file)
		require.NoError(t, err)
		m := Propose(s, otter)
		taken := Convert(s, m, otter, nil)
		if c.answer != "" {
			require.Len(t, taken.Asked, 1, c.name)
			assert.Contains(t, taken.Asked[0].Text, "dates without a year such as ", c.name)
			require.Error(t, taken.Asked[0].Answer("soon"))
			require.NoError(t, taken.Asked[0].Answer(c.answer))
			taken = Convert(s, m, otter, nil)
		}
		assert.Empty(t, taken.Asked, c.name)
		assert.Empty(t, taken.Problems, c.name)
		assert.Equal(t, strings.Fields(c.want), strings.Fields(rows(taken, "date")), c.name)
		assert.Equal(t, c.remark != "", strings.Contains(strings.Join(taken.Remarks, "\n"), "without a year"), c.name)
		assert.Contains(t, strings.Join(taken.Remarks, "\n"), c.remark, c.name)
	}
}

// Which of 3/4 is the month is asked first, then the year; a line above a dive
// may have no year either.
func TestDatesWithoutAYearElsewhere(t *testing.T) {
	s := source(t, "Date;Battery (V)\n3/4;12\n5/4;12\n")
	m := Propose(s, otter)
	require.NoError(t, Convert(s, m, otter, nil).Asked[0].Answer(wording.DayFirst))
	assert.Equal(t, []string{`dates without a year such as "3/4": which year is the first of? "above": that of the date above it; the others go on from there in the order of the file`}, asked(Convert(s, m, otter, nil)))
	s, err := spreadsheet.Open(strings.NewReader("Time;Battery (V)\nDive 3, 3 May;\n10:00;12.5\nDive 4, 10 May;\n11:00;12.4\n"), "2026.csv")
	require.NoError(t, err)
	assert.Equal(t, "3|2026-05-03|12.5\n4|2026-05-10|12.4\n", rows(Convert(s, Propose(s, otter), otter, nil), "dive date battery_v"))
}

// A year that was answered holds where a file says none, and no longer.
func TestAKeptYear(t *testing.T) {
	for file, want := range map[string]string{"old.csv": "2024-05-03", "2026.csv": "2026-05-03"} {
		m, err := ReadMapping([]byte("dives = \"date\"\ndate = \"day.month.year\"\nyear = \"2024\"\n"), "import.toml")
		require.NoError(t, err)
		s, err := spreadsheet.Open(strings.NewReader("Date;Battery (V)\n3.5.;12\n"), file)
		require.NoError(t, err)
		m.Adapt(s, otter)
		assert.Equal(t, want+"\n", rows(Convert(s, m, otter, nil), "date"), file)
	}
	s, err := spreadsheet.Open(strings.NewReader("Date;Battery (V)\n3.5.;12\n"), "2026.csv")
	require.NoError(t, err)
	assert.Empty(t, Propose(s, otter).Year, "which the next file has too, or not")
}
