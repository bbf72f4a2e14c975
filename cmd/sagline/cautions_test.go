package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// minded are the dangers that a person must have been told of, in words that
// each place may put in its own sentences.
var minded = []string{"low voltage only", "fuse at the battery", "mains chargers", "rcd/gfci", "away from water", "never short a battery",
	"lifting gear", "pressure housings", "never dive on this tool's word alone", "local codes", "licensed practice"}

// Whatever a person reads before they go to the water tells them what can hurt.
func TestCautions(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	dir := t.TempDir()
	html := filepath.Join(dir, "card.html")
	printedBy(t, "sheet", "../../examples/joint", "--out", html)
	texts := map[string]string{
		"README": string(readme), "--help": printedBy(t, "--help"), "no arguments": printedBy(t), "predict": printedBy(t, "predict", "../../examples/joint"),
		"predict before the first dive": printedBy(t, "predict", fresh(t)), "sheet": printedBy(t, "sheet", "../../examples/joint"),
		"sheet.html": readable(t, html),
	}
	if c, _, err := newRoot().Find([]string{"report"}); err == nil && c.Name() == "report" {
		path := filepath.Join(dir, "report.html")
		printedBy(t, "report", "../../examples/joint", "--out", path)
		texts["report"] = readable(t, path)
	}
	for name, text := range texts {
		text = strings.ToLower(strings.Join(strings.Fields(text), " "))
		for _, m := range minded {
			assert.Contains(t, text, m, name)
		}
	}
}

func printedBy(t *testing.T, args ...string) string {
	t.Helper()
	var out, said bytes.Buffer
	require.Equal(t, exitDone, Run(args, strings.NewReader(""), &out, &said), said.String())
	return out.String()
}

// fresh is a logbook as sagline new makes it.
func fresh(t *testing.T) string {
	dir := filepath.Join(t.TempDir(), "pond")
	printedBy(t, "new", dir)
	return dir
}

// readable is what a reader sees of an HTML file, by and large.
func readable(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return strings.NewReplacer("&#39;", "'", "&rsquo;", "'", "’", "'").Replace(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(text), " "))
}
