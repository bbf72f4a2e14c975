package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// A file of more than what is read at once is taken in from its name and from
// standard input alike.
func TestImportOfALongFile(t *testing.T) {
	var text strings.Builder
	text.WriteString("Dive,Date,Battery (V),Remarks\n")
	for i := range 5000 {
		fmt.Fprintf(&text, "%d,2026-05-02,12.%02d,calm water and a light wind\n", i/10, i%100)
	}
	file := filepath.Join(t.TempDir(), "long.csv")
	require.NoError(t, os.WriteFile(file, []byte(text.String()), 0o644))
	for _, name := range []string{file, piped} {
		dir := copyExample(t, "import")
		require.Equal(t, exitDone, Run([]string{"import", name, dir, "--write"}, strings.NewReader(text.String()), io.Discard, t.Output()))
		log, err := session.Open(dir)
		require.NoError(t, err)
		assert.Len(t, log.Dives, 500)
	}
}

// hostileText steers a terminal in every way: escapes, C1 controls, as text and
// as bytes, and marks that turn the direction.
const hostileText = "\x1b[31mred\x07\u009b2J\u202etxet\x7f\u2028\x9b0m"

// Nothing that a file says steers a terminal.
func TestNothingSteersATerminal(t *testing.T) {
	dir := copyExample(t, "joint")
	foreign := filepath.Join(t.TempDir(), "old.csv")
	require.NoError(t, os.WriteFile(foreign, []byte("Dive,Date,Battery (V),"+hostileText+"\nx"+hostileText+",2026-05-02,12.5,"+hostileText+"\n"), 0o644))
	mapping := filepath.Join(dir, "import.toml")
	for name, make := range map[string]func() []string{
		"mapping": func() []string {
			require.NoError(t, os.WriteFile(mapping, []byte("date = \""+hostileText), 0o644))
			return []string{"import", foreign, dir}
		},
		"preview": func() []string { require.NoError(t, os.Remove(mapping)); return []string{"import", foreign, dir} },
		"json":    func() []string { return []string{"import", foreign, dir, "--json"} },
		"check":   func() []string { return []string{"check", filepath.Join(dir, hostileText)} },
		"use":     func() []string { return []string{hostileText} },
		"flag":    func() []string { return []string{"check", "--" + hostileText} },
	} {
		if name == "preview" {
			require.NoError(t, os.WriteFile(mapping, nil, 0o644))
		}
		var out, errOut bytes.Buffer
		args := make()
		if name == "json" {
			require.NoError(t, os.RemoveAll(mapping))
		}
		Run(args, strings.NewReader(""), &out, &errOut)
		said := out.String() + errOut.String()
		assert.NotEmpty(t, said, name)
		assert.True(t, utf8.ValidString(said), name)
		assert.True(t, problem.Plain(strings.NewReplacer("\n", "", "\t", "").Replace(said)), "%s: %q", name, said)
	}
}

// What JSON says is what was written, though nothing in it steers a terminal.
func TestJSONKeepsWhatItEscapes(t *testing.T) {
	const text = "\x1b[31m\u009b\u202e\x7f\u2028 Ω ok"
	var b bytes.Buffer
	require.NoError(t, printJSON(&b, map[string]string{"a": text}))
	assert.True(t, problem.Plain(strings.ReplaceAll(b.String(), "\n", "")), b.String())
	var back map[string]string
	require.NoError(t, json.Unmarshal(b.Bytes(), &back))
	assert.Equal(t, text, back["a"])
}

// A character whose bytes come one by one is printed whole.
func TestPrintedInPieces(t *testing.T) {
	var b bytes.Buffer
	p := &printed{w: &b}
	for _, c := range []byte("aΩ\u009b€😀b\xff\xce") {
		n, err := p.Write([]byte{c})
		require.NoError(t, err)
		assert.Equal(t, 1, n)
	}
	p.end()
	assert.Equal(t, "aΩ\ufffd€😀b\ufffd\ufffd", b.String())
}

// A name that vehicle.toml may have is one that dives.csv can hold.
func TestThrusterNamesAreHeld(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.StringOfN(rapid.RuneFrom([]rune("aéÜ1 +-=@#'\"\u00a0\u2007\u2212\u200b\t.;,_offasterndown")), 1, 12, -1).Draw(rt, "name")
		if rapid.Bool().Draw(rt, "at its end") {
			name += rapid.SampledFrom([]string{" astern", " down", " off", " ", "\u00a0"}).Draw(rt, "end")
		}
		if !vehicle.ThrusterName(name) {
			return
		}
		for _, cell := range []string{name, name + " + other", "other + " + name + " astern"} {
			lines, list := session.ParseRows(session.Row{"thrusters": cell})
			require.Empty(rt, list, "%q", cell)
			drive := lines[0].Drives[strings.Count(cell[:strings.Index(cell, name)], "+")]
			assert.Equal(rt, name, drive.Name, "%q", cell)
		}
	})
	for _, bad := range []string{"x astern", "x DOWN", "trail ", "a\u00a0b", "off ", "OFF", "a  b", " a", "a+b", "a,b", "'=a", ""} {
		assert.False(t, vehicle.ThrusterName(bad), "%q", bad)
	}
	for _, good := range []string{"port", "left outer", "é", "astern", "O'Brien's", "motor 1"} {
		assert.True(t, vehicle.ThrusterName(good), "%q", good)
	}
}

// Every quantity's picture has a file of its own.
func TestFileNamesAreApart(t *testing.T) {
	var paths []string
	for _, q := range []string{"branch_excess_ohm:é", "branch_excess_ohm:ü", "branch_excess_ohm:a b", "branch_excess_ohm:A_b", "ingress_g"} {
		paths = append(paths, filepath.Join("plots", fileName(q, paths)+".png"))
	}
	assert.Equal(t, []string{"branch_excess_ohm__", "branch_excess_ohm___2", "branch_excess_ohm_a_b", "branch_excess_ohm_A_b_2", "ingress_g"},
		strings.Split(strings.ReplaceAll(strings.ReplaceAll(strings.Join(paths, "|"), "plots"+string(filepath.Separator), ""), ".png", ""), "|"))
}
