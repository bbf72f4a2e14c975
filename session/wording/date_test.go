package wording

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDates(t *testing.T) {
	for _, c := range []struct{ text, form, want string }{
		{"2026-05-31", DayFirst, "2026-05-31"},
		{"2026/5/31", MonthFirst, "2026-05-31"},
		{"20260531", YearFirst, "2026-05-31"},
		{"31.5.2026", DayFirst, "2026-05-31"},
		{"31.05.26", DayFirst, "2026-05-31"},
		{"5/31/2026", MonthFirst, "2026-05-31"},
		{"05-06-2026", DayFirst, "2026-06-05"},
		{"05-06-2026", MonthFirst, "2026-05-06"},
		{"31 May 2026", YearFirst, "2026-05-31"},
		{"31-May-26", YearFirst, "2026-05-31"},
		{"May 31, 2026", YearFirst, "2026-05-31"},
		{"31. Mai 2026", YearFirst, "2026-05-31"},
		{"3. März 2026", YearFirst, "2026-03-03"},
		{"3 de mayo de 2026", YearFirst, "2026-05-03"},
		{"31/12/69", DayFirst, ""}, // 1969 by POSIX, before there were such vehicles
		{"31/12/70", DayFirst, "1970-12-31"},
		{"31.6.2026", DayFirst, ""},
		{"5/31/2026", DayFirst, ""},
		{"5/31/2026", YearFirst, ""},
		{"May", YearFirst, ""},
		{"", YearFirst, ""},
	} {
		day, err := ReadDate(c.text, c.form, 0)
		if c.want == "" {
			assert.Error(t, err, "%q as %s gives %v", c.text, c.form, day)
			continue
		}
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, day.Format(time.DateOnly), c.text)
	}
}

// The order of day and month is told by the cells or asked for.
func TestOrderOfDatesIsNeverGuessed(t *testing.T) {
	for _, c := range []struct {
		cells string
		want  string
	}{
		{"2026-05-01 2026-06-01", YearFirst},
		{"3/4/2026 5/6/2026", ""},
		{"3/4/2026 13/6/2026", DayFirst},
		{"3/4/2026 5/26/2026", MonthFirst},
		{"3.4.2026 5.6.2026", DayFirst},
		{"3.4.2026 5.26.2026", MonthFirst},
		{"13/4/2026 5/26/2026", ""},
		{"3-May-2026 5-Jun-2026", YearFirst},
	} {
		assert.Equal(t, c.want, DateForm(strings.Fields(c.cells)), c.cells)
	}
}

func TestClocks(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64 // s; −1: none
	}{
		{"14:05", 50700}, {"2:05 pm", 50700}, {"12:00 AM", 0}, {"12:30 p.m.", 45000}, {"14:05:07.250", 50707.25}, {"14:05:07,5", 50707.5},
		{"14h05", 50700}, {"9:05 Uhr", 32700}, {"14:05:00Z", 50700}, {"14:05:00+02:00", 50700},
		{"25:00", -1}, {"13:00 pm", -1}, {"14:60", -1}, {"14", -1}, {"", -1}, {"a:b", -1}, {"1:2:3:4", -1},
	} {
		x, err := ReadClock(c.text)
		if c.want < 0 {
			assert.Error(t, err, "%q gives %g", c.text, x)
			continue
		}
		require.NoError(t, err, c.text)
		assert.InDelta(t, c.want, x, 1e-9, c.text)
	}
	x, err := ReadElapsed("75:30.5")
	require.NoError(t, err)
	assert.InDelta(t, 4530.5, x, 1e-9)
	x, err = ReadElapsed("1:30:00")
	require.NoError(t, err)
	assert.InDelta(t, 5400, x, 1e-9)
}
