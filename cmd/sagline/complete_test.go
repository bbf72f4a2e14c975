package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/predict/vehicle"
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

// Completion offers the faults that rehearse takes, and no others.
func TestRehearseTakesEachFaultOffered(t *testing.T) {
	dir := copyExample(t, "joint")
	v, err := vehicle.Open(dir)
	require.NoError(t, err)
	names := faultNames(v, "")
	assert.NotEmpty(t, names)
	for _, name := range names {
		var said bytes.Buffer
		Run([]string{"rehearse", dir, "--fault", name, "--seasons", "0"}, nil, io.Discard, &said)
		assert.Contains(t, said.String(), "--seasons", name) // the fault was taken
	}
}

// hostileNames are what a received logbook may call a dive, a folder or a
// thruster; each would make a file named touched where a shell ran it.
var hostileNames = []string{"$(touch touched)", "`touch touched`", "a;touch touched", "a|touch touched", "a&touch touched", "a'b", `a"b`, `a\b`, "a>touched", "=touch", "~", "*", "a!b",
	"${x:=$(touch touched)}", "<(touch touched)", "#a", "{a,b}", "a\u2028b"}

// Nothing that a file says reaches the shell but plain words.
func TestCompletionOffersPlainWordsAlone(t *testing.T) {
	offered := func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		var out []string
		for _, n := range append(hostileNames, "7", "port astern", "Ångström-2", "battery.nominal_v=") {
			out = append(out, n, cobra.CompletionWithDesc("7b", n))
		}
		return out, cobra.ShellCompDirectiveNoFileComp
	}
	got, _ := begunWith(offered)(nil, nil, "")
	for _, s := range got {
		assert.NotRegexp(t, "[$`;|&'\"\\\\><*!{}#~\u2028]|^=", s)
	}
	assert.Contains(t, got, "7b\t  touch touched ")
	for _, n := range []string{"7", "port astern", "Ångström-2", "battery.nominal_v="} {
		assert.Contains(t, got, n)
	}
	for _, n := range hostileNames {
		assert.NotContains(t, got, n)
	}
}

// A shell that completes in a received logbook runs nothing of it: bash puts
// what all offers have in common on the command line as it is, and evaluates
// that line when it is asked again.
func TestBashRunsNothingOfALogbook(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("no bash")
	}
	dir := copyExample(t, "sound")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dives.csv"), []byte("dive,date,thrusters\n$(touch touched)1,2026-05-01,off\n$(touch touched)2,2026-05-02,off\n"), 0o644))
	require.Equal(t, exitDone, Run([]string{"check", dir}, nil, io.Discard, t.Output()))
	const script = `
_get_comp_words_by_ref() { cur="${COMP_WORDS[COMP_CWORD]}"; words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; }
compopt() { :; }
source "$1"
begun=""
for press in 1 2; do
	COMP_WORDS=("$0" fit "$2" "$begun"); COMP_CWORD=3; COMP_TYPE=9; COMP_LINE="$0 fit $2 $begun"; COMP_POINT=${#COMP_LINE}
	__start_sagline
	begun="${COMPREPLY[0]%%)*}"
	if [ -n "$begun" ]; then begun="$begun)"; fi
done`
	completion := filepath.Join(t.TempDir(), "completion")
	var text bytes.Buffer
	require.Equal(t, exitDone, Run([]string{"completion", "bash"}, nil, &text, t.Output()))
	require.NoError(t, os.WriteFile(completion, text.Bytes(), 0o644))
	cmd := exec.Command(bash, "-c", script, "sagline", completion, dir)
	cmd.Dir = t.TempDir()
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Empty(t, string(out))
	entries, err := os.ReadDir(cmd.Dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}
