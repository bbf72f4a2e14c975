package session

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is changed or struck with a comment on one side is so in the merged file,
// comment included, whether or not it is known what both came from.
func TestMergePasts(t *testing.T) {
	const head = "dive,date,thrusters,battery_v,note\n"
	const a, b, c = "1,2026-05-01,off,12.7,\n", "1,,off,12.6,\n", "1,,off,12.5,\n"
	const bStruck, cStruck = "# 2026-06-01 struck, was: " + b, "# 2026-06-02 struck, was: " + c
	const aStruck, bFirst = "# 2026-06-03 struck, was: " + a, "1,2026-05-01,off,12.6,\n"
	const bChanged, bNow = "# 2026-06-04 changed, was: " + b, "1,,off,12.66,calm\n"
	const long, longStruck = "1,,off,12.4,\"windy\n\"\"grey\"\", cold\"\n", "# 2026-06-05 struck, was: 1,,off,12.4,\"windy\n# \"\"grey\"\", cold\"\n"
	for name, x := range map[string]struct{ base, ours, theirs, want, conflict string }{
		"the last line struck here":        {a + b, a + bStruck, a + b, a + bStruck, ""},
		"the last line struck there":       {a + b, a + b, a + bStruck, a + bStruck, ""},
		"a line in between":                {a + b + c, a + bStruck + c, a + b + c, a + bStruck + c, ""},
		"struck on both sides":             {a + b, a + bStruck, a + bStruck, a + bStruck, ""},
		"another on each side":             {a + b + c, a + bStruck + c, a + b + cStruck, a + bStruck + cStruck, ""},
		"the first, and its day goes on":   {a + b, aStruck + bFirst, a + b, aStruck + bFirst, ""},
		"the second, then the first":       {a + b + c, aStruck + bStruck + "1,2026-05-01,off,12.5,\n", a + b + c, aStruck + strings.Replace(bStruck, "1,,", "1,2026-05-01,", 1) + "1,2026-05-01,off,12.5,\n", ""},
		"the whole dive":                   {a, aStruck, a, aStruck, ""},
		"struck, and written on here":      {a + b, a + bStruck + c, a + b, a + c + bStruck, ""},
		"struck here, written on there":    {a + b, a + bStruck, a + b + c, a + bStruck + c, ""},
		"struck there, written on here":    {a + b, a + b + c, a + bStruck, a + c + bStruck, ""},
		"changed here":                     {a + b, a + bChanged + bNow, a + b, a + bChanged + bNow, ""},
		"changed there":                    {a + b, a + b, a + bChanged + bNow, a + bChanged + bNow, ""},
		"changed, then struck":             {a + b, a + bChanged + "# 2026-06-05 struck, was: " + bNow, a + b, a + bChanged + "# 2026-06-05 struck, was: " + bNow, ""},
		"changed twice":                    {a + b, a + bChanged + "# 2026-06-05 changed, was: " + bNow + c, a + b, a + bChanged + "# 2026-06-05 changed, was: " + bNow + c, ""},
		"typed again after it was struck":  {a + b, a + bStruck + b, a + b, a + b + bStruck, ""},
		"written and struck since":         {a, a + bStruck, a + c, a + c + bStruck, ""},
		"written, changed twice":           {a, a + bChanged + "# 2026-06-05 changed, was: " + bNow + c, a, a + bChanged + "# 2026-06-05 changed, was: " + bNow + c, ""},
		"written, changed, struck":         {a, a + bChanged + "# 2026-06-05 struck, was: " + bNow, a, a + bChanged + "# 2026-06-05 struck, was: " + bNow, ""},
		"a dive written and struck":        {a, a + "# 2026-06-05 struck, was: 2,2026-05-02,off,12.4,\n", a, a + "# 2026-06-05 struck, was: 2,2026-05-02,off,12.4,\n", ""},
		"one of two that are the same":     {a + b + b, a + b + bStruck, a + b + b, a + b + bStruck, ""},
		"a note of two lines":              {a + long, a + longStruck, a + long, a + longStruck, ""},
		"struck here, changed there":       {a + b, a + bStruck, a + bChanged + bNow, "", "dive 1: a line struck here, and no longer there as it was"},
		"changed so here, otherwise there": {a + b, a + bChanged + bNow, a + c, "", "dive 1: a line changed here, and no longer there as it was"},
		"struck there, otherwise here":     {a + b, a + c, a + bStruck, "", "dive 1: a line struck there, and no longer here as it was"},
		"a comment with nothing after it":  {a, a + bChanged, a + c, a + c, ""},
	} {
		for _, base := range []string{head + x.base, ""} {
			t.Run(fmt.Sprintf("%s, base known %t", name, base != ""), func(t *testing.T) {
				m, err := MergeTexts("dives.csv", base, head+x.ours, head+x.theirs)
				require.NoError(t, err)
				if x.conflict == "" {
					assert.Empty(t, m.Conflicts)
					assert.Equal(t, head+x.want, m.Text)
					return
				}
				if base != "" {
					assert.Contains(t, m.Conflicts, x.conflict)
				}
			})
		}
	}
}

