package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each argument is finished by what its place in the usage line says.
func TestCompleteArgs(t *testing.T) {
	root, err := filepath.Abs("../../examples")
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	require.NoError(t, os.CopyFS("ponds", os.DirFS(root)))
	const none, folders, files = cobra.ShellCompDirectiveNoFileComp, cobra.ShellCompDirectiveFilterDirs, cobra.ShellCompDirectiveDefault
	for _, c := range []struct {
		use   string
		args  []string
		begun string
		want  []string
		what  cobra.ShellCompDirective
	}{
		{"x [LOGBOOK]", nil, "", []string{"ponds/import", "ponds/joint", "ponds/sound", "ponds/volts-only"}, none},
		{"x [LOGBOOK]", []string{"ponds/joint"}, "", nil, none},
		{"x [LOGBOOK…]", []string{"ponds/joint"}, "ponds/s", []string{"ponds/sound"}, none},
		{"x [LOGBOOK] [DIVE]", []string{"nowhere"}, "", nil, none},
		{"x FILE [LOGBOOK]", nil, "po", nil, files},
		{"x FILE [LOGBOOK]", []string{"old.csv"}, "ponds/v", []string{"ponds/volts-only"}, none},
		{"x FOLDER", nil, "", nil, folders},
		{"x [LOGBOOK]", nil, "lakes", nil, folders},
		{"x", nil, "", nil, none},
	} {
		got, what := begunWith(completeArgs(c.use))(nil, c.args, c.begun)
		assert.ElementsMatch(t, c.want, got, "%s after %q: %q", c.use, c.args, c.begun)
		assert.Equal(t, c.what, what, "%s after %q: %q", c.use, c.args, c.begun)
	}
}
