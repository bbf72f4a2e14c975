package session

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMerge(t *testing.T) {
	const head = "dive,date,thrusters,battery_v,note\n"
	const one, two, three = "1,2026-05-01,off,12.7,\n1,,off,12.6,\n", "2,2026-05-08,off,12.5,\n", "3,2026-05-15,off,12.4,\n"
	for name, c := range map[string]struct{ base, ours, theirs, want, conflict string }{
		"the same":                            {one, one, one, one, ""},
		"written on there":                    {one, one, one + two, one + two, ""},
		"written on here":                     {one, one + two, one, one + two, ""},
		"a dive on each side":                 {one, one + three, one + two, one + two + three, ""},
		"in the order of the days":            {one, one + two, one + three, one + two + three, ""},
		"more lines of a dive here":           {"1,2026-05-01,off,12.7,\n", one, "1,2026-05-01,off,12.7,\n", one, ""},
		"more lines of a dive there":          {"1,2026-05-01,off,12.7,\n", "1,2026-05-01,off,12.7,\n", one, one, ""},
		"given out and written on":            {one, one + two, one + two + "2,,off,12.3,\n", one + two + "2,,off,12.3,\n", ""},
		"amended there":                       {one, one + two, strings.Replace(one, "12.6", "12.65", 1), strings.Replace(one, "12.6", "12.65", 1) + two, ""},
		"amended here":                        {one, strings.Replace(one, "12.6", "12.65", 1), one + two, strings.Replace(one, "12.6", "12.65", 1) + two, ""},
		"amended and written on here":         {one, strings.Replace(one, "12.6", "12.65", 1) + "1,,off,12.1,\n", one, strings.Replace(one, "12.6", "12.65", 1) + "1,,off,12.1,\n", ""},
		"one number in two forms":             {"", one, strings.Replace(one, "12.6", "12.60", 1), strings.Replace(one, "12.6", "12.60", 1), ""},
		"another form of a number":            {one, one, strings.ReplaceAll(one, "12.7", "12.70"), strings.ReplaceAll(one, "12.7", "12.70"), ""},
		"an older copy":                       {one + two, one + two + three, one, one + two + three, ""},
		"another log":                         {"", one, two, one + two, ""},
		"a comment there":                     {one, one + three, one + "# calm\n" + two, one + "# calm\n" + two + three, ""},
		"other lines of one dive":             {one, one + "1,,off,12.1,\n", one + "1,,off,12.2,\n", "", "dive 1 has 3 lines here and 3 lines there, which differ from line 3 on"},
		"a dive of one label":                 {one, one + two, one + strings.ReplaceAll(two, "12.5", "11.5"), "", "dive 2 has 1 line here and 1 line there, which differ from line 1 on"},
		"a day that is not known there":       {one, one + two, one + "4,,off,12.1,\n" + three, one + "4,,off,12.1,\n" + two + three, ""},
		"a day that is not known here":        {one, one + "4,,off,12.1,\n" + two, one + three, one + "4,,off,12.1,\n" + two + three, ""},
		"no days":                             {"1,,off,12.7,\n", "1,,off,12.7,\n3,,off,12.6,\n", "1,,off,12.7,\n2,,off,12.5,\n", "1,,off,12.7,\n2,,off,12.5,\n3,,off,12.6,\n", ""},
		"amended on both sides":               {one, strings.ReplaceAll(one, "12.6", "12.61"), strings.ReplaceAll(one, "12.6", "12.62"), "", "differ from line 2 on"},
		"amended there, written on here":      {one, one + "1,,off,12.1,\n", strings.ReplaceAll(one, "12.6", "12.62"), "", "dive 1 has 3 lines here and 2 lines there, which differ from line 2 on"},
		"what it came from is not known":      {"", one + three, one + two, one + two + three, ""},
		"amended, and from what is not known": {"", one, strings.ReplaceAll(one, "12.6", "12.62"), "", "differ from line 2 on"},
	} {
		t.Run(name, func(t *testing.T) {
			base := c.base
			if base != "" {
				base = head + base
			}
			m, err := MergeTexts("dives.csv", base, head+c.ours, head+c.theirs)
			require.NoError(t, err)
			if c.conflict != "" {
				require.Len(t, m.Conflicts, 1)
				assert.Contains(t, m.Conflicts[0], c.conflict)
				assert.Empty(t, m.Text)
				return
			}
			assert.Empty(t, m.Conflicts)
			assert.Equal(t, head+c.want, m.Text)
		})
	}
}

