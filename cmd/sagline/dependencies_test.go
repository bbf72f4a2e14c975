package main

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// DEVELOPERS.md says of each direct dependency what it is for and why it is the
// one.
func TestDependenciesAreAccountedFor(t *testing.T) {
	mod, err := os.ReadFile("../../go.mod")
	require.NoError(t, err)
	guide, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	direct := regexp.MustCompile(`(?m)^\t(\S+) v\S+$`).FindAllStringSubmatch(string(mod), -1) // indirect ones have a comment
	require.NotEmpty(t, direct)
	for _, d := range direct {
		parts := strings.Split(regexp.MustCompile(`/v\d+$`).ReplaceAllString(d[1], ""), "/")
		name := regexp.QuoteMeta(parts[len(parts)-1])
		row := regexp.MustCompile(`(?m)^\| [^|]*\b` + name + `\b[^|]* \| [^|]+ \| [^|]+ \|$`)
		assert.Regexp(t, row, string(guide), d[1])
	}
}
