package main

import (
	"bytes"
	"compress/zlib"
	"io"
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
	html, pdf := filepath.Join(dir, "card.html"), filepath.Join(dir, "card.pdf")
	page, card := printed(t, "sheet", "../../examples/joint", "--out", html), printed(t, "sheet", "../../examples/joint", "--out", pdf)
	require.NotEmpty(t, page+card)
	texts := map[string]string{
		"README": string(readme), "--help": printed(t, "--help"), "no arguments": printed(t), "predict": printed(t, "predict", "../../examples/joint"),
		"predict before the first dive": printed(t, "predict", fresh(t)), "sheet": printed(t, "sheet", "../../examples/joint"),
		"sheet.html": readable(t, html), "sheet.pdf": pdfText(t, pdf),
	}
	if c, _, err := newRoot().Find([]string{"report"}); err == nil && c.Name() == "report" {
		path := filepath.Join(dir, "report.html")
		printed(t, "report", "../../examples/joint", "--out", path)
		texts["report"] = readable(t, path)
	}
	for name, text := range texts {
		text = strings.ToLower(strings.Join(strings.Fields(text), " "))
		for _, m := range minded {
			assert.Contains(t, text, m, name)
		}
	}
}

func printed(t *testing.T, args ...string) string {
	t.Helper()
	var out, said bytes.Buffer
	require.Equal(t, exitDone, Run(args, strings.NewReader(""), &out, &said), said.String())
	return out.String()
}

// fresh is a logbook as sagline new makes it.
func fresh(t *testing.T) string {
	dir := filepath.Join(t.TempDir(), "pond")
	printed(t, "new", dir)
	return dir
}

// readable is what a reader sees of an HTML file, by and large.
func readable(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return strings.NewReplacer("&#39;", "'", "&rsquo;", "'", "’", "'").Replace(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(text), " "))
}

// pdfText is the text of a PDF's pages: what the Tj operators of its deflated
// streams show (ISO 32000-1, 7.3.4.2 and 9.4.3), in UTF-16BE as the font is
// encoded.
func pdfText(t *testing.T, path string) string {
	t.Helper()
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	var out strings.Builder
	for _, s := range regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`).FindAllSubmatch(file, -1) {
		z, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue // a font, which is not deflated this way
		}
		plain, _ := io.ReadAll(z)
		for _, shown := range regexp.MustCompile(`(?s)\(((?:[^()\\]|\\.)*)\)\s*Tj`).FindAllSubmatch(plain, -1) {
			text := regexp.MustCompile(`(?s)\\(.)`).ReplaceAll(shown[1], []byte("$1"))
			out.WriteString(strings.ReplaceAll(string(text), "\x00", "") + " ")
		}
	}
	require.NotEmpty(t, out.String())
	return out.String()
}
