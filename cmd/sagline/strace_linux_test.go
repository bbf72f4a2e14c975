package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// calls that a writer makes of the system, and how often at the most by one
// thread; a number that is not reached injects nothing.
var systemCalls = map[string]int{"openat": 20, "read": 20, "write": 4, "pwrite64": 2, "fchmod": 1, "fchownat": 1, "utimensat": 1, "fsync": 2, "close": 15, "linkat": 1,
	"renameat": 1, "unlinkat": 4, "flock": 2, "fstat": 4, "newfstatat": 20, "getdents64": 2, "ftruncate": 1}

// faults are what a system call may fail with.
var faults = []string{"EIO", "ENOSPC", "EACCES", "EROFS", "EDQUOT", "ENOENT", "EINTR", "EMFILE"}

// injected runs a command under strace with a fault at some system call, or a
// kill before it. It returns the exit code, −1 where it was killed, and what was
// said.
func injected(t *testing.T, args ...string) (code int, said, what string) {
	t.Helper()
	names := make([]string, 0, len(systemCalls))
	for name := range systemCalls {
		names = append(names, name)
	}
	call := names[rand.IntN(len(names))]
	how := "signal=KILL"
	if rand.IntN(2) == 0 {
		how = "error=" + faults[rand.IntN(len(faults))]
	}
	what = fmt.Sprintf("inject=%s:%s:when=%d", call, how, 1+rand.IntN(systemCalls[call]))
	program, err := exec.LookPath("sagline") // which TestMain puts on PATH
	require.NoError(t, err)
	cmd := exec.Command("strace", append([]string{"-f", "-qq", "-o", os.DevNull, "-e", "trace=" + call, "-e", what, program}, args...)...)
	cmd.Env = append(os.Environ(), "NO_COLOR=1")
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	var exit *exec.ExitError
	switch err := cmd.Run(); {
	case err == nil:
		return 0, out.String(), what
	case errors.As(err, &exit):
		return exit.ExitCode(), out.String(), what
	default:
		require.NoError(t, err)
	}
	return 0, "", ""
}

// acts are what is done to a logbook, each with a mark that stands in the file
// once it is done.
func (l *ledger) acts(mark string) [][]string {
	file := filepath.Join(l.dir, "old.csv")
	require.NoError(l.t, os.WriteFile(file, []byte("Dive no,Date,Motors,Batt. Voltage (V),Remarks\nd"+strings.TrimSuffix(strings.Fields(mark)[1], ".")+",2199-05-02,off,12.5,"+mark+"\n"), 0o644))
	return [][]string{
		{"add", l.dir, "--dive", "1", "--thrusters", "off", "--battery-v", "12.5", "--note", mark},
		{"amend", l.dir, "--line", "2", "--note", mark},
		{"import", file, l.dir, "--write"},
		{"predict", l.dir, "--units", "imperial", "--remember"},
	}
}

// Whatever the system does at one of its calls, what is said to be written is,
// what is said not to be is not, and whoever comes next finds a file that reads.
func TestInjectedAtSystemCalls(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	if _, err := exec.LookPath("strace"); err != nil {
		t.Skip("no strace")
	}
	l := &ledger{t: t}
	outcomes := map[string]int{}
	for k, start := 0, time.Now(); k < injections || time.Since(start) < soakFor(); k++ {
		if k%season == 0 {
			l.fresh()
			usual(t, nil, "add", l.dir, "--dive", "1", "--date", "2026-05-02", "--battery-v", "12.5")
			if out, err := exec.Command("strace", "-qq", "-o", os.DevNull, "true").CombinedOutput(); err != nil {
				t.Skip("strace may not trace here:", string(out))
			}
		}
		mark := fmt.Sprintf("mark %d.", k)
		acts := l.acts(mark)
		args := acts[rand.IntN(len(acts))]
		code, said, what := injected(t, args...)
		text, err := os.ReadFile(l.log())
		require.NoError(t, err)
		switch {
		case args[0] == "predict":
		case code == 0, strings.Contains(said, "line written; next"), strings.Contains(said, "the old one kept"), strings.Contains(said, "\nwritten; next"), strings.Contains(said, "are in "+l.log()):
			l.confirmed = append(l.confirmed, mark)
		case code < 0, strings.Contains(said, "the results cannot be written"), strings.Contains(said, "fatal error"): // nothing is said of the file
		default:
			assert.NotContains(t, string(text), mark, "%v %s: %s", args, what, said)
		}
		outcomes[fmt.Sprintf("%s %d", args[0], code)]++
		l.check()
		require.Equal(t, exitDone, Run([]string{"check", l.dir}, strings.NewReader(""), &bytes.Buffer{}, t.Output()), "%v %s", args, what)
		require.False(t, t.Failed())
	}
	_, err := session.Open(l.dir)
	require.NoError(t, err)
	t.Logf("exits: %v", outcomes)
}
