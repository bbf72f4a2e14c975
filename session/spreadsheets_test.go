package session

import (
	"encoding/binary"
	"sagline/session/quantity"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func wide(text string, order binary.AppendByteOrder) string {
	var b []byte
	for _, u := range utf16.Encode([]rune("\ufeff" + text)) {
		b = order.AppendUint16(b, u)
	}
	return string(b)
}

// The same line in all the dresses that spreadsheets give it.
func TestReadWhatSpreadsheetsWrite(t *testing.T) {
	const text = "dive,date,battery_v,note\n1,2026-05-02,12.7,Δ näss\n"
	for name, dressed := range map[string]string{
		"plain":             text,
		"no last line end":  strings.TrimSuffix(text, "\n"),
		"byte-order mark":   "\ufeff" + text,
		"UTF-16 LE":         wide(text, binary.LittleEndian),
		"UTF-16 BE":         wide(text, binary.BigEndian),
		"CR LF":             strings.ReplaceAll(text, "\n", "\r\n"),
		"CR":                strings.ReplaceAll(text, "\n", "\r"),
		"comments":          "# spring\n#\"\n\n" + strings.ReplaceAll(text, "1,2", "# between, \"\n1,2"),
		"blank lines":       "\n \n" + strings.ReplaceAll(text, "\n", "\n\n\t \n"),
		"semicolon":         strings.ReplaceAll(text, ",", ";"),
		"decimal comma":     strings.ReplaceAll(strings.ReplaceAll(text, ",", ";"), "12.7", "12,7"),
		"tab":               strings.ReplaceAll(text, ",", "\t"),
		"tab, comma":        strings.ReplaceAll(strings.ReplaceAll(text, ",", "\t"), "12.7", "12,7"),
		"quotes":            `"dive","date","battery_v","note"` + "\n" + `"1","2026-05-02","12.7","Δ näss"`,
		"byte-order, quote": "\ufeff" + `"dive";date;battery_v;"note"` + "\n" + `"1";2026-05-02;12,7;Δ näss`,
		"trailing columns":  "dive,date,battery_v,note,,,\n1,2026-05-02,12.7,Δ näss,,,\n,,,,,,\n , ,,,,,\n",
		"short rows":        "dive,date,battery_v,note,held\n1,2026-05-02,12.7,Δ näss\n",
		"other blanks":      "\u00a0dive ,date\u00a0,battery_v,note\n\u00a01\u202f,2026-05-02,\u00a012.7\u00a0,Δ näss\u00a0\n",
		"signs":             strings.ReplaceAll(text, "12.7", "+12.70"),
		"exponent":          strings.ReplaceAll(text, "12.7", "1.27E+01"),
	} {
		log, err := Read(strings.NewReader(dressed), "dives.csv")
		require.NoError(t, err, name)
		require.Empty(t, log.Warnings, name)
		require.Len(t, log.Dives, 1, name)
		require.Len(t, log.Dives[0].Lines, 1, name)
		assert.Equal(t, "1", log.Dives[0].Label, name)
		assert.Equal(t, 12.7, log.Dives[0].Lines[0].Readings[quantity.BatteryV].X, name)
		assert.Equal(t, "Δ näss", log.Dives[0].Lines[0].Note, name)
	}
}

func TestMinusSigns(t *testing.T) {
	log := read(t, "dive;date;trim_g\n1;2026-05-02;\u2212120,5\n1;;-7\n")
	assert.Equal(t, -120.5, log.Dives[0].Lines[0].Readings[quantity.Trim].X)
	assert.Equal(t, -7.0, log.Dives[0].Lines[1].Readings[quantity.Trim].X)
}

// A separator of the text is not one of the cells.
func TestSeparatorIsOutsideQuotes(t *testing.T) {
	for header, want := range map[string]byte{
		"dive,date":                      ',',
		"dive;date":                      ';',
		"dive\tdate":                     '\t',
		"dive":                           ',',
		`"weather; wind",dive`:           ',',
		`"weather, wind, sky, sea";dive`: ';',
		"weather, wind, sky, sea;dive;date\n,,,,,": ';',
		"a;b;c": ';', // nothing known: most cells
		"":      ',',
	} {
		assert.Equal(t, string(want), string(separatorOf(header)), header)
	}
}

// A comment line's first character is #, and no other line is one.
func TestCommentsAreWholeLines(t *testing.T) {
	log := read(t, "dive,date,note\n1,2026-05-02,\"a\n# not a comment\"\n #2,2026-05-02,# neither\n\"#3\",2026-05-02,\n#4,2026-05-02,\n")
	require.Len(t, log.Dives, 3)
	assert.Equal(t, "a\n# not a comment", log.Dives[0].Lines[0].Note)
	assert.Equal(t, "#2", log.Dives[1].Label)
	assert.Equal(t, "# neither", log.Dives[1].Lines[0].Note)
	assert.Equal(t, "#3", log.Dives[2].Label)
}

// Text keeps everything but the blanks around it and the apostrophe that
// stands against formulas.
func TestTextIsKept(t *testing.T) {
	for cell, want := range map[string]string{
		"  a  b ":          "a  b",
		"x\u2212y\u00a0z":  "x\u2212y\u00a0z",
		"'=1+1":            "=1+1",
		"''=1+1":           "'=1+1",
		"'twas calm":       "'twas calm",
		"=1+1":             "=1+1",
		"\"a\r\r\nb\rc\"":  "a\n\nb\nc",
		"\"he said \"\"\"": `he said "`,
		"\u200b":           "\u200b",
	} {
		log := read(t, "dive,date,note\n1,2026-05-02,"+cell+"\n")
		assert.Equal(t, want, log.Dives[0].Lines[0].Note, "%q", cell)
	}
}
