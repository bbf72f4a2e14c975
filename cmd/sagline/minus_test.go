package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A number below zero has a hyphen in text and JSON, as it is typed and searched for, and
// a minus sign on a page and in a picture. TestWhatCheckPassesEveryCommandAccepts has text and JSON of many other logs.
func TestMinusSigns(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Chdir(t.TempDir())
	negatives := 0
	for _, example := range []string{"joint", "volts-only"} {
		require.NoError(t, shortExample("pond", example))
		for _, args := range calls(newRoot(io.Discard)) {
			if args[0] == "rehearse" || args[0] == "plot" || args[0] == "report" || example != "joint" {
				continue
			}
			var out bytes.Buffer
			require.Contains(t, []int{exitDone, exitData}, Run(args, strings.NewReader(""), &out, io.Discard), "%q", args)
			assert.NotContains(t, out.String(), "−", "%q", args)
			negatives += len(hyphened.FindAllString(out.String(), -1))
		}
		for _, args := range [][]string{{"report", "pond", "-o", "page.html"}, {"sheet", "pond", "--out", "card.html"}, {"plot", "pond", "--format", "svg", "--out", "pictures"}} {
			var said bytes.Buffer
			require.Equal(t, exitDone, Run(args, strings.NewReader(""), io.Discard, &said), "%q: %s", args, said.String())
		}
		for _, pattern := range []string{"*.html", "pictures/*.svg"} {
			files, err := filepath.Glob(pattern)
			require.NoError(t, err)
			require.NotEmpty(t, files)
			for _, f := range files {
				text, err := os.ReadFile(f)
				require.NoError(t, err)
				for _, words := range shown.FindAllString(string(text), -1) {
					if words[0] == '>' {
						assert.NotRegexp(t, hyphened, words, f)
					}
				}
			}
		}
		require.NoError(t, os.RemoveAll("pond"))
	}
	assert.Positive(t, negatives, "no number below zero was tried")
}

var (
	hyphened = regexp.MustCompile(`(?:^|[^\pL\d])-\d`)
	shown    = regexp.MustCompile(`(?s)<(?:script|style|code)\b.*?</(?:script|style|code)>|>[^<]+`)
)
