//go:build !windows

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sagline/session"
)

// Several people write into one logbook at once, and one reads it meanwhile:
// every line is whole, none is lost, and the reader never sees half a line.
func TestManyProcessesWrite(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	l := &ledger{t: t}
	l.fresh()
	start := time.Now()
	stop, reads := make(chan struct{}), 0
	var reader, all sync.WaitGroup
	reader.Go(func() {
		for ; ; reads++ {
			select {
			case <-stop:
				return
			default:
				_, err := session.Open(l.dir)
				assert.NoError(t, err)
			}
		}
	})
	for w := range writers {
		all.Go(func() {
			for k := range appends {
				out, err := sagline("add", l.dir, "--dive", fmt.Sprint(w+1), "--date", "2026-05-02", "--thrusters", "off", "--note", fmt.Sprintf("%d of %d.", k, w)).CombinedOutput()
				assert.NoError(t, err, string(out))
			}
		})
	}
	all.Wait()
	close(stop)
	reader.Wait()
	log, err := session.Open(l.dir)
	require.NoError(t, err)
	require.Len(t, log.Dives, writers)
	for _, d := range log.Dives {
		require.Len(t, d.Lines, appends)
		for k, line := range d.Lines {
			assert.True(t, strings.HasPrefix(line.Note, fmt.Sprintf("%d of ", k)), "each one's lines are in the order written: %q", line.Note)
		}
	}
	assert.Zero(t, l.being())
	t.Logf("%d processes × %d lines in %v, read %d times meanwhile", writers, appends, time.Since(start).Round(time.Millisecond), reads)
}

// untouched is what a folder holds, to be held against later.
func untouched(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if e.Type().IsRegular() && e.Name() != ".dives.lock" {
			text, err := os.ReadFile(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
			files[e.Name()] = string(text)
		}
	}
	return files
}

// writing are command lines of everything that writes a file, each of them into
// dir or the file out.
func writing(dir, out string) [][]string {
	return [][]string{
		{"add", dir, "--dive", "31", "--date", "2026-10-24", "--battery-v", "12.5"}, {"amend", dir, "--line", "3", "--battery-v", "12.4"},
		{"amend", dir, "--line", "4", "--strike"}, {"sheet", dir, "--out", out + ".html"},
		{"predict", dir, "--units", "imperial", "--remember"}, {"plot", dir, "--out", filepath.Dir(out)}, {"predict", dir, "--out", out + ".svg"}, {"report", dir, "--out", out + ".html"}, {"trend", dir, "--units", "imperial", "--remember"},
		{"import", "testdata/sheets/en-8.csv", dir},
		{"whatif", dir, "--sweep", "tether.length_m=10,20", "--out", out + ".png"},
		{"station", dir, "--current-m-s", "0.1", "--depth-m", "3", "--offset-m", "5", "--out", out + ".svg"},
	}
}

// refused runs a command line that the system lets write nothing: exit 1, one
// line that says so, and every file as it was.
func refused(t *testing.T, cmd *exec.Cmd, dir, why string) {
	t.Helper()
	before := untouched(t, dir)
	var said bytes.Buffer
	cmd.Stderr = &said
	err := cmd.Run()
	what := strings.Join(cmd.Args, " ")
	require.Error(t, err, what)
	assert.Equal(t, exitData, cmd.ProcessState.ExitCode(), "%s: %s", what, said.String())
	assert.Equal(t, 1, strings.Count(said.String(), "\n"), "%s: one line, not %s", what, said.String())
	assert.Contains(t, said.String(), why, what)
	assert.Equal(t, before, untouched(t, dir), what)
}

// A limit on the size of files is a disk that is full after so much; the system
// sends a signal as well, which must not end the program by itself.
func TestNoRoomForTheFile(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	t.Parallel()
	dir := copyExample(t, "joint")
	for _, args := range writing(dir, filepath.Join(dir, "x")) {
		cmd := exec.Command("sh", append([]string{"-c", `ulimit -f 1; exec sagline "$@"`, "sh"}, args...)...)
		refused(t, cmd, dir, "cannot be written: file too large")
	}
}

