package main

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// On a terminal a line breaks at blanks, what follows set in under where it began; what
// has no blank is left to the terminal, and what goes into a file is as it is.
func TestFolded(t *testing.T) {
	for _, c := range [][2]string{
		{"short\n", "short\n"},
		{"twenty characters on\n", "twenty characters on\n"},
		{"twenty characters one\n", "twenty characters\n  one\n"},
		{"  set in by two blanks, and long\n", "  set in by two\n    blanks, and long\n"},
		{"/a/path/that/is/longer/than/the/line\n", "/a/path/that/is/longer/than/the/line\n"},
		{"Ω°²µ Ω°²µ Ω°²µ Ω°²µ Ω°²µ\n", "Ω°²µ Ω°²µ Ω°²µ Ω°²µ\n  Ω°²µ\n"},
		{"a question is as it is > ", "a question is as it is > "},
		{"one\n\ntwo\n", "one\n\ntwo\n"},
	} {
		assert.Equal(t, c[1], folded(c[0], 20), c[0])
	}
	var out strings.Builder
	p := newPrinted(&out)
	line := strings.Repeat("word ", 50)
	fmt.Fprintln(p, line)
	assert.Equal(t, line+"\n", out.String())
}

// A table that is wider than its terminal is cut into parts that fit, with what its
// rows are told apart by.
func TestTableInItsTerminal(t *testing.T) {
	rows := func(w io.Writer) {
		fmt.Fprint(w, "name\tvolts\tamperes\tmore\nport\t12.34\t5.6\tmuch of it\nboth\t1\t2\t\n")
	}
	for width, want := range map[int]string{
		0:  "name  volts  amperes  more\nport  12.34  5.6      much of it\nboth  1      2\n",
		31: "name  volts  amperes\nport  12.34  5.6\nboth  1      2\n\nname  more\nport  much of it\nboth\n",
		14: "name\n  volts\nport\n  12.34\nboth\n  1\n\nname\n  amperes\nport\n  5.6\nboth\n  2\n\nname\n  more\nport\n  much of it\nboth\n",
	} {
		var out strings.Builder
		table(&printed{w: &out, width: width}, rows)
		assert.Equal(t, want, out.String(), width)
	}
	var out strings.Builder
	tableOf(&printed{w: &out, width: 23}, 2, rows)
	assert.Equal(t, "name  volts  amperes\nport  12.34  5.6\nboth  1      2\n\nname  volts  more\nport  12.34  much of it\nboth  1\n", out.String())
}

// What is proposed to be typed next can be typed: names with blanks stand in quotes.
func TestShellWord(t *testing.T) {
	for word, want := range map[string]string{"pond": "pond", "../pond/2026": "../pond/2026", "school boat": `"school boat"`, "": `""`, "a;b": `"a;b"`, `c:\pond`: `"c:\pond"`, `5"`: `"5\""`} {
		assert.Equal(t, want, shellWord(word))
	}
}
