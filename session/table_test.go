package session

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"sagline/session/problem"
)

// tableOf is all of a table, cells parted by | and rows by line ends, each
// after its line, and what is wrong with it.
func tableOf(text string) (rows string, t *Table, err error) {
	t, err = ReadTable(strings.NewReader(text), "old.csv")
	if err != nil {
		return "", &Table{}, err
	}
	var b strings.Builder
	var list problem.List
	for line, row := range t.Rows(&list) {
		b.WriteString(string(rune('0'+line)) + " " + strings.Join(row, "|") + "\n")
	}
	return b.String(), t, list.Err()
}

func encodedAs(e interface{ String(string) (string, error) }, text string) string {
	s, err := e.String(text)
	if err != nil {
		panic(err)
	}
	return s
}

func TestTablesOfEveryKind(t *testing.T) {
	want := "2 Tiefe °|V, A\n3 1,5|x\ny\n6 2|-3\n"
	text := "# simulated\nTiefe °;V, A\n1,5;\"x\ny\"\n;\n2;\u22123\u00a0\n"
	for name, file := range map[string]string{
		"plain": text, "CR LF": strings.ReplaceAll(text, "\n", "\r\n"), "CR": strings.ReplaceAll(text, "\n", "\r"), "BOM": "\ufeff" + text,
		"UTF-16": encodedAs(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder(), text),
	} {
		rows, tab, err := tableOf(file)
		assert.Equal(t, want, rows, name)
		assert.NoError(t, err, name)
		assert.Equal(t, byte(';'), tab.Separator, name)
		encoding := "UTF-8"
		if name == "UTF-16" {
			encoding = name
		}
		assert.Equal(t, encoding, tab.Encoding, name)
	}
	rows, tab, _ := tableOf(encodedAs(charmap.Windows1252.NewEncoder(), strings.ReplaceAll(text, "\u2212", "-")))
	assert.Equal(t, want, rows)
	assert.Equal(t, "Windows-1252", tab.Encoding)
}

func TestSeparatorsOfTables(t *testing.T) {
	for text, want := range map[string]byte{
		"a,b\n1,2\n": ',', "a;b\n1,5;2,5\n": ';', "a\tb\n1,5\t2;5\n": '\t', "a\n1\n": ',', "Log, of: x\n\na;b;c\n1;2;3\n4;5;6\n": ';', "a,b\n\"1;2\",3\n": ',',
	} {
		_, tab, _ := tableOf(text)
		assert.Equal(t, string(want), string(tab.Separator), "%q", text)
	}
}

// Of as many rows of one number of cells as of another the larger counts.
func TestFitOfASeparator(t *testing.T) {
	for text, want := range map[string][3]int{
		"a;b;c\n1;2\n": {0, 1, 3}, "a;b\n1;2;3\n": {0, 1, 3}, "a;b;c\n1;2\n3;4\n": {0, 2, 2}, "dive;date;wind\n1;;NW\n\n# calm\n2;;\n": {2, 3, 3}, "dive\n1\n": {0, 0, 0},
	} {
		for range 20 { // maps have no order
			assert.Equal(t, want, fit(text, ';'), "%q", text)
		}
	}
}

func TestWhatIsNoTable(t *testing.T) {
	for text, want := range map[string]string{
		"":                     "old.csv: empty file, want a header line",
		"PK\x03\x04rest":       "old.csv: found a spreadsheet program's own file, want it saved as CSV: there, File menu, Save as, Export or Download, then CSV",
		"\xd0\xcf\x11\xe0rest": "old.csv: found a spreadsheet program's own file, want it saved as CSV: there, File menu, Save as, Export or Download, then CSV",
		"a\x00b":               "old.csv:1: found bytes of 0, which no text has, want the file saved as UTF-8",
		"a,b\n1,\"2\n":         `old.csv:2: column 2: found a quoted cell that does not end or has text after its end, want quotes around the whole cell and a " in it doubled`,
		"a,b\n1," + strings.Repeat("x", maxCell+1): "old.csv:2: column 2: found a cell of more than 65536 bytes, want at most that many",
	} {
		_, _, err := tableOf(text)
		assert.EqualError(t, err, want, "%.20q", text)
	}
}