// Whatever both sides strike, change and write, no struck line returns, no line
// is lost, and merging once more changes nothing.
func TestStruckLinesDoNotReturn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, n := "dive,date,thrusters,battery_v\n", 1000 // each line has a voltage of its own
		edit := func(text, name string, struck *[]string) string {
			now, err := EditText("dives.csv", text, func(f *File) error {
				for range rapid.IntRange(0, 4).Draw(t, name) {
					var at []int
					for _, r := range f.records[f.header+1:] {
						if !r.comment() {
							at = append(at, r.line)
						}
					}
					n++
					volts := fmt.Sprintf("%.3f", float64(n)/100)
					what := rapid.IntRange(0, 2).Draw(t, "what")
					if len(at) == 0 || what == 0 {
						dive := rapid.IntRange(1, 3).Draw(t, "dive")
						if err := f.Append(Row{"dive": fmt.Sprint(dive), "date": "2026-05-01", "thrusters": "off", "battery_v": volts}); err != nil {
							return err
						}
						continue
					}
					line := rapid.SampledFrom(at).Draw(t, "line")
					old, err := f.Row(line)
					if err != nil {
						return err
					}
					*struck = append(*struck, old["battery_v"])
					if what == 1 {
						err = f.Strike(line, "2026-06-01 struck, was")
					} else {
						err = f.Replace(line, Row{"battery_v": volts}, "2026-06-01 changed, was")
					}
					if err != nil {
						return err
					}
				}
				return nil
			})
			require.NoError(t, err)
			return now
		}
		var struck []string
		base := edit(text, "base", &struck)
		ours := edit(base, "ours", &struck)
		theirs := edit(base, "theirs", &struck)
		m, err := MergeTexts("dives.csv", base, ours, theirs)
		require.NoError(t, err)
		if len(m.Conflicts) > 0 {
			return
		}
		for _, side := range []string{base, ours, theirs} {
			for line := range strings.Lines(side) {
				volts := strings.TrimSpace(line[strings.LastIndex(line, ",")+1:])
				assert.Contains(t, m.Text, volts, "nothing is lost")
			}
		}
		for line := range strings.Lines(m.Text) {
			volts := strings.TrimSpace(line[strings.LastIndex(line, ",")+1:])
			if !strings.HasPrefix(line, "#") {
				assert.NotContains(t, struck, volts)
			}
		}
		for _, side := range []string{ours, theirs} {
			again, err := MergeTexts("dives.csv", base, side, m.Text)
			require.NoError(t, err)
			assert.Empty(t, again.Conflicts)
			assert.Equal(t, m.Text, again.Text)
		}
	})
}

