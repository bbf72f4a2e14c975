package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every command has a page, and the same build writes the same bytes.
func TestManualPages(t *testing.T) {
	once, again := t.TempDir(), t.TempDir()
	for _, dir := range []string{once, again} {
		require.Equal(t, exitDone, Run([]string{"man", dir}, nil, t.Output(), t.Output()))
	}
	files, err := os.ReadDir(once)
	require.NoError(t, err)
	assert.Greater(t, len(files), len(makers()))
	for _, m := range makers() {
		assert.FileExists(t, filepath.Join(once, "sagline-"+m.name+".1"))
	}
	for _, f := range files {
		a, err := os.ReadFile(filepath.Join(once, f.Name()))
		require.NoError(t, err)
		b, err := os.ReadFile(filepath.Join(again, f.Name()))
		require.NoError(t, err)
		assert.Equal(t, string(a), string(b))
		assert.Contains(t, string(a), ".SH NAME", f.Name())
	}
}
