//go:build !windows

package main

import (
	"os"
	"path/filepath"
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