// A line is edited where it stands now, whatever another program did to the dive meanwhile, and not at all if that changed it.
func TestRowIndex(t *testing.T) {
	const head = "dive,minute,thrusters,battery_v\n"
	shown := []Row{{"dive": "1", "minute": "0", "thrusters": "off", "battery_v": "12.6"}, {"dive": "1", "minute": "5", "thrusters": "port", "battery_v": "12.1"}}
	for name, c := range map[string]struct {
		now  string
		want int // -1: it is gone
	}{
		"as it was":               {"1,0,off,12.6\n1,5,port,12.1\n", 1},
		"one more before":         {"1,0,off,12.6\n1,2,off,12.5\n1,5,port,12.1\n", 2},
		"changed":                 {"1,0,off,12.6\n1,5,port,12.3\n", -1},
		"struck and another":      {"1,5,port,12.1\n1,9,off,12.5\n", 0},
		"the other line changed":  {"1,0,off,12.7\n1,5,port,12.1\n", 1},
		"struck, the others stay": {"1,0,off,12.6\n", -1},
	} {
		_, err := EditText("dives.csv", head+c.now, func(f *File) error {
			place, line, err := f.RowIndex("1", 1, shown)
			if c.want < 0 {
				assert.ErrorContains(t, err, "another program has changed it", name)
				return nil
			}
			assert.NoError(t, err, name)
			assert.Equal(t, c.want, place, name)
			assert.Equal(t, c.want+2, line, name)
			return nil
		})
		assert.NoError(t, err, name)
	}
}

// Of lines that are alike it is the one that was meant.
func TestRowIndexOfEqualRows(t *testing.T) {
	const row = "1,0,off,12.6\n"
	shown := []Row{{"dive": "1", "minute": "0", "thrusters": "off", "battery_v": "12.6"}, {"dive": "1", "minute": "0", "thrusters": "off", "battery_v": "12.6"}}
	_, err := EditText("dives.csv", "dive,minute,thrusters,battery_v\n"+row+row, func(f *File) error {
		for i := range shown {
			place, line, err := f.RowIndex("1", i, shown)
			assert.NoError(t, err)
			assert.Equal(t, []int{i, i + 2}, []int{place, line})
		}
		return nil
	})
	assert.NoError(t, err)
}

// A line that is written anew has what is given, in the file's units, and nothing of what was there but cells of columns that are not
// known. A dive has only its own lines.
func TestReplaceRow(t *testing.T) {
	const head, other = "dive,thrusters,battery_v,depth_ft,wind,note\n", "2,off,12.9,,,\n"
	text, err := EditText("dives.csv", head+other+"1,off,12.6,,,\n1,port,12.1,9,NW,calm\n", func(f *File) error {
		return f.ReplaceRow("1", 1, Row{"dive": "1", "thrusters": "port", "depth_m": "3.048"})
	})
	assert.NoError(t, err)
	assert.Equal(t, head+other+"1,off,12.6,,,\n1,port,,10,NW,\n", text)
	for _, i := range []int{-1, 2} {
		_, err = EditText("dives.csv", head+text[len(head):], func(f *File) error { return f.ReplaceRow("1", i, Row{"dive": "1"}) })
		assert.ErrorContains(t, err, `dive "1" has no such line`)
	}
}

// What a struck line said of those that follow goes on in the next one, where that says nothing of it, however many of a line's cells
// are written; of another dive's only the battery.
func TestStrikeCarries(t *testing.T) {
	const head = "dive,date,battery,battery_v,note,water_c\n"
	for name, c := range map[string]struct{ rows, want string }{
		"all cells":      {"1,2026-05-02,A,12.6,,9\n1,,,12.5,,\n", "1,2026-05-02,A,12.5,,9\n"},
		"but the last":   {"1,2026-05-02,A,12.6,\n1,,,12.5,,8\n", "1,2026-05-02,A,12.5,,8\n"},
		"said anew":      {"1,2026-05-02,A,12.6,,9\n1,,,12.5,,8\n", "1,2026-05-02,A,12.5,,8\n"},
		"a shorter line": {"1,2026-05-02,A,12.6,,9\n1,,,12.5\n", "1,2026-05-02,A,12.5,,9\n"},
		"another dive's": {"1,2026-05-02,A,12.6,,9\n2,2026-05-03,,12.5,,\n", "2,2026-05-03,A,12.5,,\n"},
	} {
		first, _, _ := strings.Cut(c.rows, "\n")
		text, err := EditText("dives.csv", head+c.rows, func(f *File) error { return f.Strike(2, "struck") })
		assert.NoError(t, err, name)
		assert.Equal(t, head+"# struck: "+first+"\n"+c.want, text, name)
	}
}
