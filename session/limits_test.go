package session

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestHugeThingsAreOneLine(t *testing.T) {
	much := func(s string, n int) string { return strings.Repeat(s, n) }
	const quote = "found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a \" in it doubled"
	for _, c := range []struct{ text, want string }{
		{"dive,date\n" + much("9", 80<<10), `dives.csv:2: column "dive": found a cell of more than 65536 bytes, want at most that many`},
		{"dive,date\n" + much("9", 2<<20), `dives.csv:2: found a line of more than 1048576 bytes, want at most that many`},
		{"dive,date\n1,2026-05-02\n1,\"" + much("x", 80<<10), `dives.csv:3: column "date": ` + quote},
		{much("x", 2<<20), `dives.csv:1: found a line of more than 1048576 bytes, want at most that many`},
		{much(",", 20_000) + "x", `dives.csv:1: found more than 16384 cells, want at most that many`},
		{"dive,date\n1,2026-05-02\n" + much(",", 20_000) + "x", `dives.csv:3: found more than 16384 cells, want at most that many`},
		{"# " + much("x", 2<<20), `dives.csv: empty file, want a header line`},
	} {
		_, err := Read(strings.NewReader(c.text), "dives.csv")
		assert.EqualError(t, err, c.want)
	}
}

func TestACommentMayBeLong(t *testing.T) {
	log, err := Read(strings.NewReader(header+"# "+strings.Repeat("x", 8<<20)+"\n1,2026-05-02\n"), "dives.csv")
	require.NoError(t, err)
	assert.Equal(t, 3, log.Dives[0].Lines[0].Number)
}

func TestCellAtTheLimitIsRead(t *testing.T) {
	note := strings.Repeat("x", maxCell-2)
	log := read(t, "dive,date,note\n1,2026-05-02,"+note+"\n1,,\""+note+"\"\n")
	assert.Len(t, log.Dives[0].Lines[0].Note, maxCell-2)
	assert.Equal(t, log.Dives[0].Lines[0].Note, log.Dives[0].Lines[1].Note)
}

func TestTooManyLines(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a hundred thousand lines")
	}
	text := "dive,date\n1,2026-05-02\n" + strings.Repeat("\n", MaxLines-2)
	log := read(t, text)
	assert.Len(t, log.Dives[0].Lines, 1, "blank lines are not counted")
	_, err := Read(strings.NewReader(text+"1,\n"), "dives.csv")
	assert.EqualError(t, err, "dives.csv:100001: found more than 100000 lines, want at most that many")
}

func TestManyUnknownColumnsAreWarnedOfInFiftyLines(t *testing.T) {
	log := read(t, "dive"+strings.Repeat(",x", 70)+"\n")
	require.Len(t, log.Warnings, 51)
	assert.EqualError(t, log.Warnings[50], "dives.csv:1: … and 20 more unknown columns")
	assert.Len(t, read(t, "dive"+strings.Repeat(",x", 50)+"\n").Warnings, 50)
	assert.Len(t, log.Columns, 71)
}

// A text without damage is split as encoding/csv splits it; one that has some
// is damaged for encoding/csv too.
func TestSplitsAsTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("a#\",;\n \tδ"))).Draw(t, "text")
		sep := rapid.SampledFrom([]byte(",;\t")).Draw(t, "separator")
		c := csv.NewReader(strings.NewReader(text))
		c.Comma, c.Comment, c.FieldsPerRecord = rune(sep), '#', -1
		want, err := c.ReadAll()
		var got [][]string
		damaged := false
		s := splitter{rest: text, line: 1, separator: sep}
		for r := range s.records {
			if damaged = damaged || r.damage != ""; r.comment() || r.text == "\n" {
				continue
			}
			got = append(got, r.cells(sep, nil))
		}
		if assert.Equal(t, err != nil, damaged); !damaged {
			assert.Equal(t, want, got)
		}
	})
}

// A damaged quote costs its own line, and is found where it stands.
func TestADamagedQuoteIsItsOwnLine(t *testing.T) {
	const head = "dive,date,battery_v,note\n1,2026-05-02,12.7,\n"
	const end = `: found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`
	for text, want := range map[string]string{
		"1,,12.6,\"open\n1,,x,\n":                         `dives.csv:3: column "note"` + end + "\n" + `dives.csv:4: column "battery_v": found "x", want a number in V`,
		"1,,12.6,\"open\n1,,12.5,\"a, b\"\n":              `dives.csv:3: column "note"` + end,
		"1,,12.6,\"open\n1,,12.5,\n1,,12.4,close\"\n":     `dives.csv:3: column "note": found a quoted cell that holds other lines of the file, want its closing quote before them` + "\n" + `dives.csv:5: column "note": found a " within a cell, want the whole cell in quotes and the " doubled`,
		"1,,12.6,\"open\n1,,12.5,\n1,,12.4,\"\"\n1,,x,\n": `dives.csv:3: column "note"` + end + "\n" + `dives.csv:6: column "battery_v": found "x", want a number in V`,
	} {
		_, err := Read(strings.NewReader(head+text), "dives.csv")
		assert.EqualError(t, err, want, text)
	}
	log := read(t, head+"1,,12.6,\"calm, then\nwindy, wet, cold, dark\"\n")
	assert.Equal(t, "calm, then\nwindy, wet, cold, dark", log.Dives[0].Lines[1].Note, "prose is no line of the file")
}