// Results cut off by a full disk are not taken for whole.
func TestResultsIntoAFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here:", err)
	}
	defer full.Close()
	dir := copyExample(t, "joint")
	for _, args := range [][]string{{"trend", dir}, {"trend", "--json", dir}, {"predict", dir}, {"fit", dir}, {"sheet", dir}, {"--help"}} {
		cmd := sagline(args...)
		cmd.Stdout = full
		refused(t, cmd, dir, "the results cannot be written: no space left on device")
	}
}

// The clock of a board without a battery starts anew in some year long past:
// files are then of the future, and so is the newest dive.
func TestClockSetBack(t *testing.T) {
	l := &ledger{t: t}
	l.fresh()
	require.NoError(t, os.WriteFile(l.log(), []byte("dive,date,thrusters,battery_v,note\n7,2099-05-02,off,12.6,\n"), 0o644))
	left := filepath.Join(l.dir, ".sagline-1234")
	future := time.Now().AddDate(30, 0, 0)
	for _, path := range []string{left, filepath.Join(l.dir, ".dives.lock")} {
		require.NoError(t, os.WriteFile(path, []byte("dive,da"), 0o644))
	}
	for _, path := range []string{left, l.log(), filepath.Join(l.dir, ".dives.lock")} {
		require.NoError(t, os.Chtimes(path, future, future))
	}
	usual(t, nil, "add", l.dir, "--battery-v", "12.5")
	usual(t, nil, "amend", l.dir, "--line", "2", "--battery-v", "12.4")
	log, err := session.Open(l.dir)
	require.NoError(t, err)
	require.Len(t, log.Dives, 2)
	assert.Equal(t, log.Dives[0].Date, log.Dives[1].Date, "no earlier than the newest")
	refused(t, sagline("add", l.dir, "--dive", "9", "--date", "2026-05-02", "--battery-v", "12.5"), l.dir,
		`column "date": found 2026-05-02 after 2099-05-02, want dates in order`)
}

// What killed programs left is no trouble, and is gone after an hour.
func TestLeftoversAreSweptAway(t *testing.T) {
	l := &ledger{t: t}
	l.fresh()
	for name, age := range map[string]time.Duration{".sagline-1": 2 * time.Hour, ".sagline-22": 0, ".sagline-notes": 2 * time.Hour, ".dives.lock": 2 * time.Hour} {
		path := filepath.Join(l.dir, name)
		require.NoError(t, os.WriteFile(path, []byte("x"), 0o600))
		require.NoError(t, os.Chtimes(path, time.Now().Add(-age), time.Now().Add(-age)))
	}
	usual(t, nil, "add", l.dir, "--dive", "1", "--battery-v", "12.5")
	var names []string
	entries, err := os.ReadDir(l.dir)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	assert.Equal(t, []string{".sagline-22", ".sagline-notes", "dives.csv", "vehicle.toml"}, names, "one that may be in use stays, as does what is not ours")
}

// A line that another program left half written is told of, once, and stays as
// a comment, whichever command comes next.
func TestTornLineIsToldOf(t *testing.T) {
	t.Parallel()
	for _, args := range [][]string{{"add", "--battery-v", "12.5"}, {"amend", "--line", "2", "--battery-v", "12.4"}} {
		l := &ledger{t: t}
		l.fresh()
		require.NoError(t, os.WriteFile(l.log(), []byte("dive,date,battery_v,note\n1,2026-05-02,12.6,\n1,,12.5,\"half a no"), 0o644))
		out, err := sagline(append(args, l.dir)...).CombinedOutput()
		require.NoError(t, err, string(out))
		assert.Equal(t, 1, strings.Count(string(out), `dives.csv:3: the last line was cut off; kept as a comment: "1,,12.5,\"half a no"`), string(out))
		text, err := os.ReadFile(l.log())
		require.NoError(t, err)
		assert.Contains(t, string(text), "# cut off, kept aside: 1,,12.5,\"half a no\n")
	}
}