func TestMergeKeepsBatteries(t *testing.T) {
	const head, one = "dive,date,battery,thrusters,battery_v\n", "1,2026-05-01,A,off,12.7\n"
	m, err := MergeTexts("dives.csv", head+one, head+one+"3,2026-05-15,,off,12.4\n", head+one+"2,2026-05-08,B,off,12.5\n")
	require.NoError(t, err)
	assert.Equal(t, head+one+"2,2026-05-08,B,off,12.5\n3,2026-05-15,A,off,12.4\n", m.Text)
	m, err = MergeTexts("dives.csv", head+one, head+one+"2,2026-05-08,B,off,12.5\n", head+one+"3,2026-05-15,,off,12.4\n")
	require.NoError(t, err)
	assert.Equal(t, []string{`dive 3 would be of battery "B": write its battery down`}, m.Conflicts)
}

func TestMergeRefuses(t *testing.T) {
	const head = "dive,date,thrusters,battery_v\n"
	_, err := MergeTexts("dives.csv", "", head, head+"1,2026-05-01,off,volts\n")
	assert.ErrorContains(t, err, `there: dives.csv:2: column "battery_v"`)
	m, err := MergeTexts("dives.csv", "", "dive,date,mood,thrusters\n1,2026-05-01,good,off\n", head)
	require.NoError(t, err)
	assert.Equal(t, []string{"dive 1 has cells here in columns that are not known, and is not there"}, m.Conflicts)
	m, err = MergeTexts("dives.csv", "", head+"1,2026-05-01,off,12.7,, \n", head)
	require.NoError(t, err)
	assert.Empty(t, m.Conflicts, "blank cells beyond the header are none")
	assert.Contains(t, m.Text, "1,2026-05-01,off,12.7")
}

// Cells in columns of the log's own come along where the other side has them, and
// are a conflict where they differ.
func TestMergeOwnColumns(t *testing.T) {
	const head, one, two = "dive,date,thrusters,battery_v,wind\n", "1,2026-05-01,off,12.7,NW\n", "2,2026-05-08,off,12.5,\"SE, 4\"\n"
	m, err := MergeTexts("dives.csv", head+one, head+one+two, "dive,date,wind,thrusters,battery_v\n1,2026-05-01,NW,off,12.7\n")
	require.NoError(t, err)
	assert.Empty(t, m.Conflicts)
	assert.Equal(t, "dive,date,wind,thrusters,battery_v\n1,2026-05-01,NW,off,12.7\n2,2026-05-08,\"SE, 4\",off,12.5\n", m.Text)
	m, err = MergeTexts("dives.csv", head+one, head+one+two, head+one+strings.Replace(two, "SE", "W", 1))
	require.NoError(t, err)
	assert.Len(t, m.Conflicts, 1)
}

// Whatever is written on either side is in the merged file, or a conflict is
// reported.
func TestMergeDropsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		type dive struct {
			day  int
			rows []string
		}
		line := func() string { return fmt.Sprintf("12.%02d", rapid.IntRange(0, 99).Draw(t, "volts")) }
		log := map[int]dive{}
		write := func(log map[int]dive, name string) map[int]dive {
			log = maps.Clone(log)
			for range rapid.IntRange(0, 3).Draw(t, name) {
				label := rapid.IntRange(1, 6).Draw(t, "dive")
				d := log[label]
				log[label] = dive{label, append(slices.Clone(d.rows), line())}
			}
			return log
		}
		text := func(log map[int]dive) string {
			out := "dive,date,thrusters,battery_v\n"
			for _, label := range slices.Sorted(maps.Keys(log)) {
				for i, volts := range log[label].rows {
					date := ""
					if i == 0 {
						date = fmt.Sprintf("2026-05-%02d", label)
					}
					out += fmt.Sprintf("%d,%s,off,%s\n", label, date, volts)
				}
			}
			return out
		}
		base := write(log, "base")
		ours, theirs := write(base, "ours"), write(base, "theirs")
		m, err := MergeTexts("dives.csv", text(base), text(ours), text(theirs))
		require.NoError(t, err)
		if len(m.Conflicts) > 0 {
			return
		}
		for _, side := range []map[int]dive{ours, theirs} {
			for line := range strings.Lines(text(side)) {
				assert.LessOrEqual(t, strings.Count(text(side), line), strings.Count(m.Text, line), line)
			}
		}
		_, err = Read(strings.NewReader(m.Text), "dives.csv")
		require.NoError(t, err)
	})
}
