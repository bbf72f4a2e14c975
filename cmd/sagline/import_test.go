//go:build !windows

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
	"sagline/session/importer"
)

// At a terminal import shows, then asks; only yes writes.
func TestImportAsksBeforeItWrites(t *testing.T) {
	dir := copyExample(t, "import")
	before, err := os.ReadFile(filepath.Join(dir, session.FileName))
	require.NoError(t, err)
	for _, answer := range []string{"no\r", "\r", "maybe\r"} {
		x := startTerminal(t, "import", filepath.Join(dir, "old.csv"), dir)
		x.wait(0, "yes or no [no]")
		x.keys(answer)
		x.wait(0, "nothing written; next: ")
		assert.Equal(t, exitDone, x.exit())
		after, err := os.ReadFile(filepath.Join(dir, session.FileName))
		require.NoError(t, err)
		assert.Equal(t, string(before), string(after))
		assert.NoFileExists(t, filepath.Join(dir, importer.FileName))
	}
	x := startTerminal(t, "import", filepath.Join(dir, "old.csv"), dir)
	x.wait(0, "yes or no [no]")
	x.keys("yes\r")
	x.wait(0, "written; next: sagline check")
	assert.Equal(t, exitDone, x.exit())
	log, err := session.Open(dir)
	require.NoError(t, err)
	assert.Len(t, log.Dives, 4)
	assert.FileExists(t, filepath.Join(dir, importer.FileName))
}

// What the file does not say is asked a question at a time, the likeliest answer
// first; Enter takes it, and what is no answer is asked again.
func TestImportAsksAtATerminal(t *testing.T) {
	dir := copyExample(t, "import")
	sheet := filepath.Join(dir, "odd.csv")
	require.NoError(t, os.WriteFile(sheet, []byte("Date,Motors,Volts,Depth,Remarks\n3/4/2026,aft,12.1,3,replaced the o-ring\n,none,12.6,2,\n5/4/2026,left,12.0,2,took off 2 weights\n"), 0o644))
	x := startTerminal(t, "import", sheet, dir)
	for _, step := range []struct{ screen, keys string }{
		{`"day.month.year" or "month/day/year"?`, "\r"},
		{`"replaced the o-ring" is serviced seal: take these?`, "\r"},
		{`"Depth": no unit: depth_m or depth_ft?`, "depth_fathom\r"},
		{`found "depth_fathom", want one of`, "depth_ft\r"},
		{`"aft": which is it?`, "port\r"},
		{`"took off 2 weights": how many grams`, "-240\r"},
		{"yes or no [no]", "yes\r"},
		{"written; next: sagline check", ""},
	} {
		x.wait(0, step.screen)
		x.keys(step.keys)
	}
	assert.Equal(t, exitDone, x.exit())
	log, err := session.Open(dir)
	require.NoError(t, err)
	require.Len(t, log.Dives, 2)
	first, last := log.Dives[0].Lines[0], log.Dives[1].Lines[0]
	assert.Equal(t, "2026-04-03", log.Dives[0].Date.Format("2006-01-02"))
	assert.InDelta(t, 0.9144, first.Depth.X, 1e-9)
	assert.Equal(t, []string{"seal"}, first.Serviced)
	assert.Equal(t, []session.Drive{{Name: "port"}}, first.Drives)
	assert.InDelta(t, -240, last.BallastG, 1e-9)
}

// What is answered at a terminal goes into the mapping that is there, and the
// rest of its bytes stay; without a yes the answers are not kept, and it says so.
func TestAnswersGoIntoTheKeptMapping(t *testing.T) {
	dir := copyExample(t, "import")
	sheet, mapping := filepath.Join(dir, "odd.csv"), filepath.Join(dir, importer.FileName)
	require.NoError(t, os.WriteFile(sheet, []byte("Date,Motors,Volts,Depth\n3.4.2026,aft,12.1,3\n"), 0o644))
	kept := "# ours\ndives = \"date\"\ndate = \"day.month.year\"\n\n[[column]]\nheading = \"Date\"\nto = \"date\"\n\n[thrusters]\naft = \"?\" # which?\n"
	require.NoError(t, os.WriteFile(mapping, []byte(kept), 0o644))
	for _, c := range []struct{ yes, says, want string }{
		{"no\r", "nothing written, your answers neither; next: ", kept},
		{"yes\r", "your answers are in", strings.Replace(kept, "\"?\"", "'starboard'", 1) + "\n[[column]]\nheading = 'Depth'\nto = 'depth_ft'\n"},
	} {
		x := startTerminal(t, "import", sheet, dir)
		for _, step := range []struct{ screen, keys string }{
			{`"Depth": no unit: depth_m or depth_ft?`, "depth_ft\r"}, {`"aft": which is it?`, "starboard\r"}, {"yes or no [no]", c.yes}, {c.says, ""},
		} {
			x.wait(0, step.screen)
			x.keys(step.keys)
		}
		assert.Equal(t, exitDone, x.exit())
		after, err := os.ReadFile(mapping)
		require.NoError(t, err)
		assert.Equal(t, c.want, string(after))
	}
	log, err := session.Open(dir)
	require.NoError(t, err)
	require.Len(t, log.Dives, 1)
	assert.InDelta(t, 0.9144, log.Dives[0].Lines[0].Depth.X, 1e-9)
	assert.Equal(t, []session.Drive{{Name: "starboard"}}, log.Dives[0].Lines[0].Drives)
}
