package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/advice"
)

// Whatever a person reads before they go to the water says what can hurt, in
// the words of the one list: the basics everywhere, all of it where there is
// room.
func TestCautions(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	dir, joint := t.TempDir(), copyExample(t, "joint")
	html, report := filepath.Join(dir, "card.html"), filepath.Join(dir, "report.html")
	printedBy(t, "sheet", joint, "--out", html)
	printedBy(t, "report", joint, "--out", report)
	everything, basics := advice.AllCautions(), advice.Basics
	for _, at := range []struct {
		name, text string
		want       []string
	}{
		{"README", string(readme), everything}, {"sheet", printedBy(t, "sheet", joint), everything},
		{"sheet.html", readable(t, html), everything}, {"report", readable(t, report), everything},
		{"--help", printedBy(t, "--help"), basics}, {"no arguments", printedBy(t), basics},
		{"predict", printedBy(t, "predict", joint), basics}, {"predict before the first dive", printedBy(t, "predict", fresh(t)), basics},
		{"whatif", printedBy(t, "whatif", joint, "--rank"), append(slices.Clone(basics), advice.Batteries[:2]...)},
	} {
		text := strings.Join(strings.Fields(at.text), " ")
		for _, sentence := range at.want {
			assert.Contains(t, text, sentence, at.name)
		}
	}
}

// The words of the list name each danger.
func TestCautionsNameTheDangers(t *testing.T) {
	text := strings.ToLower(strings.Join(advice.AllCautions(), " "))
	for _, danger := range []string{"low voltage only", "fuse at the battery", "mains chargers", "rcd/gfci", "away from water", "never short a battery",
		"lifting gear", "pressure housings", "never dive on this tool's word alone", "local codes", "licensed practice",
		"turn a propeller by hand", "take the link off", "clear of the blades", "in air for seconds", "under pressure", "on ice", "weighs more",
		"give off gas", "closed one", "lithium", "below 0 °c", "punctured", "jump starter", "reel"} {
		assert.Contains(t, text, danger)
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
