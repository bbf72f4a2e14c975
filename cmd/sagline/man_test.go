package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The manual pages are those of the commands as they are; go test -run Manual
// -update makes them anew.
func TestManualPages(t *testing.T) {
	want := map[string]string{}
	makePages(t, newRoot(), want)
	if *update {
		require.NoError(t, os.RemoveAll("man"))
		require.NoError(t, os.Mkdir("man", 0o755))
		for name, page := range want {
			require.NoError(t, os.WriteFile(filepath.Join("man", name), []byte(page), 0o644))
		}
		return
	}
	files, err := pages.ReadDir("man")
	require.NoError(t, err)
	assert.Len(t, files, len(want))
	for name, page := range want {
		got, err := pages.ReadFile("man/" + name)
		require.NoError(t, err)
		assert.Equal(t, page, string(got), "%s: go test ./cmd/sagline -run Manual -update", name)
		assert.Contains(t, page, `"`+pagesDay+`" "`+pagesSource+`"`)
	}
}

// makePages makes the page of a command and those of all below it.
func makePages(t *testing.T, c *cobra.Command, to map[string]string) {
	if !c.IsAvailableCommand() && c.HasParent() {
		return
	}
	c.DisableAutoGenTag = true
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	var page bytes.Buffer
	require.NoError(t, doc.GenMan(c, &doc.GenManHeader{Section: "1", Date: &day, Source: pagesSource, Manual: "sagline"}, &page))
	to[strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"] = page.String()
	for _, below := range c.Commands() {
		makePages(t, below, to)
	}
}
